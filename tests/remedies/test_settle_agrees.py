"""What check proves, settle finds; and neither takes away what the design was for.

The designs are those that the checks are tried with, and small ones whose remedy stands in another
path than their fault; all are invented. That less battery, power, rate or earth is a loss: common
practice.
"""

import csv
from pathlib import Path

import compact
import pytest
from thorough import one_in

from backhaul.catalog import load_catalog
from backhaul.design.read import read_design
from backhaul.evaluation import evaluate
from backhaul.remedies.functions import loses_function
from backhaul.remedies.settling import settle
from backhaul.remedies.standing import is_worse, place_of

CASES = sorted((Path(__file__).parents[1] / "cases").glob("*.csv"))

PORT_TAKEN = (
    "p: device switch-8-1g label=S | copper cat6 5m port=1 | device workstation label=W1 || "
    "q: device switch-8-1g label=S | copper cat6 5m port=1 | device workstation label=W2"
)
CAGE_TAKEN = (
    "r: device switch-8-1g label=S | optic 1000base-sx port=sfp1 | "
    "fiber cord-om3-lcupc-lcupc 3m strand=1/2 | optic 1000base-sx | device switch-12-sfp label=A ||"
    "t: device switch-8-1g label=S | optic 1000base-sx port=sfp1 | "
    "fiber cord-om3-lcupc-lcupc 3m strand=1/2 | optic 1000base-sx | device switch-12-sfp label=B"
)
FED_ELSEWHERE = (
    "p: device switch-ind-8-1g-poe-240 label=S | copper cat6a 60m | device camera-class4 label=C ||"
    "q: device supply-48v-480w | feed 1.5mm2 10m | device switch-ind-8-1g-poe-240 label=S"
)
NOT_FED = "c: device switch-8-1g | copper cat6 20m | device camera-class3"
TOO_MANY = "||".join(
    f"p{n}: device switch-5-1g label=S | copper cat6 5m | device workstation label=W{n}"
    for n in range(6)
)
#: Each with the remedy that a senior would give.
ELSEWHERE = {
    PORT_TAKEN: {("port", ("2",))},
    CAGE_TAKEN: {("port", ("sfp2",))},
    FED_ELSEWHERE: {("part", "supply-54v-480w")},
    NOT_FED: {("part", "switch-8-1g-poe-120")},
    TOO_MANY: {("part", "switch-8-1g")},
}


def design_of(folder, segments, others="", catalog=None):
    tables = {"segments": compact.segments(segments)} | dict(compact.other_tables(others))
    return read_design(compact.write_tables(folder, tables), catalog or load_catalog())


def settled_as_proved(design, catalog, *, strict=False):
    """Settle a design; fails where check proves a remedy of what is left."""

    def run(each, remedies=False):
        return evaluate(each, catalog, remedies=remedies)

    proved = {place_of(f): f.remedy for f in run(design, remedies=True).findings if f.edits}
    settled = settle(design, run, strict=strict)
    left = {place_of(finding): proved.get(place_of(finding)) for finding, _ in settled.unsettled}
    assert not any(left.values()), left
    return settled


def cases():
    for file in CASES:
        with file.open(newline="", encoding="utf-8") as lines:
            rows = list(csv.DictReader(lines))
        found = dict.fromkeys((r["segments"], r["others"]) for r in rows if r["expect"] != "-")
        for number, design in enumerate(one_in(8, list(found))):
            yield pytest.param(*design, id=f"{file.stem} {number}")


@pytest.mark.parametrize(("segments", "others"), cases())
def test_settle_finds_what_check_proves(segments, others, tmp_path):
    catalog = compact.own_catalog()
    settled_as_proved(design_of(tmp_path, segments, others, catalog), catalog)


@pytest.mark.parametrize("segments", ELSEWHERE)
def test_a_fault_whose_remedy_stands_in_another_path(segments, tmp_path):
    settled = settled_as_proved(design_of(tmp_path, segments), load_catalog())
    assert not settled.unsettled
    said = {(e.column, e.to if isinstance(e.to, str) else tuple(e.to)) for e in settled.edits}
    plain = {
        (column, (to,) if column == "port" and isinstance(to, str) else to) for column, to in said
    }
    assert plain == ELSEWHERE[segments]


