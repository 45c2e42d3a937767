"""Every design of the repository that stands in a folder: demos and those of the tests."""

from pathlib import Path

TESTS = Path(__file__).parent
DESIGNS = sorted(
    folder
    for parent in (TESTS.parent / "demo", TESTS / "designs")
    for folder in parent.iterdir()
    if (folder / "segments.csv").exists()
)
