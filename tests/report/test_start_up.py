"""What a check of CSV tables does without, so that it starts quickly."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
#: each takes longer to load than a small design to check
HEAVY = {"itur", "numpy.ma", "openpyxl", "pandas", "pydantic", "pytest", "rich", "scipy"}
PROGRAM = """
import sys
from backhaul.cli import app
try:
    app(sys.argv[1:])
except SystemExit:
    print(*sys.modules, file=sys.stderr)
"""


@pytest.mark.parametrize("options", [[], ["--json"]])
@pytest.mark.parametrize("demo", ["reservoir", "estuary"])
def test_a_check_of_csv_loads_nothing_heavy(demo, options):
    result = subprocess.run(
        [sys.executable, "-c", PROGRAM, "check", f"demo/{demo}", *options],
        cwd=ROOT,
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=True,
    )
    loaded = set(result.stderr.split())
    assert "numpy" in loaded
    assert not loaded & HEAVY
