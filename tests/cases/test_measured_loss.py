"""A measured loss that no sound cable has: it is the cable that is mended, not the optic."""

import compact
import pytest

# ISO/IEC 11801: OS2 loses at most 0.4 dB/km; TIA-568.3-D: 0.75 dB a pair, a splice 0.3 dB (from
# memory). 2 km: 0.8 dB of glass, 2 x 0.75 of pairs, 3 x 0.3 of splices are 3.2 dB.
TEXT = (
    "P: device switch-8-1g site=A | optic 1000base-lx10 | fiber os2-2 2000m strand=1/2 "
    "measured_db={db} {more} | optic 1000base-lx10 | device switch-8-1g site=A"
)


@pytest.mark.parametrize(
    ("measured_db", "more", "told"),
    [
        (3.2, "", False),
        (3.21, "", True),
        (3.21, "measured_nm=1310", True),
        (3.21, "measured_nm=1550", False),  # what it loses there is another matter
    ],
)
def test_a_reading_above_a_sound_cable(tmp_path, measured_db, more, told):
    found = compact.run(tmp_path, TEXT.format(db=measured_db, more=more)).findings
    high = [f for f in found if f.check == "measured-loss" and "a sound cable" in f.message]
    assert [f.severity for f in high] == ["thin"] * told


@pytest.mark.parametrize(("measured_db", "follows"), [(9.0, True), (3.3, None)])
def test_a_margin_that_a_damaged_cable_takes_follows_from_it(tmp_path, measured_db, follows):
    found = compact.run(tmp_path, TEXT.format(db=measured_db, more="")).findings
    (reading,) = (f for f in found if f.check == "measured-loss")
    margins = [f for f in found if f.check == "optical-margin" and f.severity == "fail"]
    assert {f.cause for f in margins} == ({reading.id} if follows else set())