#: What is swapped, and what the part in its place must not have less of.
FUNCTIONS = {
    "an inverter of another mains": (
        "q: device mains-230v-10a | feed 1.5mm2-3c 5m | device ups-120v-1kva",
        "mains-230v-10a",
    ),
    "an inverter of a higher mains": (
        "q: device mains-120v | feed awg14-3c 5m | device ups-230v-1kva",
        "mains-120v",
    ),
    "a battery that is too high for its load": (
        "q: device supply-24v-480w-lithium | feed 4mm2 5m | device plc-dc",
        "supply-24v-480w-battery",
    ),
    "a plant whose run is too thin": (
        "q: device supply-48v-2000w-battery | feed 1mm2 15m | device switch-24-1g-dc",
        "supply-48v-2000w-battery",
    ),
    "an AC load on a DC supply": (
        "q: device supply-48v-120w | feed 1.5mm2 3m | device switch-24-1g",
        "mains-230v-10a",
    ),
}


@pytest.mark.parametrize("name", FUNCTIONS)
@pytest.mark.parametrize("strict", [False, True])
def test_a_remedy_keeps_what_the_source_is_for(name, strict, tmp_path):
    segments, source = FUNCTIONS[name]
    settled = settled_as_proved(design_of(tmp_path, segments), load_catalog(), strict=strict)
    assert not settled.unsettled
    assert settled.design.segments[0].part == source
    if settled.design.segments[0].part.startswith("mains"):  # IEC 60364-4-41 clause 411.3.1
        assert settled.design.segments[1].part.endswith("-3c")


def test_a_remedy_keeps_rate_and_class_of_a_camera(tmp_path):
    """Salt air: a camera of class 4 at 1 Gb/s does not become one of class 3 at 100 Mb/s."""
    segments = "p: device switch-8-1g-poe-120 site=A | copper cat6a-out 40m site=A to_site=O | device camera-class4 site=O"
    others = "site A outdoor=no | site O outdoor=yes corrosivity=C5"
    settled = settle(
        design_of(tmp_path, segments, others), lambda d: evaluate(d, load_catalog()), strict=True
    )
    camera = [row.part for row in settled.design.segments if row.kind == "device"][-1]
    ports = load_catalog().ports[camera]
    assert max(max(port.rates_mbps) for port in ports) >= 1000
    assert max(port.poe_class for port in ports) >= 4


LOSSES = {
    "a battery": ("device", "supply-24v-480w-battery", "supply-24v-480w"),
    "power": ("device", "supply-48v-480w", "supply-48v-120w"),
    "rate": ("device", "switch-8-10g-poe-bt-480", "switch-8-1g"),
    "the earth": ("feed", "2.5mm2-3c", "2.5mm2"),
}


@pytest.mark.parametrize("name", LOSSES)
def test_a_part_that_does_less_is_worse(name, tmp_path):
    """Both ways round: what does more is not."""
    kind, more, less = LOSSES[name]
    source = {"device": f"device {more}", "feed": "device mains-230v | feed " + more + " 5m"}[kind]
    load = "device switch-24-1g" if kind == "feed" else "device workstation"
    segments = f"{source} | {'copper cat6 5m | ' if 'switch' in more else ''}{load}"
    results = [
        evaluate(design_of(tmp_path / str(n), segments.replace(more, part)), load_catalog())
        for n, part in enumerate((more, less))
    ]
    assert loses_function(*results)
    assert not loses_function(*results[::-1])
    assert is_worse(*results)


@pytest.mark.parametrize("feed", ["", "device supply-24v-120w | feed 2.5mm2 {length} | "])
@pytest.mark.parametrize("length", ["5m", "900m"])
def test_a_device_of_another_voltage_is_worse(feed, length, tmp_path):
    """24 V boosted to PoE against a port that passes on 48 V: also where nothing is carried yet."""
    results = [
        evaluate(
            design_of(
                tmp_path / part,
                f"{feed.format(length=length)}device {part} | copper cat6 5m | device camera-class4",
            ),
            load_catalog(),
        )
        for part in ("switch-ind-4-1g-poe-boost-120", "switch-ind-4-1g-poe-120")
    ]
    assert loses_function(*results)
