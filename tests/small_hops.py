"""A small hop for the tests of the book, and what a recalculated book must hold of it."""

import pytest
from small_designs import rows

from backhaul.book.sheets.radio_budget import OF_HUB, OF_OTHERS, OF_SWAY
from backhaul.figures.mode_terms import MODE_TERMS
from backhaul.figures.radio_terms import DIRECTION_TERMS

SHEETS = ("radio_hops", "inputs")
#: lines that stand only where masts sway, other senders of the design are heard, or hops share a hub
IDLE = (*OF_SWAY, *OF_OTHERS, *OF_HUB)
RADIO = "radio-5ghz-he-int"
HOP = {
    "height_m": "8",
    "to_height_m": "9",
    "frequency_ghz": "5.6",
    "channel_mhz": "40",
    "label": "H1",
    "tx_power_dbm": "12",
    "extra_loss_db": "1",
}
TERRAIN = [
    {"label": "H1", "distance_m": str(metres), "ground_m": str(ground)}
    for metres, ground in ((0, 106), (400, 96), (800, 98), (1183, 106))
]
WATER = {"water_low_m": "96", "water_high_m": "104", "wave_height_m": "0.4", "water": "fresh"}


def hop(**columns: str) -> list[dict[str, str]]:
    """A hop of 1.2 km with equipment at both ends."""
    told = " ".join(f"{name}={value}" for name, value in (HOP | columns).items() if value)
    return rows(
        "p",
        "device switch-ind-6-sfp-2-sfp+ site=crest label=SW1",
        "copper cat6a-s-out site=crest to_site=crest length_m=10",
        f"radio {RADIO} site=crest to_site=tower {told}",
        "copper cat6a-s-out site=tower to_site=tower length_m=8",
        "device switch-ind-6-sfp-2-sfp+ site=tower label=SW2",
    )


def figure(found, key: str) -> float:
    """The figure of a cell: recalculated where it is a formula, else the value that it is."""
    try:
        return found[key]
    except KeyError:
        spot = found.book.layout.spots[key]
        return dict(found.book.layout.cells_of_row(spot.sheet, spot.row))[spot.column].value


def assert_same(found, evaluation) -> None:
    """Every term of both directions and of every mode, the mode in use and its rate."""
    radio, performance = evaluation.radio, evaluation.performance.hops
    for direction in (0, 1):
        end = f"air.0.{'ab'[direction]}"
        for term in DIRECTION_TERMS:
            if f"{end}.{term.key}" not in found.book.layout.spots:
                assert term.key in IDLE, term.key
                continue
            want = float(radio.values[term.key][direction])
            got = figure(found, f"{end}.{term.key}")
            assert got == pytest.approx(want, rel=1e-9), term.key
        start = int(radio.mode_start[direction])
        for place in range(start, int(radio.mode_start[direction + 1])):
            for term in MODE_TERMS:
                want = float(radio.modes[term.key][place])
                key = f"{end}.mode{place - start}.{term.key}"
                assert figure(found, key) == pytest.approx(want, rel=1e-9, abs=1e-12), key
            rate = float(performance.mode_user_rate_mbps[place])
            assert found[f"{end}.mode{place - start}.user_rate_mbps"] == pytest.approx(rate)
        assert found[f"{end}.mode_at_target"] == radio.modes["name"][performance.mode[direction]]
        rate = float(performance.user_rate_mbps[direction])
        assert found[f"{end}.rate_at_target_mbps"] == pytest.approx(rate)
        assert found[f"{end}.target_percent"] == pytest.approx(
            performance.target_percent[direction]
        )
    link = radio.links[0]
    assert found["air.0.verdict"] == evaluation.link_verdict(link)
