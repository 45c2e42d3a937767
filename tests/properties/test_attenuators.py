"""An attenuator that is advised settles its finding, whatever part of the catalogue is taken.

Tolerances are those of the catalogue (common practice); levels are invented.
"""

import copy
import re
import sys
import tempfile
from pathlib import Path

from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

sys.path.insert(0, str(Path(__file__).parents[1]))

import compact
import strategies

FEW = settings(max_examples=25, suppress_health_check=[HealthCheck.filter_too_much])
LIGHT = strategies.paths(only=("light",))
_ADVISED = re.compile(r"fit an? ([\d.]+) dB attenuator")


def evaluated(tables):
    with tempfile.TemporaryDirectory() as folder:
        return compact.run_tables(Path(folder), tables)


def overloads(evaluation):
    """Findings of too much light that name a figure."""
    found = [f for f in evaluation.findings if f.check == "receiver-overload"]
    return [f for f in found if f.value is not None]


def with_attenuator(tables, part: str, site: str):
    """The design with one attenuator before its last optic."""
    more = copy.deepcopy(tables)
    rows = [{k: v for k, v in row.items() if k not in ("path", "step")} for row in more["segments"]]
    last = max(place for place, row in enumerate(rows) if row["kind"] == "optic")
    rows.insert(last, {"kind": "attenuator", "part": part, "site": site})
    more["segments"] = strategies.numbered(rows, "P")
    return more


@FEW
@given(LIGHT, st.data())
def test_an_advised_attenuator_settles_its_finding(tables, data):
    optics = [row for row in tables["segments"] if row["kind"] == "optic"]
    assume(len(optics) == 2)  # one link, so that the place of the attenuator is clear
    for row in optics:
        row["part"] = data.draw(st.sampled_from(("t-hot", "t-long", "1000base-zx", "1000base-ex")))
    optics[1]["part"] = optics[0]["part"]
    before = evaluated(tables)
    found = [f for f in overloads(before) if _ADVISED.search(f.remedy)]
    assume(found)
    (finding,) = found
    nominal = float(_ADVISED.search(finding.remedy)[1])
    parts = [
        part.part
        for part in before.catalog.joints.values()
        if part.kind == "attenuator"
        and (part.family, part.polish) == ("LC", "UPC")
        and nominal == (part.max_db if part.typical_db is None else part.typical_db)
    ]
    assert parts
    for part in parts:
        after = evaluated(with_attenuator(tables, part, optics[1].get("site")))
        assert not overloads(after), (part, finding.message, [f.message for f in overloads(after)])
        values = before.optical.values["margin_db"], after.optical.values["margin_db"]
        assert (values[1].round(6) >= 0).all() or (values[0].round(6) < 0).any()
