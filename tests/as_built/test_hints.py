"""What a reading that is off hints at.

The faults are common practice of the trade; the figures of each case are made by hand from what the
fault does: a silent chain of two takes 3.01 dB (half the power), crossed polarizations 25 to 35 dB,
the first side lobe of ITU-R F.699 lies Gmax - G1 = 5.7 + 5 log10(D/wavelength) dB down.
"""

from math import asin, cos, radians, sin, sqrt

import pytest
from filled_cards import expected, write_cards
from revision_designs import CATALOG, read, tables

from backhaul.as_built.acceptance import accept
from backhaul.as_built.judged import GOOD, OFF
from backhaul.evaluation import evaluate


@pytest.fixture(scope="module")
def built(tmp_path_factory):
    other = tables()
    for row in other["sites"]:
        row["declination_deg"] = -4 if row["site"] == "tower" else ""
    design = read(tmp_path_factory.mktemp("built"), "design", other)
    return evaluate(design, CATALOG, seek=False)


CASES = [
    # key, off by, others off by, words of the hint
    ("hop.level.far", -3.1, {}, "one of 2 chains missing (3.0 dB)"),
    (
        "hop.level.far",
        -3.1,
        {"hop.chain1.far": 0.0, "hop.chain2.far": -25.0},
        "chain 2 is 25.0 dB below the best",
    ),
    ("hop.level.far", -3.6, {"hop.chain1.far": -3.6, "hop.chain2.far": -3.6}, "aim again"),
    ("hop.level.near", -15.0, {}, "first side lobe"),
    ("hop.level.near", -28.0, {}, "polarizations crossed"),
    ("hop.level.near", -50.0, {}, "something in the way"),
    ("hop.level.near", -6.0, {}, "aim again"),
    ("hop.level.near", 4.0, {}, "more than can arrive"),
    ("hop.chain1.near", -6.0, {}, "this chain alone"),
    ("hop.chain1.near", 3.01 + 1, {}, "all chains together read for one chain"),
    ("sw1.sfp1.loss", 3.0, {}, "a dirty pair"),
    ("sw1.sfp1.loss", 3.0, {"tower.8.loss": 0.4}, "the other direction is good"),
    ("sw1.sfp1.loss", 25.0, {}, "a break"),
    ("sw1.sfp1.loss", -1.3, {}, "the reference was taken with another cord"),
    ("sw1.sfp1.light", -6.0, {"sw1.sfp1.loss": 0.3}, "the far optic is weak"),
    ("sw1.sfp1.light", -6.0, {}, "a dirty pair"),
    ("sw1.sfp1.light", -35.0, {}, "as good as dark"),
    ("sw1.sfp1.light", 12.0, {}, "more light than the optic sends"),
    ("hop.poe.near", -12.0, {}, "more drop than computed"),
    ("sw2.volts", -229.90790896861975, {}, "no voltage"),
    ("sw2.volts", 40.0, {}, "more than the source should give"),
    ("hop.azimuth.far", 180.0, {}, "turned by 180"),
    ("hop.azimuth.far", 4.0, {}, "magnetic taken for true"),
    ("hop.azimuth.far", 20.0, {}, "aim again"),
    ("hop.height.far", 9 * 2.281, {}, "perhaps feet"),
    ("hop.height.far", 2.0, {}, "put the height as mounted into the design"),
    ("sw1.sfp1.light", "turned", {}, "the sign left out"),
    ("c1.length", "in km", {}, "perhaps kilometres"),
    ("c1.length", 900.0, {}, "put the length into the design"),
]


@pytest.mark.parametrize(("key", "off", "others", "words"), CASES)
def test_off_readings_hint_at_their_fault(built, tmp_path, key, off, others, words):
    right = expected(built)
    written = {"turned": -right[key], "in km": right[key] / 1000}.get(off)
    values = {key: right[key] + off if written is None else written}
    values |= {name: right[name] + by for name, by in others.items()}
    if "azimuth" in key:
        values[key] %= 360
    found = accept(built, [write_cards(tmp_path / "crew.xlsx", built, values)])
    [judged] = [each for each in found.judged if each.reading.key == key]
    assert judged.status == OFF
    assert words in judged.hint


def test_a_voltage_without_load_is_good_and_says_nothing_of_the_line(built, tmp_path):
    """The mains may stand 10 % high (IEC 60038): 230 V at nominal, 253 V without drop."""
    values = {"sw2.volts": 250.0}
    found = accept(built, [write_cards(tmp_path / "crew.xlsx", built, values)])
    [judged] = [each for each in found.judged if each.reading.key == "sw2.volts"]
    assert judged.status == GOOD
    assert "cold line" in judged.hint


def test_what_is_as_expected_hints_at_nothing(built, tmp_path):
    found = accept(built, [write_cards(tmp_path / "crew.xlsx", built, expected(built))])
    assert not [each.hint for each in found.judged if each.hint]


@pytest.mark.parametrize(("off", "status"), [(0.05, GOOD), (-0.05, OFF)])
def test_no_cable_is_shorter_than_the_line_between_its_sites(built, tmp_path, off, status):
    """The straight line by the great circle of the mean sphere (6371.0 km), within 1 %."""
    sites = built.design.sites
    a, b = sites["works"], sites["crest"]
    lift = [radians(x) for x in (a.latitude, b.latitude, b.longitude - a.longitude)]
    half = sin((lift[1] - lift[0]) / 2) ** 2 + cos(lift[0]) * cos(lift[1]) * sin(lift[2] / 2) ** 2
    straight_m = 2 * 6_371_000 * asin(sqrt(half))
    values = {"c1.length": straight_m * (1 + off)}
    found = accept(built, [write_cards(tmp_path / "crew.xlsx", built, values)])
    [judged] = [each for each in found.judged if each.reading.key == "c1.length"]
    assert judged.status == status


def test_a_breaker_below_what_is_drawn_is_off(built, tmp_path):
    keys = [key for key in expected(built) if key.endswith(".breaker")]
    values = dict.fromkeys(keys, 0.1)
    found = accept(built, [write_cards(tmp_path / "crew.xlsx", built, values)])
    judged = [each for each in found.judged if each.reading.key in keys]
    assert judged
    assert {each.status for each in judged} == {OFF}
    assert all(each.why.startswith("below") for each in judged)
