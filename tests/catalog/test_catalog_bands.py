"""Antennas and bands against formulas, tables and worked limits."""

import csv
import math
from pathlib import Path

import pytest

from backhaul.physics import antennas
from backhaul.physics.free_space import conducted_limit_dbm

REFERENCE = Path(__file__).parent.parent / "reference"


def table(name):
    with open(REFERENCE / name, encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_dish_gain_follows_the_formula(catalog):
    """Round aperture; half a unit of the last digit, 0.1 dBi and 0.01 degree."""
    dishes = [a for a in catalog.antennas.values() if a.diameter_m is not None]
    assert len(dishes) > 20
    for dish in dishes:
        assert 0.5 <= dish.aperture_efficiency <= 0.65
        across = antennas.aperture_m(
            gain_dbi=dish.gain_dbi,
            frequency_ghz=dish.reference_ghz,
            efficiency=dish.aperture_efficiency,
        )
        half_a_digit = 10 ** (0.0501 / 20) - 1
        assert dish.diameter_m == pytest.approx(float(across), rel=half_a_digit)
        beam = antennas.dish_beamwidth_deg(
            diameter_m=dish.diameter_m, frequency_ghz=dish.reference_ghz
        )
        assert dish.beamwidth_deg == pytest.approx(float(beam), abs=0.00501)


def test_dishes_are_as_the_computed_table(catalog):
    """The rows of the reference pack that have the diameter, frequency and efficiency of ours."""
    ours = {
        (a.diameter_m, a.reference_ghz, a.aperture_efficiency): a for a in catalog.antennas.values()
    }
    checked = 0
    for row in table("radio/computed_dishes.csv"):
        dish = ours.get((float(row["diameter_m"]), float(row["f_GHz"]), float(row["efficiency"])))
        if dish:
            assert dish.gain_dbi == pytest.approx(float(row["gain_dBi"]), abs=0.0501)
            assert dish.beamwidth_deg == pytest.approx(float(row["beamwidth_deg"]), abs=0.00501)
            checked += 1
    assert checked >= 4


@pytest.mark.parametrize(
    "case",
    table("catalog/band_limits.csv"),
    ids=lambda r: f"{r['region']} {r['frequency_ghz']} GHz {r['gain_dbi']} dBi",
)
def test_band_limits_are_as_worked(case, catalog):
    """The most of all rows that allow it, as README.md says how the columns are read."""
    best = most_dbm(catalog, case, licensed=case["licensed"] == "yes")
    if case["eirp_max_dbm"]:
        assert best == pytest.approx(float(case["eirp_max_dbm"]), abs=0.05)
    else:
        assert best is None


def most_dbm(catalog, case, *, licensed):
    """The most of all rows of the kind that allow the hop; None if none does."""
    ghz, width, gain = (float(case[key]) for key in ("frequency_ghz", "channel_mhz", "gain_dbi"))
    half = width / 2000
    best = None
    for band in catalog.bands:
        if (
            bool(band.licensed) != licensed
            or band.region != case["region"]
            or not (band.frequency_min_ghz <= ghz - half and ghz + half <= band.frequency_max_ghz)
        ):
            continue
        if band.gain_min_dbi is not None and gain < band.gain_min_dbi:
            continue
        conducted = _or(band.conducted_max_dbm, math.inf)
        density = _or(band.psd_max_dbm_mhz, math.inf)
        of_eirp = band.conducted_max_dbm is None
        limit = gain + float(
            conducted_limit_dbm(
                conducted_max_dbm=conducted,
                eirp_max_dbm=_or(band.eirp_max_dbm, math.inf),
                psd_max_dbm_mhz=math.inf if of_eirp else density,
                gain_dbi=gain,
                gain_free_dbi=_or(band.gain_free_dbi, 1000.0),
                back_off_db_per_db=_or(band.back_off_db_per_db, 0.0),
                channel_mhz=width,
            )
        )
        if of_eirp:
            limit = min(limit, density + 10 * math.log10(width))
        best = limit if best is None else max(best, limit)
    return best


def _or(value, blank):
    return blank if value is None else value


def test_bands_name_their_rule_and_send_the_reader_to_the_local_one(catalog):
    for band in catalog.bands:
        assert band.rule
        assert "check them" in band.note, band.part
        assert (band.eirp_max_dbm, band.conducted_max_dbm) != (None, None)


def test_licensed_rows_say_so(catalog):
    """Row by row; the bands whose rule is a licence are those of 47 CFR 101 and the ITU articles."""
    for band in catalog.bands:
        assert band.licensed is not None, band.part
        by_licence = "101.113" in band.rule or "Radio Regulations" in band.rule
        by_licence |= "05)07" in band.rule
        assert band.licensed == by_licence, band.part


def test_every_licensed_class_has_a_row_and_an_antenna(catalog):
    for part, radio in catalog.radios.items():
        if radio.duplex != "FDD":
            continue
        middle = (radio.tx_min_ghz + radio.tx_max_ghz) / 2
        rows = [b for b in catalog.bands if b.frequency_min_ghz <= middle <= b.frequency_max_ghz]
        assert any(b.licensed for b in rows), part
        dishes = [
            a
            for a in catalog.antennas.values()
            if a.diameter_m and a.frequency_min_ghz <= middle <= a.frequency_max_ghz
        ]
        assert len(dishes) >= 3, part


def test_gain_and_width_of_a_beam_agree(catalog):
    """A lossless beam of this width fills 41253 square degrees; good antennas reach half.

    Sectors and omnidirectional antennas are wide in one plane only.
    """
    beams = {p: (a.gain_dbi, a.beamwidth_deg) for p, a in catalog.antennas.items()}
    beams |= {p: (r.antenna_dbi, r.beamwidth_deg) for p, r in catalog.radios.items()}
    checked = 0
    for part, (gain, width) in beams.items():
        if gain is None:
            continue
        filled = 10 ** (gain / 10) * width**2 / 41253
        if width < 60:
            assert 0.45 < filled < 0.8, part
            checked += 1
        elif width < 360:
            assert filled > 1, part  # flat: the other plane is narrower
    assert checked > 60
