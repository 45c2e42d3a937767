"""Attacks by class, none of which succeeds; `ATTACKS=all` runs all, `ATTACKS=streams,signals` these.

Counts by class, the slowest and what failed stand in `told.txt` of its folder.
"""

import os
import time
from collections import Counter

import pytest
from attack_classes import attacks

from backhaul.catalog import load_catalog

#: One of so many of each class by default: all take minutes.
ASKED = os.environ.get("ATTACKS", "")
STRIDE = 1 if ASKED else 29
LONGEST_S = 10.0


@pytest.fixture(scope="module")
def catalog():
    return load_catalog()


@pytest.mark.skipif(os.name == "nt", reason="nodes and shells of POSIX")
def test_no_attack_succeeds(catalog, tmp_path):
    count, slowest, failed = Counter(), ("", 0.0), []
    for number, attack in enumerate(attacks()):
        if number % STRIDE or (ASKED not in ("", "all") and attack.kind not in ASKED.split(",")):
            continue
        folder = tmp_path / str(number)
        folder.mkdir()
        began = time.perf_counter()
        try:
            wrong = attack.run(folder, catalog)
        except Exception as fault:  # noqa: BLE001 - any at all is an attack that succeeded
            wrong = f"{type(fault).__name__}: {fault}"
        took = time.perf_counter() - began
        count[attack.kind] += 1
        slowest = max(slowest, (f"{attack.kind}: {attack.name}", took), key=lambda pair: pair[1])
        if wrong:
            failed.append(f"{attack.kind}: {attack.name}: {wrong}")
    told = f"{count.total()} attacks, {len(failed)} succeeded; slowest {slowest}; {dict(count)}\n"
    (tmp_path / "told.txt").write_text(told + "\n".join(failed), encoding="utf-8")
    assert failed == []
    assert slowest[1] < LONGEST_S or STRIDE == 1, slowest


def test_there_are_a_thousand_of_them():
    count = Counter(attack.kind for attack in attacks())
    assert count.total() >= 1000, count
    assert count["outputs"] + count["streams"] + count["signals"] >= 200, count
