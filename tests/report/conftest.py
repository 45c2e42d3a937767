"""How the tests call the command line."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "demo"


@pytest.fixture
def run():
    """Run `python -m backhaul …` as a user would; returns the finished process."""

    def call(*words, cwd=ROOT, env=None):
        return subprocess.run(
            [sys.executable, "-m", "backhaul", *map(str, words)],
            cwd=cwd,
            env=env,
            text=True,
            capture_output=True,
            encoding="utf-8",
            timeout=120,
            check=False,
        )

    return call
