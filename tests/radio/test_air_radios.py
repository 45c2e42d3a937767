"""What a radio cannot do is told: more power than it has, frames over farther than it waits."""

import pytest
from air_rows import ROW


@pytest.mark.parametrize("power, told", [(27, False), (27.1, True), (40, True)])
def test_more_power_than_the_radio_has_is_told(hops, power, told):
    """radio-5ghz-he-int sends 27 dBm at most: what is typed beyond it is not sent."""
    row = {**ROW, "part": "radio-5ghz-he-int", "antenna": "", "tx_power_dbm": power}
    found = hops(row)
    notes = [f for f in found.findings("out-of-range", "note") if f["unit"] == "dBm"]
    assert [f["limit"] for f in notes] == ([27] if told else [])
    assert found.hop["directions"][0]["eirp_dbm"] == pytest.approx(27 + 25)


@pytest.mark.parametrize(
    "row, told",
    [
        ({"length_m": 29_900}, False),
        ({"length_m": 30_100}, True),
        ({"length_m": 95_000, "part": "radio-5ghz-he-ext"}, True),
        ({"length_m": 95_000, "part": "any-radio-fdd", "to_frequency_ghz": 5.84}, False),
    ],
)
def test_a_long_time_division_hop_is_told(hops, row, told):
    notes = hops({**ROW, **row}).findings("out-of-range", "note")
    assert any("time-division hop" in f["message"] for f in notes) is told
