"""Air: what is typed into Inputs must give what an evaluation with that input gives.

The reference is our own evaluation of the changed design; a second engine does the recalculation.
Designs are invented.
"""

import book_formulas
import numpy as np
import pytest
import recalculation
from small_designs import SITES, Typed, changed_catalog, evaluated, rows
from small_hops import RADIO, SHEETS, TERRAIN, WATER, assert_same, hop

from backhaul.book.plan import Plan
from backhaul.book.sheets import page_fit
from backhaul.book.sheets import radio_hops as air
from backhaul.book.sheets.radio_charts import even_labels
from backhaul.book.sheets.radio_direction import held_mbps
from backhaul.figures.radio_judgements import clearance_verdict


def typed_in(book: Typed, values: dict[str, float]):
    """Type values into Inputs; `hop.…` is a figure of the hop's row, under its label or its id."""
    keys = {}
    for key, value in values.items():
        if key.startswith("hop."):
            names = [f"given.{row}.{key.removeprefix('hop.')}" for row in ("label.H1", "row.2")]
            key = next(name for name in names if name in book.layout.spots)
        keys[key] = value
    return book.typed(keys)


@pytest.fixture(scope="module")
def book(tmp_path_factory) -> Typed:
    folder = tmp_path_factory.mktemp("air")
    return Typed(evaluated(folder / "design", hop(), terrain=TERRAIN), *SHEETS)


def test_a_second_engine_computes_what_is_stored(book):
    assert not recalculation.compare(book.data)
    assert not book_formulas.empty_references(book.data)
    assert not book_formulas.unsafe_functions(book.data)


MODE = "eff.radio_modes.radio-5ghz-he-int.40.HE-MCS4-2SS"


@pytest.mark.parametrize(
    ("typed", "columns", "project", "catalog"),
    [
        ({"hop.tx_power_dbm": 3.0}, {"tx_power_dbm": "3"}, {}, None),
        ({"hop.extra_loss_db": 9.5}, {"extra_loss_db": "9.5"}, {}, None),
        ({"given.project.radio_margin_db": 16.0}, {}, {"radio_margin_db": "16"}, None),
        ({"given.project.noise_rise_db": 7.0}, {}, {"noise_rise_db": "7"}, None),
        (
            {"given.project.availability_percent": 99.9995},
            {},
            {"availability_percent": "99.9995"},
            None,
        ),
        (
            {"eff.radios.radio-5ghz-he-int.antenna_dbi": 17.0},
            {},
            {},
            ("radios", {"antenna_dbi": 17.0}),
        ),
        (
            {"given.radios.radio-5ghz-he-int.mac_efficiency": 0.5},
            {},
            {},
            ("radios", {"mac_efficiency": 0.5}),
        ),
        (
            {"given.radios.radio-5ghz-he-int.max_input_dbm": -60.0},
            {},
            {},
            ("radios", {"max_input_dbm": -60.0}),
        ),
    ],
    ids=[
        "power",
        "extra loss",
        "healthy margin",
        "noise rise",
        "target",
        "gain",
        "efficiency",
        "overload",
    ],
)
def test_typing_into_givens_is_evaluating_anew(book, typed, columns, project, catalog, tmp_path):
    catalogs = ()
    if catalog:
        file, figures = catalog
        catalogs = (changed_catalog(tmp_path / "catalog", file, RADIO, **figures),)
    changed = evaluated(
        tmp_path / "design", hop(**columns), project=project, catalogs=catalogs, terrain=TERRAIN
    )
    assert_same(typed_in(book, typed), changed)


def test_sensitivity_of_a_mode(book, tmp_path):
    """All modes 6 dB worse: the mode in use changes."""
    sheets = book.book.sheets
    inputs = next(sheet for sheet in sheets if sheet.name == "Inputs")
    worse = {
        cell.key: cell.value + 6
        for row in inputs.rows
        for cell in row.cells
        if getattr(cell, "key", "").startswith(f"eff.radio_modes.{RADIO}.40.")
        and cell.key.endswith(".sensitivity_dbm")
    }
    assert len(worse) > 5
    catalog = changed_catalog(
        tmp_path / "catalog", "radio_modes", RADIO, shift={"sensitivity_dbm": 6.0}
    )
    changed = evaluated(tmp_path / "design", hop(), catalogs=(catalog,), terrain=TERRAIN)
    found = typed_in(book, worse)
    assert_same(found, changed)
    before = recalculation.stored_values(book.data)
    sheet, address = book.place("air.0.a.mode_at_target")
    assert found["air.0.a.mode_at_target"] != before[sheet][address]


def test_rain_of_the_sites(book, tmp_path):
    wetter = [
        site | ({"rain_rate_mm_h": "60"} if "rain_rate_mm_h" in site else {}) for site in SITES
    ]
    changed = evaluated(tmp_path / "design", hop(), sites=wetter, terrain=TERRAIN)
    found = typed_in(
        book, {"given.site.crest.rain_rate_mm_h": 60.0, "given.site.tower.rain_rate_mm_h": 60.0}
    )
    assert_same(found, changed)


