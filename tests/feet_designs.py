"""Designs in metres written over in feet: 0.3048 m exactly (NIST SP 811, appendix B.8)."""

import csv
from pathlib import Path

METRE = 0.3048  # of a foot


def table(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


def write(path: Path, heads: list[str], lines: list[list[object]]) -> Path:
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([heads, *lines])
    return path


def in_feet(source: Path, target: Path) -> Path:
    """A design with every head in metres turned into feet, by its name alone."""
    target.mkdir()
    for file in source.glob("*.csv"):
        given = table(file)
        heads = list(given[0])
        turned = {head: head[:-2] + "_ft" for head in heads if head.endswith("_m")}
        lines = []
        for row in given:
            is_setting = row.get("setting", "").endswith("_m") and row["value"]
            lines.append(
                [
                    float(row[head]) / METRE
                    if (head in turned and row[head]) or (head == "value" and is_setting)
                    else row[head][:-2] + "_ft"
                    if head == "setting" and is_setting
                    else row[head]
                    for head in heads
                ]
            )
        write(target / file.name, [turned.get(head, head) for head in heads], lines)
    return target
