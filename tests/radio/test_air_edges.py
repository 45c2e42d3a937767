"""Hops at the edge of what works: dead ones, ends that stand wrong, lengths that contradict."""

from air_rows import ROW, place


def test_where_no_mode_has_a_margin_snow_is_no_question(hops):
    """50° N, antennas 1 km under a rain height of 3 km: snow may fall; 60 dB too much loss."""
    high = place(50.0, -3.4, near_latitude=50.0, near_ground_m=2000, far_ground_m=2000)
    found = hops({**ROW, **high, "length_m": None, "frequency_ghz": 11, "extra_loss_db": 90})
    assert found.findings("radio-margin", "fail")
