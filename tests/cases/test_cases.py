"""Every check, by cases that stand as data: one file a check, its name the check's."""

import csv
import re
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))  # for `import compact`

import compact

from backhaul.checks import CHECKS
from backhaul.findings import worst

HERE = Path(__file__).parent
FILES = sorted(HERE.glob("*.csv"))
#: `fail`, `thin`, `note`, `caution` or `-`; then `@path step` of the finding, or `*count`
EXPECT = re.compile(r"(fail|thin|note|caution|-)(?:@(\S+) (\d+))?(?:\*(\d+))?")


def cases():
    for file in FILES:
        with file.open(newline="", encoding="utf-8") as lines:
            for row in csv.DictReader(lines):
                yield pytest.param(file.stem, row, id=f"{file.stem}: {row['case']}")


@pytest.mark.parametrize("check, row", cases())
def test_case(check, row, tmp_path):
    evaluation = compact.run(tmp_path, row["segments"], row["others"])
    found = [finding for finding in evaluation.findings if finding.check == check]
    severity, path, step, count = EXPECT.fullmatch(row["expect"]).groups()
    if row["says"]:
        found = [f for f in found if row["says"] in f"{f.message}; {f.remedy}"]
    if severity == "-":
        assert not found
        return
    assert found, [f"{f.severity} {f.check}: {f.message}" for f in evaluation.findings]
    counted = worst(finding.severity for finding in found)
    assert (counted if counted != "pass" else found[0].severity) == severity, found
    assert all(finding.where for finding in found if finding.step is not None)
    if path:
        assert (path, float(step)) in {(f.path, f.step) for f in found}
    if count:
        assert len(found) == int(count)


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_a_check_has_a_case_that_fires_and_one_that_does_not(file):
    with file.open(newline="", encoding="utf-8") as lines:
        rows = list(csv.DictReader(lines))
    assert {row["expect"][0] == "-" for row in rows} == {True, False}
    assert all(row["source"] and None not in row for row in rows)
    assert len({row["case"] for row in rows}) == len(rows)


def test_every_check_has_its_file():
    """The docstring of a check begins with the names of the findings that it yields."""
    names = {
        name
        for check in CHECKS
        for name in re.findall(r"[a-z]+(?:-[a-z]+)*", check.__doc__.partition(":")[0])
        if "-" in name or (":" in check.__doc__ and " " not in check.__doc__.partition(":")[0])
    }
    assert names <= {file.stem for file in FILES}
