"""Worked examples of power: PoE classes of the standard, DC and mains over a distance."""

import pytest
from compact import checked

# class, pairs, source W and V, loop of the longest channel -> load W and V
POE = [
    (3, 2, 15.4, 44.0, 20.0, 12.95, 37.0),
    (4, 2, 30.0, 50.0, 12.5, 25.5, 42.5),
    (8, 4, 90.0, 52.0, 6.25, 71.28, 41.2),
]


@pytest.mark.parametrize("row", POE, ids=[f"class {row[0]}" for row in POE])
def test_poe_classes(tmp_path, row):
    """IEEE 802.3 Clauses 33 and 145: P_load = P_source - I² R at the source's lowest voltage."""
    poe_class, pairs, source_w, volts, loop_ohm, load_w, load_v = row
    device = {"supply": "AC", "watts": 5}
    port = {"form": "rj45", "rates_mbps": 1000, "poe_class": poe_class, "poe_pairs": pairs}
    data = checked(
        tmp_path,
        "device source | copper wire 100m cable_temperature_c=20 | device load",
        devices=[device | {"part": "source"}, {"part": "load", "supply": "PoE"}],
        ports=[
            port | {"part": "source", "port": 1, "poe": "source", "volts": volts},
            port | {"part": "load", "port": 1, "poe": "load", "watts": load_w},
        ],
        # loop = 2 r L / pairs
        copper=[{"part": "wire", "category": "Cat 6", "ohm_per_km": loop_ohm * pairs / 2 / 0.1}],
    )
    (link,) = data["paths"][0]["links"]
    assert link["load_v"] == pytest.approx(load_v, abs=0.05)
    assert link["source_w"] == pytest.approx(source_w, abs=0.05)
    assert not [f for f in data["findings"] if f["check"] == "poe-power"]


def feed(tmp_path, *, volts, load_w, length_m, ohm_per_km, output="DC"):
    data = checked(
        tmp_path,
        f"device supply | feed wire {length_m:g}m cable_temperature_c=20 | device load",
        devices=[
            {"part": "supply", "supply": "none", "output": output, "output_volts": volts},
            {"part": "load", "supply": output, "watts": load_w},
        ],
        feeds=[{"part": "wire", "ohm_per_km": ohm_per_km}],
    )
    return data["paths"][0]["links"][0], data


@pytest.mark.parametrize("load_w, fails", [(19.4, False), (19.5, True)])
def test_dc_over_2_km(tmp_path, load_w, fails):
    """48 V over 2 km of 2.5 mm² (IEC 60228: 7.41 ohm/km) is 29.64 ohm and carries 19.4 W."""
    link, data = feed(tmp_path, volts=48, load_w=load_w, length_m=2000, ohm_per_km=7.41)
    assert link["loop_ohm"] == pytest.approx(29.64)
    assert (link["load_v"] is None) is fails
    said = [f["message"] for f in data["findings"] if f["check"] == "feed-power"]
    assert any("no solution" in message for message in said) is fails


@pytest.mark.parametrize("load_w, fails", [(15.3, False), (15.4, True)])
def test_passive_24_v(tmp_path, load_w, fails):
    """24 V over 100 m at 9.38 ohm carries at most 15.35 W (discriminant of the quadratic)."""
    link, _ = feed(tmp_path, volts=24, load_w=load_w, length_m=100, ohm_per_km=46.9)
    assert link["loop_ohm"] == pytest.approx(9.38)
    assert (link["load_v"] is None) is fails


@pytest.mark.parametrize("ohm_per_km, volts, percent", [(8.91, 15.5, 6.7), (3.71, 6.45, 2.8)])
def test_w16_single_phase(tmp_path, ohm_per_km, volts, percent):
    """Public tutorial on cable sizing: 230 V, 21.74 A, 40 m: 15.5 V = 6.7 %, 6.45 V = 2.8 %."""
    link, _ = feed(
        tmp_path,
        volts=230,
        load_w=21.74 * (230 - volts),
        length_m=40,
        ohm_per_km=ohm_per_km,
        output="AC",
    )
    assert link["current_a"] == pytest.approx(21.74, abs=0.005)
    assert 230 - link["load_v"] == pytest.approx(volts, abs=0.05)
    assert link["drop_percent"] == pytest.approx(percent, abs=0.05)
