"""Where one cell settles a finding, no more than that cell is proposed. Designs are invented."""

import compact
import pytest

from backhaul.evaluation import evaluate
from backhaul.report.record import record

ENDS = (
    "project region=CEPT | site A latitude=50 longitude=0 ground_m=100 rain_rate_mm_h=30 dn1=-200"
    " | site B latitude=50 longitude=0.06 ground_m=100 rain_rate_mm_h=30 dn1=-200"
)
EXT, INT = "radio-5ghz-he-ext", "radio-5ghz-he-int"
DISH = "antenna=dish-5ghz-0.6m"


def hop(part: str, more: str) -> str:
    usual = {"frequency_ghz": 5.58, "channel_mhz": 20, "tx_power_dbm": 1}
    given = " ".join(f"{name}={value}" for name, value in usual.items() if f"{name}=" not in more)
    return (
        "device switch-out-4-2.5g-poe-bt-180 site=A | copper cat6a-s-out 10m site=A to_site=A | "
        f"radio {part} site=A to_site=B height_m=30 to_height_m=30 {given} {more} | "
        "copper cat6a-s-out 10m site=B to_site=B | device switch-out-4-2.5g-poe-bt-180 site=B"
    )


@pytest.mark.parametrize(
    ("text", "check", "cell"),
    [
        (hop(EXT, f"{DISH} to_part=radio-5ghz-vht-ext"), "radio-pair", "to_part"),
        (hop(EXT, f"{DISH} to_part=radio-5ghz-ht-ext"), "radio-pair", "to_part"),
        (hop(EXT, f"{DISH} channel_mhz=30"), "radio-pair", "channel_mhz"),
        (hop(EXT, f"{DISH} channel_mhz=10"), "radio-pair", "channel_mhz"),
        (hop(INT, "channel_mhz=240"), "radio-pair", "channel_mhz"),
        (hop(EXT, "antenna=dish-18ghz-0.6m"), "radio-pair", "antenna"),
        (hop(EXT, f"{DISH} to_frequency_ghz=5.6"), "radio-pair", "frequency_ghz"),
        (hop(INT, "frequency_ghz=5.2"), "radio-band", "frequency_ghz"),
        (hop(INT, "tx_power_dbm=8"), "radio-eirp", "tx_power_dbm"),
    ],
)
def test_one_cell_settles_it(text, check, cell, tmp_path):
    design = compact.run(tmp_path, text, ENDS)
    found = record(evaluate(design.design, design.catalog, remedies=True))
    edits = [f["edits"] for f in found["findings"] if f["check"] == check]
    assert edits
    for some in edits:
        assert [edit["column"].removeprefix("to_") for edit in some] == [cell.removeprefix("to_")]


def test_a_link_too_slow_for_the_demand_gets_faster_optics(tmp_path):
    """2 Gb/s over 50 m between ports that take 10 Gb/s: optics of that rate at both ends."""
    text = (
        "device switch-12-sfp+ site=A | optic 1000base-lx10-e site=A | "
        "fiber os2-12 50m site=A to_site=B strand=1/2 | optic 1000base-lx10-e site=B | "
        "device switch-12-sfp+ site=B"
    )
    design = compact.run(tmp_path, text, f"{ENDS} | demand P1 up_mbps=2000")
    found = evaluate(design.design, design.catalog, remedies=True).findings
    (told,) = [f for f in found if f.check == "path-rate"]
    assert [(edit.key["step"], edit.column) for edit in told.edits] == [(2, "part"), (4, "part")]
    optics = design.catalog.optics
    assert {optics[edit.to].rate_mbps for edit in told.edits} == {10_000}


@pytest.mark.parametrize("sway", [0.2, 0.5])
def test_a_mast_that_sways_gets_a_wider_beam(sway, tmp_path):
    """70 wavelengths over 0.6 m at 73.5 GHz: 0.48°, of which a quarter is 0.12°."""
    text = (
        "radio radio-80ghz-low-dc site=A to_site=B to_part=radio-80ghz-high-dc height_m=20 "
        "to_height_m=20 antenna=dish-80ghz-0.6m frequency_ghz=73.5 to_frequency_ghz=83.5 "
        "channel_mhz=500 polarization=V tx_power_dbm=0"
    )
    places = ENDS.replace("dn1=-200", f"dn1=-200 sway_deg={sway}")
    design = compact.run(tmp_path, text, places)
    found = evaluate(design.design, design.catalog, remedies=True).findings
    (told,) = [f for f in found if f.check == "radio-pointing"]
    assert {edit.column.removeprefix("to_") for edit in told.edits} == {"antenna"}
    assert all(edit.to == "dish-80ghz-0.3m" for edit in told.edits)


def test_a_protector_of_the_wrong_kind_follows_from_a_supply_of_the_wrong_kind(tmp_path):
    """Mains on a 48 V DC radio: the protectors for 48 V DC on the way are right."""
    text = (
        "device mains-230v site=A | protector protector-feed-dc-48-out site=A | "
        "feed 2.5mm2 10m site=A to_site=A | protector protector-feed-dc-48-out site=A | "
        "radio radio-18ghz-low-dc site=A"
    )
    found = compact.run(tmp_path, text, ENDS).findings
    told = {f.check: f for f in found if f.severity == "fail"}
    assert told["protector-rating"].cause == told["supply-type"].id
