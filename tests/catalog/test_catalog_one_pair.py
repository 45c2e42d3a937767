"""10BASE-T1L over one pair: wire, reach, power, and that nothing of four pairs goes with it."""

import csv
import math
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))  # for `import compact`

import compact

REFERENCE = Path(__file__).parent.parent / "reference" / "catalog"
with open(REFERENCE / "single_pair_classes.csv", encoding="utf-8", newline="") as opened:
    CLASSES = {
        row["poe_class"]: {name: float(row[name]) for name in list(row)[1:5]}
        for row in csv.DictReader(opened)
    }
#: class that a port of ours is described by, and its lowest load voltage where the loop is longest
CLASS_OF = {
    "converter-t1l-spoe11-ind": "11",
    "converter-t1l-spoe14-ind": "14",
    "switch-ind-4-t1l-spoe12": "12",
    "sensor-t1l-spoe11": "11",
    "converter-t1l-pd14-ind": "14",
}


def load_v(row):
    """Voltage at a load of constant power behind the longest loop: V/2 + sqrt(V²/4 - R P)."""
    half = row["source_min_v"] / 2
    return half + math.sqrt(half**2 - row["loop_max_ohm"] * row["load_w"])


@pytest.mark.parametrize("number", CLASSES)
def test_published_classes_bear_each_other_out(number):
    """All of 20 V end at one voltage, all of 50 V likewise: the figures from memory agree."""
    row = CLASSES[number]
    assert load_v(row) == pytest.approx(14.5 if row["source_min_v"] == 20 else 36.2, abs=0.3)


def one_pair_ports(catalog):
    for ports in catalog.ports.values():
        yield from (port for port in ports if port.poe != "none" and port.poe_pairs == 1)


def test_ports_are_as_their_class_says(catalog):
    seen = set()
    for port in one_pair_ports(catalog):
        row = CLASSES[CLASS_OF[port.part]]
        seen.add(port.part)
        assert f"class {CLASS_OF[port.part]}" in port.description
        if port.poe == "source":
            assert (port.volts, port.max_volts) == (row["source_min_v"], row["source_max_v"])
            # what goes in at the lowest voltage, the heat of the longest loop with it
            given = row["source_min_v"] * (row["source_min_v"] - load_v(row)) / row["loop_max_ohm"]
            assert given <= port.watts <= 1.25 * given, port.part
        else:
            device = catalog.devices[port.part]
            passed = (device.poe_budget_w or 0) / (device.efficiency or 1)
            assert device.watts + passed <= row["load_w"]
            assert port.min_volts <= load_v(row) and port.max_volts >= row["source_max_v"]
    assert seen == set(CLASS_OF)


def test_cable_is_solid_copper_and_reaches_a_kilometre(catalog):
    """ASTM B258, 18 AWG: 1.024 mm; IEEE 802.3cg Clause 146: 1000 m."""
    area_mm2 = math.pi / 4 * (0.127 * 92 ** ((36 - 18) / 39)) ** 2
    cables = [cable for cable in catalog.coppers.values() if cable.pairs == 1]
    assert len(cables) == 3
    for cable in cables:
        assert cable.ohm_per_km == pytest.approx(17.241 / area_mm2, abs=0.005)
        (reach,) = catalog.copper_reach[cable.part]
        assert (reach.rate_mbps, reach.reach_m) == (10, 1000)


def found(tmp_path, segments):
    findings = compact.run(tmp_path, segments, "").findings
    return {f.check for f in findings if f.severity == "fail"}


def test_one_pair_carries_data_and_power_for_half_a_kilometre(tmp_path):
    line = "device converter-t1l-spoe11-ind | copper cable-single-pair-18awg {} | device sensor-t1l-spoe11"
    assert found(tmp_path, line.format("500m")) == set()


def test_the_pair_ends_where_its_class_does(tmp_path):
    """25 ohm of loop at 20 degC are 597 m of 18 AWG; 14 V are reached at 25.6 ohm, 612 m."""
    line = "device converter-t1l-spoe11-ind | copper cable-single-pair-18awg {} | device sensor-t1l-spoe11"
    assert found(tmp_path, line.format("605m")) == set()
    assert found(tmp_path, line.format("640m")) == {"poe-power"}


@pytest.mark.parametrize("length, fails", [("990m", set()), ("1010m", {"copper-reach"})])
def test_data_alone_goes_a_kilometre(length, fails, tmp_path):
    line = f"device converter-t1l-ind | copper cable-single-pair-18awg {length} | device sensor-t1l"
    assert found(tmp_path, line) == fails


@pytest.mark.parametrize(
    "segments",
    [
        "device switch-8-1g | copper cable-single-pair-18awg 50m | device sensor-t1l",
        "device converter-t1l-ind | copper cat6a-s 50m port=t1l | device switch-8-1g",
        "device switch-8-1g | copper cable-single-pair-18awg 50m port=1 to_port=t1l | device sensor-t1l",
        "device sensor-t1l | copper cable-single-pair-18awg 50m | copper cat6a-cord 2m | device switch-8-1g",
    ],
)
def test_one_pair_and_four_do_not_meet(segments, tmp_path):
    assert "optics-port" in found(tmp_path, segments)