@pytest.mark.parametrize("height_m", [2.0, 3.0, 12.0])
def test_clearance_follows_the_heights(height_m, tmp_path):
    """The tightest point moves with heights only, where one point is the tightest by far."""
    terrain = [
        row | {"ground_m": "109" if row["distance_m"] == "800" else row["ground_m"]}
        for row in TERRAIN
    ]
    book = Typed(evaluated(tmp_path / "a", hop(), terrain=terrain), *SHEETS)
    changed = evaluated(tmp_path / "b", hop(to_height_m=str(height_m)), terrain=terrain)
    found = typed_in(book, {"hop.to_height_m": height_m})
    clear = changed.radio.clearance
    assert clear.median.at_km[0] == pytest.approx(0.8, abs=0.001)
    assert found["air.0.ratio_median"] == pytest.approx(clear.median[0], rel=1e-9)
    assert found["air.0.ratio_worst"] == pytest.approx(clear.worst[0], rel=1e-9)
    assert found["air.0.a.tilt_deg"] == pytest.approx(changed.radio.hop_values["tilt_deg"][0])
    words = [f.severity for f in changed.findings if f.check == "radio-clearance"] or ["pass"]
    assert found["air.0.clearance_verdict"] == words[0]


def test_clearance_follows_the_water(tmp_path):
    """A strip of water between low land is the tightest stretch before and after."""
    terrain = [
        {"label": "H1", "distance_m": str(metres), "ground_m": ground, "surface": surface}
        for metres, ground, surface in (
            (0, "106", "land"),
            (590, "90", "land"),
            (600, "", "fresh"),
            (610, "90", "land"),
            (1183, "106", "land"),
        )
    ]
    book = Typed(evaluated(tmp_path / "a", hop(), project=WATER, terrain=terrain), *SHEETS)
    changed = evaluated(
        tmp_path / "b", hop(), project=WATER | {"water_high_m": "113"}, terrain=terrain
    )
    found = typed_in(book, {"given.project.water_high_m": 113.0})
    want = changed.radio.clearance.median.ratio[0]
    assert found["air.0.ratio_median"] == pytest.approx(want, rel=1e-9)
    assert found["air.0.clearance_verdict"] == "fail"


@pytest.mark.parametrize(
    ("figures", "word"),
    [
        ((1.2, 0.4), "pass"),
        ((0.9, 0.4), "thin"),
        ((1.2, 0.2), "thin"),
        ((0.59, 0.4), "fail"),
        ((1.2, -0.01), "fail"),
        ((0.6, 0.3), "thin"),
        ((1.0, 0.3), "pass"),
    ],
)
def test_clearance_words(figures, word):
    """ITU-R P.530 sec. 2.2.2 as the rules of the project put it."""
    got = clearance_verdict(
        median_f1=figures[0], worst_f1=figures[1], wanted_median_f1=1.0, wanted_worst_f1=0.3
    )
    assert str(got) == word


def test_a_mode_at_both_limits_holds():
    given = {"healthy_margin_db": 10.0, "target_percent": 99.9, "rate_mbps": 50.0}
    assert held_mbps(margin_db=10.0, availability_percent=99.9, **given) == 50.0
    assert held_mbps(margin_db=9.99, availability_percent=99.9, **given) == 0
    assert held_mbps(margin_db=10.0, availability_percent=99.89, **given) == 0


def test_a_licence_is_a_live_limit(tmp_path):
    book = Typed(evaluated(tmp_path / "a", hop(eirp_limit_dbm="40")), *SHEETS)
    found = typed_in(book, {"hop.eirp_limit_dbm": 36.0})
    assert found["air.0.a.eirp_verdict"] == "fail"
    assert found["air.0.verdict"] == "fail"


@pytest.mark.parametrize(
    "columns",
    [
        {"frequency_ghz": "", "channel_mhz": ""},
        {"height_m": "", "to_height_m": ""},
        {"channel_mhz": "3"},
        {"tx_power_dbm": "", "extra_loss_db": ""},
        {"frequency_ghz": "60"},
        {"polarization": "V"},
    ],
    ids=str,
)
@pytest.mark.parametrize("sites", [SITES, [{"site": "crest"}, {"site": "tower"}]], ids=["", "bare"])
def test_what_is_left_open_builds(columns, sites, tmp_path):
    evaluation = evaluated(tmp_path / "design", hop(**columns), sites=sites)
    assert not recalculation.compare(Typed(evaluation, "radio_hops", "inputs").data)
    plan = Plan(evaluation)
    air.build(plan)
    link = evaluation.radio.links[0]
    assert plan.link_verdicts[link.key][1] == evaluation.link_verdict(link)


def test_no_hop_no_sheet(tmp_path):
    segments = rows(
        "p",
        "device switch-12-sfp site=crest",
        "copper cat6a-s-out length_m=10",
        "device switch-12-sfp site=crest",
    )
    assert air.build(Plan(evaluated(tmp_path / "design", segments))) is None


def test_the_sheet_says_what_stays_and_cautions(book):
    sheet = next(sheet for sheet in book.book.sheets if sheet.name == "Radio hops")
    said = " ".join(
        getattr(cell, "text", "")
        for row in sheet.rows
        for cell in row.cells
        if not isinstance(cell, str) and hasattr(cell, "text")
    )
    for words in (air.STAYS, "Work at height", "Radio exposure", "the local rules decide"):
        assert words in said


def test_labels_stand_at_whole_steps():
    labels = even_labels(np.linspace(0, 3.2, 61))
    assert [label for label in labels if label] == ["0", "0.5", "1", "1.5", "2", "2.5", "3"]


def test_no_section_that_fits_a_page_is_torn(book):
    sheet = next(sheet for sheet in book.book.sheets if sheet.name == "Radio hops")
    room, used = page_fit.page_room_pt(sheet), 0.0
    heights = page_fit.row_heights_pt(sheet, sheet.rows)
    for number, height in enumerate(heights):
        used = height if number in sheet.page_breaks else used + height
        assert used <= room, f"row {number + 1} is beyond its page"
