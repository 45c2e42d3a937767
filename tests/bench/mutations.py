"""Whether the tests notice a wrong constant or a turned comparison, one at a time.

Run: python tests/bench/mutations.py [WORD ...]

Each line of `mutations.csv` names a file, the text that stands in it once, what stands there
instead, the tests that ought to fail then, and what came of it when it was tried last. All happens
in a copy of the tree. With words only the lines that hold one of them are tried. The status is 1
where one was not caught; a text that is no longer there, or more than once, is told and counts as
not caught.
"""

import csv
import shlex
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
LIST = Path(__file__).with_suffix(".csv")
NEEDED = ("backhaul", "catalogs", "demo", "tests", "pyproject.toml", "README.md", "DEVELOPERS.md")
UNWANTED = shutil.ignore_patterns("__pycache__", ".hypothesis", ".pytest_cache")


def mutations() -> list[dict[str, str]]:
    with LIST.open(newline="", encoding="utf-8") as lines:
        return list(csv.DictReader(lines))


def record(rows: list[dict[str, str]]) -> None:
    """Keep what came of each."""
    with LIST.open("w", newline="", encoding="utf-8") as lines:
        writer = csv.DictWriter(lines, list(rows[0]), lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)


def copied(folder: Path) -> Path:
    for name in NEEDED:
        source = ROOT / name
        if source.is_dir():
            shutil.copytree(source, folder / name, ignore=UNWANTED)
        else:
            shutil.copy(source, folder / name)
    return folder


def passes(tree: Path, tests: str) -> bool:
    """Whether all the tests pass; they import from the tree that they run in."""
    command = (sys.executable, "-m", "pytest", "-x", "-n", "0", "-p", "no:cacheprovider")
    result = subprocess.run(
        [*command, "-m", "not office", *shlex.split(tests)],
        cwd=tree,
        capture_output=True,
        text=True,
        check=False,
    )
    if result.returncode > 1:
        sys.exit(f"the tests did not run: {tests}\n{result.stdout}{result.stderr}")
    return result.returncode == 0


def tried(tree: Path, row: dict[str, str]) -> str:
    """The word for one mutation."""
    file = tree / row["file"]
    text = file.read_text(encoding="utf-8")
    if text.count(row["from"]) != 1:
        return f"STALE: its text stands there {text.count(row['from'])} times"
    changed = text.replace(row["from"], row["to"])
    compile(changed, row["file"], "exec")
    file.write_text(changed, encoding="utf-8")
    try:
        return "NOT CAUGHT" if passes(tree, row["tests"]) else "caught"
    finally:
        file.write_text(text, encoding="utf-8")


def main() -> None:
    rows, wanted = mutations(), sys.argv[1:]
    with tempfile.TemporaryDirectory() as folder:
        tree = copied(Path(folder))
        words = []
        for row in rows:
            if wanted and not any(word in "".join(row.values()) for word in wanted):
                continue
            start = time.perf_counter()
            row["result"] = tried(tree, row)
            words.append(row["result"])
            print(
                f"{words[-1]:<10}  {row['file']}: {row['from']} -> {row['to']}"
                f"  ({time.perf_counter() - start:.0f} s)",
                flush=True,
            )
    record(rows)
    caught = words.count("caught")
    print(f"{caught} of {len(words)} caught")
    sys.exit(caught < len(words))


if __name__ == "__main__":
    main()
