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
