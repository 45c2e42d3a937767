"""Sizes of conductors by the American wire gauge, beside areas in mm².

They are those of ASTM B258 as `tests/reference/wired/conductor_resistance.csv` quotes them.
"""

import csv
from pathlib import Path

import pytest
from published_tables import half_digit, rows

from backhaul.catalog import load_catalog
from backhaul.errors import InputError
from backhaul.tables.gauges import gauge_area_mm2, gauge_not_below, gauge_of, spelled_gauge

FEEDS = Path(__file__).parents[2] / "catalogs" / "feeds.csv"
AWG = [row for row in rows("wired/conductor_resistance.csv") if row["size"].endswith("AWG")]


@pytest.mark.parametrize("row", AWG, ids=lambda row: row["size"])
def test_gauges_have_the_published_areas(row):
    published = row["area_mm2"]
    assert abs(gauge_area_mm2(row["size"]) - float(published)) <= half_digit(published) * 1.01
    assert gauge_of(float(published)) == row["size"]


#: Diameters in mil of ASTM B258 for the sizes named by naughts, as wire tables print them (from
#: memory); 250 kcmil is 126.7 mm² by the circular mil of 5.067075e-4 mm².
@pytest.mark.parametrize(
    ("written", "diameter_mil"),
    [("0000", 460.0), ("3/0", 409.6), ("00", 364.8), ("1/0", 324.9), ("#1", 289.3), ("36", 5.0)],
)
def test_thick_gauges(written, diameter_mil):
    area_mm2 = gauge_area_mm2(spelled_gauge(written))
    assert (4 * area_mm2 / 3.14159265) ** 0.5 / 0.0254 == pytest.approx(diameter_mil, abs=0.05)


@pytest.mark.parametrize("written", ["4.5", "5/0", "00000", "", "mm2", "251 kcmil", "41"])
def test_what_is_no_gauge(written):
    with pytest.raises(ValueError, match=f"^{written}$"):
        spelled_gauge(written)


def test_a_metric_size_is_met_by_the_next_gauge_that_is_sold():
    sizes = {1.5: "14 AWG", 2.5: "12 AWG", 4: "10 AWG", 6: "8 AWG", 10: "6 AWG", 16: "4 AWG"}
    assert {area: gauge_not_below(area) for area in sizes} == sizes
    assert gauge_not_below(120) == "250 kcmil"
    assert gauge_not_below(5000) is None


def feed(folder: Path, **cells: str) -> Path:
    """A feed cable of one's own, a copy of a row of the catalogues."""
    with FEEDS.open(encoding="utf-8-sig", newline="") as file:
        given = next(csv.DictReader(file))
    row = given | {"part": "tray-cable", "area_mm2": ""} | cells
    folder.mkdir()
    with (folder / "feeds.csv").open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([list(row), list(row.values())])
    return folder


def test_a_feed_of_ones_own_by_its_gauge(tmp_path):
    own = load_catalog([feed(tmp_path / "own", awg="12")]).feeds["tray-cable"]
    assert own.area_mm2 == pytest.approx(3.31, abs=0.005)
    own = load_catalog([feed(tmp_path / "both", awg="12", area_mm2="3.31")]).feeds["tray-cable"]
    assert own.area_mm2 == 3.31
    with pytest.raises(InputError, match=r"feeds\.csv:2 awg: found '14 AWG'.*area_mm2 '2\.5'"):
        load_catalog([feed(tmp_path / "unlike", awg="14", area_mm2="2.5")])
    with pytest.raises(InputError, match="needed a size of the American wire gauge"):
        load_catalog([feed(tmp_path / "odd", awg="4.5")])


def test_order_lengths_in_feet(tmp_path):
    folder = feed(tmp_path / "own", awg="12", order_lengths_m="", order_lengths_ft="250; 500; 1000")
    own = load_catalog([folder]).feeds["tray-cable"]
    assert own.order_lengths_m == pytest.approx((76.2, 152.4, 304.8))
