"""What twelve typical jobs ask for, and what of it the catalogues still lack."""

import csv
from collections import defaultdict
from pathlib import Path

from backhaul.catalog import FAMILIES

JOBS = Path(__file__).parent.parent / "reference" / "catalog" / "typical_jobs.csv"


def needs():
    with open(JOBS, encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_typical_jobs_find_their_parts(catalog):
    known = {part for family in FAMILIES for part in catalog.stock(family.name)}
    assert {row["part"] for row in needs() if row["part"] not in known} == set()


def test_the_jobs_are_twelve_and_each_is_a_whole_one(catalog):
    """A job is more than one family of parts."""
    families = defaultdict(set)
    for row in needs():
        for family in FAMILIES:
            if row["part"] in catalog.stock(family.name):
                families[row["job"]].add(family.name)
    assert len(families) == 12
    assert all(len(found) >= 4 for found in families.values()), families


def test_what_goes_into_a_cage_besides_light_says_how_far_it_goes(catalog):
    """IEEE 802.3 Clause 40: 100 m; modules of 10GBASE-T 30 m and attached cables: common practice."""
    reach = {
        part: item.reach_m
        for part, item in catalog.hardware.items()
        if item.kind in ("copper module", "attached cable")
    }
    assert reach.pop("module-1000base-t") == 100 and reach.pop("module-10gbase-t") == 30
    assert len(reach) >= 3
    for part, metres in reach.items():
        assert part.endswith(f"-{metres:g}m")
