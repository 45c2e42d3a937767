"""Light: what is typed into Inputs must give what an evaluation with it gives.

The reference is our own evaluation of the changed design; a second engine does the recalculation.
Designs are invented.
"""

from math import isnan

import pytest
import recalculation
from small_designs import Typed, evaluated, rows

from backhaul.book.plan import Plan
from backhaul.book.sheets import optical_links as light
from backhaul.figures.optical_terms import DIRECTION_TERMS
from backhaul.figures.terms import SUBJECT, Input, Term
from backhaul.spreadsheet.charts import LinesChart

SHEETS = ("optical_links", "inputs")
ATTENUATOR = Term("attenuator_db", "Attenuator to fit", "dB", none="none alone")


def link(
    optic: str = "1000base-lx10",
    fiber: str = "os2-12",
    length: str = "1700",
    measured: str = "",
    joint: str = "lc-upc",
    count: str = "2",
) -> list[dict[str, str]]:
    told = " ".join(
        filter(None, (length and f"length_m={length}", measured and f"measured_db={measured}"))
    )
    return rows(
        "p",
        "device switch-12-sfp site=works label=SW1",
        f"optic {optic} site=works",
        f"connector {joint} count={count}",
        f"fiber {fiber} site=works to_site=crest strand=1/2 label=C1 {told}",
        f"connector {joint}",
        f"optic {optic} site=crest",
        "device switch-12-sfp site=crest label=SW2",
    )


def assert_same(found, evaluation) -> None:
    values = evaluation.optical.values
    for direction in evaluation.optical.of(evaluation.optical.links[0]):
        for term in (*DIRECTION_TERMS, ATTENUATOR):
            value = float(values[term.key][direction.place])
            if isnan(value) or (isinstance(term, Input) and term.of == SUBJECT):
                continue  # no formula: words, or a figure that no cell moves
            key = f"light.0.{'ab'[direction.way]}.{term.key}"
            assert found[key] == pytest.approx(value, rel=1e-9), key
        basis = found[f"light.0.{'ab'[direction.way]}.margin_basis"]
        assert basis == values["margin_basis"][direction.place]
    assert found["light.0.verdict"] == evaluation.link_verdict(evaluation.optical.links[0])


@pytest.mark.parametrize(
    ("typed", "changes"),
    [
        ({"cable.length_m": 9000.0}, {"length": "9000"}),
        ({"given.row.2.count": 6}, {"count": "6"}),
        ({"given.project.optical_margin_db": 5.0}, {"project": {"optical_margin_db": "5"}}),
        ({"given.project.repair_allowance_db": 3.0}, {"project": {"repair_allowance_db": "3"}}),
        ({"given.project.overload_margin_db": 2.0}, {"project": {"overload_margin_db": "2"}}),
    ],
    ids=str,
)
def test_typing_into_givens_is_evaluating_anew(typed, changes, tmp_path):
    changes = dict(changes)
    project = changes.pop("project", None)
    before = dict.fromkeys(project or (), "1")
    book = Typed(evaluated(tmp_path / "a", link(), project=before), *SHEETS)
    changed = evaluated(tmp_path / "b", link(**changes), project=project)
    names = [f"given.{row}.length_m" for row in ("label.C1", "row.3")]
    cable = next(name for name in names if name in book.layout.spots)
    typed = {key.replace("cable.length_m", cable): value for key, value in typed.items()}
    assert_same(book.typed(typed), changed)


def test_launch_and_penalty_of_two_classes_of_fiber(tmp_path):
    """IEEE 802.3 gives 1000BASE-SX another penalty on OM1 than on OM2: each link has its own."""
    segments = []
    for path, fiber in (("p", "om1-12"), ("q", "om2-12")):
        segments += rows(
            path,
            "device switch-12-sfp site=works",
            "optic 1000base-sx site=works",
            f"fiber {fiber} length_m=100 strand=1/2",
            "optic 1000base-sx site=works",
            "device switch-12-sfp site=works",
        )
    evaluation = evaluated(tmp_path / "design", segments)
    penalties = evaluation.optical.values["penalty_db"]
    assert penalties[0] != penalties[2]
    assert not recalculation.compare(Typed(evaluation, *SHEETS).data)


def sheet_of(evaluation):
    return light.build(Plan(evaluation))


def words(sheet) -> dict[str, str]:
    """Text cells by key."""
    return {
        cell.key: cell.text
        for row in sheet.rows
        for cell in row.cells
        if getattr(cell, "key", "") and hasattr(cell, "text")
    }


def test_measured_losses(tmp_path):
    """The level falls by what was measured; the axis ends where the link does."""
    evaluation = evaluated(tmp_path / "design", link(measured="6.4"))
    sheet = sheet_of(evaluation)
    (placed,) = sheet.charts
    assert isinstance(placed.chart, LinesChart)
    assert placed.chart.x.most == pytest.approx(1.7)
    levels = [
        cell.value
        for _, _, cell in sheet.helpers
        if getattr(cell, "key", "").startswith("light.0.chart.a.")
    ]
    values = evaluation.optical.values
    assert levels[0] == values["launch_min_dbm"][0]
    assert levels[-1] == pytest.approx(values["received_min_dbm"][0])
    assert levels[1] - levels[2] == pytest.approx(6.4)
    assert not recalculation.compare(Typed(evaluation, *SHEETS).data)


def test_a_flat_level_is_not_drawn(tmp_path):
    """1.4 dB of 16.5 between overload and sensitivity: a straight line tells nothing."""
    assert not sheet_of(evaluated(tmp_path / "design", link(measured="1.4"))).charts


def test_no_common_wavelength_is_said(tmp_path):
    segments = link()
    segments[5]["part"] = "1000base-bx10-u"
    evaluation = evaluated(tmp_path / "design", segments)
    assert evaluation.optical.values["window_overlap"][0] == 0
    said = words(sheet_of(evaluation))
    assert said["light.0.a.margin_db"] == "no overlap"
    assert said["light.0.a.attenuator_db"] == "not known"
    assert not recalculation.compare(Typed(evaluation, *SHEETS).data)


def test_a_blank_limit_is_no_limit(tmp_path):
    said = words(sheet_of(evaluated(tmp_path / "design", link("s-16.1"))))
    assert said["light.0.a.max_dispersion_ps_nm"] == "no limit"
    assert said["light.0.a.damage_dbm"] == "no limit"


def test_many_links_keep_their_keys_apart(tmp_path):
    segments = []
    for number in range(40):
        segments += [
            row
            | {"path": f"p{number}", "label": row.get("label", "") and f"{row['label']}-{number}"}
            for row in link()
        ]
    evaluation = evaluated(tmp_path / "design", segments)
    book = Typed(evaluation, *SHEETS)
    assert len([key for key in book.layout.spots if key.endswith(".verdict")]) == 40
    sheet = next(sheet for sheet in book.book.sheets if sheet.name == "Optical links")
    assert len(sheet.page_breaks) >= 39
