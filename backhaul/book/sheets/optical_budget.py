"""The budget of an optical link line by line, both directions side by side, live."""

from functools import reduce
from operator import add
from typing import Any, NamedTuple

import numpy as np

from backhaul.book.formula_cells import NOT_KNOWN, number_format, term_cell
from backhaul.book.line_of_sight import INPUTS, how_cell, in_words
from backhaul.book.sheets.optical_link import LinkBlock
from backhaul.book.sheets.shared import any_of, is_known
from backhaul.budgets.attenuators import NONE_SETTLES, fitted_attenuator, link_sizes
from backhaul.budgets.readings_light import fiber_mode, loss_limit, parts_of
from backhaul.budgets.site_index import losses_by_row
from backhaul.design.kinds import KINDS
from backhaul.figures.optical_terms import BOTH, CHANNEL, DIRECTION_TERMS, POWER
from backhaul.figures.reading_formulas import END_PAIRS, loss_limit_db
from backhaul.figures.terms import SUBJECT, Input, Term
from backhaul.physics.optics import (
    OVERLAP_NONE,
    PAIR_MAX_DB,
    REFERENCE_PAIR_MAX_DB,
    SPLICE_MAX_DB,
    cable_sections,
)
from backhaul.spreadsheet.cells import Calc, SheetCell, Text
from backhaul.spreadsheet.charts import LinesChart
from backhaul.spreadsheet.formula import Cell
from backhaul.units import M_PER_KM

#: What follows from light that is heard: without a common wavelength there is none.
_FROM_LAUNCH = (
    "launch_min_dbm",
    "launch_max_dbm",
    "received_min_dbm",
    "received_max_dbm",
    "power_margin_db",
    "channel_margin_db",
    "margin_db",
    "overload_margin_db",
    "attenuation_needed_db",
    "statistical_margin_db",
    "channel_limit_db",
)
_NO_OVERLAP = "no overlap"
#: What stands open where the level is not known, though there is a limit.
_BY_LEVEL = ("overload_margin_db", "attenuation_needed_db")
_LABELS = {figure.key: figure.label for figure in DIRECTION_TERMS}


#: Columns of the two halves: what, both directions, unit, how.
_HALVES = ((2, 1, 1, 1, 2), (3, 1, 1, 1, 1))
#: Rows of the chart: what a page leaves beside a link of so many rows; more than one page, more.
_LEAST_CHART, _MOST_CHART, _CHART_OF_MANY = 8, 12, 14
_ITEMS_A_PAGE = 6


class Line(NamedTuple):
    """A figure in both directions, with its unit and where it comes from."""

    label: str
    first: SheetCell
    second: SheetCell
    unit: str = ""
    how: str = ""


def budget_lines(block: LinkBlock) -> tuple[list[Line], list[Line]]:
    """All figures of both directions: what goes in, and what comes out."""
    given, found = [_glass(block), _cable_sections(block)], []
    for figure in DIRECTION_TERMS:
        line = Line(
            figure.label,
            *(_cell(block, figure, way) for way in (0, 1)),
            figure.unit,
            _how(block, figure),
        )
        (given if isinstance(figure, Input) else found).append(line)
        if figure.key == "margin_db":
            found.append(_basis(block))
        if figure.key == "attenuation_needed_db":
            found.append(attenuator_line(block))
    return given, [*found, _accepted(block)]


def _accepted(block: LinkBlock) -> Line:
    """Greatest loss that is accepted when it is measured, with the pairs at both test cords."""
    evaluation = block.plan.evaluation
    losses = losses_by_row(block.optical)
    mode = fiber_mode(evaluation, block.link)
    end_pair = block.plan.inputs.rule(
        f"end_pair_db.{mode}",
        f"first and last pair under test, {mode}-mode",
        "dB",
        REFERENCE_PAIR_MAX_DB[mode],
        "ISO/IEC 14763-3, TIA-568.3-D",
    )
    cells: list[SheetCell] = []
    for way in (0, 1):
        limit = loss_limit(evaluation, losses, block.link, 1 - way)
        key = block.key(way, "accepted_loss_db")
        if not is_known(limit.value):
            cells.append(Text(NOT_KNOWN, "text right", key=key))
            continue
        refs: dict[str, Any] = {"end_pair_db": Cell.ref(end_pair or "")}
        for name, rows in parts_of(block.catalog, block.link).items():
            keys = [
                block.joint_count(row)
                if name in ("pairs", "splices")
                else block.row_key(way, row, "loss_max_db")
                for row in rows
            ]
            known = [each for each in keys if each]
            refs[name] = Cell(any_of("SUM", known)) if known else 0.0
        text = loss_limit_db(**refs).text
        cells.append(Calc(key, text, limit.value, format="0.00"))
    return Line(
        "Loss accepted when measured, at most",
        *cells,
        "dB",
        f"TIA-568.3-D: runs + {END_PAIRS} end pairs + pairs × {PAIR_MAX_DB:g} + splices × "
        f"{SPLICE_MAX_DB:g} + attenuators",
    )


def write_budget(
    block: LinkBlock, given: list[Line], found: list[Line], chart: LinesChart | None
) -> None:
    """What goes in on the left and the chart below it, what comes out on the right."""
    sheet = block.sheet
    block.sections.append(sheet.next_row)
    # these heads may begin a page, so they name the link too
    name = f"{block.link.paths[0]} {block.link.first_step:g} to {block.link.last_step:g}"
    sheet.row(
        *(
            Text(text, style, span)
            for title, spans in zip(("Given", "Found"), _HALVES, strict=True)
            for text, style, span in zip(
                (f"{title}, {name}", block.way(0), block.way(1), "Unit", "How"),
                ("head", "head right", "head right", "head", "head"),
                spans,
                strict=True,
            )
        )
    )
    rows = max(len(found), len(given) + (_chart_rows(block) + 1 if chart else 0))
    top = sheet.next_row + len(given) + 1
    for n in range(rows):
        sheet.row(
            *(
                cell
                for lines, spans in zip((given, found), _HALVES, strict=True)
                for cell in _half_row(lines, n, spans)
            )
        )
    if chart:
        if len(found) <= len(given):
            block.sections.append(top)
        sheet.overlay(chart, top, len(sheet.rows), 1, sum(_HALVES[0]))


def _chart_rows(block: LinkBlock) -> int:
    spare = _ITEMS_A_PAGE - len(block.items)
    if spare < 0:
        return _CHART_OF_MANY
    return min(max(3 + 2 * spare, _LEAST_CHART), _MOST_CHART)


def _half_row(lines: list[Line], number: int, spans: tuple[int, ...]) -> list[SheetCell]:
    if number >= len(lines):
        return [Text("", "plain", sum(spans))]
    label, first, second, unit, how = lines[number]
    cells = (Text(label), first, second, Text(unit), how_cell(how, first))
    return [cell._replace(span=span) for cell, span in zip(cells, spans, strict=True)]


def _how(block: LinkBlock, figure: Input | Term) -> str:
    if isinstance(figure, Input):
        return "catalogue" if figure.of == SUBJECT else INPUTS
    return figure.source.replace("ITU-T ", "") or in_words(figure.formula, _LABELS)


def _glass(block: LinkBlock) -> Line:
    runs = [row for row in block.items if KINDS[row.kind].is_run]
    if any(row.length_m is None for row in runs):
        return Line(
            "Length of fiber",
            Text(NOT_KNOWN, "text right", key=block.glass_km),
            Text(""),
            "km",
            "a run has no length",
        )
    lengths = [block.plan.inputs.row(row, "length_m", "length", "m") for row in runs]
    formula = _glass_km([Cell.ref(key) for key in lengths]).text if lengths else "0"
    total = _glass_km([row.length_m for row in runs]) if runs else 0.0
    return Line(
        "Length of fiber",
        Calc(block.glass_km, formula, total, format="0.000"),
        Text(""),
        "km",
        "all runs of the link",
    )


def _glass_km(lengths_m: list[Any]) -> Any:
    """Length of all glass [km], of figures or of cells."""
    return reduce(add, lengths_m) / M_PER_KM


def _cable_sections(block: LinkBlock) -> Line:
    """Mid-span splices and one more, live over the counts of the splices."""
    splices = [row for row in block.items if KINDS[row.kind].divides_run]
    total = float(block.optical.sections[block.link.index])
    ends = sum(_count(row) for row in splices) + 1 - total
    keys = [block.joint_count(row) for row in splices]
    formula = "1"
    if keys:
        counted = cable_sections(splices=reduce(add, map(Cell.ref, keys)) - ends)
        formula = np.maximum(counted, 1).text
    return Line(
        "Sections of cable",
        Calc(block.cable_sections, formula, total, format="0"),
        Text(""),
        "",
        "splices between reels + 1" + (f"; {ends:g} end a cable" if ends else ""),
    )


def _count(row: Any) -> int:
    return 1 if row.count is None else row.count


def _cell(block: LinkBlock, figure: Input | Term, way: int) -> SheetCell:
    key, value = block.key(way, figure.key), block.value(figure.key, way)
    if not is_known(value):
        return Text(_blank_words(block, figure, way), "text right", key=key)
    if figure.total:
        formula = "+".join(f"{{{k}}}" for k in block.losses.get((way, figure.total), [])) or "0"
        return Calc(key, formula, float(value), format=number_format(figure.digits))
    if figure.key == "max_dispersion_ps_nm":
        formula = any_of("MIN", block.dispersion_limits(way))
        return Calc(key, formula, float(value), format=number_format(figure.digits))
    given = None
    if isinstance(figure, Input):
        given = block.plan.inputs.of(figure, block.directions[way])
    return term_cell(
        figure,
        value,
        key_of=lambda name: block.key(way, name),
        given=given,
        variant=str(block.value("limited_by", way)),
    )


def _blank_words(block: LinkBlock, figure: Input | Term, way: int) -> str:
    """What a line says that has no figure: no common wavelength, no limit, not known."""
    if block.value("window_overlap", way) == OVERLAP_NONE and figure.key in _FROM_LAUNCH:
        return _NO_OVERLAP
    if figure.key in _BY_LEVEL and not is_known(block.value("received_max_dbm", way)):
        return NOT_KNOWN
    if figure.key in _LIMITED and block.value("limited_by", way) in _LIMITED[figure.key]:
        return NOT_KNOWN
    return figure.none


#: Margins that are not known, rather than not judged, by what limits the direction.
_LIMITED = {"power_margin_db": (POWER, BOTH), "channel_margin_db": (CHANNEL, BOTH)}


def _basis(block: LinkBlock) -> Line:
    """Which limit is the tighter, live where both hold."""
    cells = []
    for way in (0, 1):
        word = str(block.value("margin_basis", way))
        key = block.key(way, "margin_basis")
        if block.value("limited_by", way) == BOTH and is_known(block.value("margin_db", way)):
            by_channel, by_power = (
                Cell.ref(block.key(way, name)) for name in ("channel_margin_db", "power_margin_db")
            )
            formula = np.where(by_channel <= by_power, CHANNEL, POWER).text
            cells.append(Calc(key, formula, word, style="calc text"))
        else:
            cells.append(Text(word, "text right", key=key))
    return Line("Margin is by", *cells, how="the tighter of the two")


def attenuator_line(block: LinkBlock) -> Line:
    """The attenuator to fit in each direction, live: one row counts in both."""
    needed = [float(block.value("attenuation_needed_db", way)) for way in (0, 1)]
    margins = [float(block.value("margin_db", way)) for way in (0, 1)]
    modes = block.optical.modes[block.link.index]
    sizes = link_sizes(block.link, modes, needed, block.catalog)
    cells = []
    for way in (0, 1):
        key, value = block.key(way, "attenuator_db"), float(block.value("attenuator_db", way))
        if not is_known(needed[way]):
            none = "none" if is_known(value) else NOT_KNOWN
            cells.append(Text(none, "text right", key=key))
            continue
        live = sizes if all(map(is_known, margins)) else ()
        most, least = (
            Cell(any_of(function, [block.key(w, name) for w in (0, 1) if is_known(known[w])]))
            for function, name, known in (
                ("MAX", "attenuation_needed_db", needed),
                ("MIN", "margin_db", margins),
            )
        )
        formula = fitted_attenuator(
            needed_db=Cell.ref(block.key(way, "attenuation_needed_db")),
            most_needed_db=most,
            least_margin_db=least,
            sizes=live,
        ).text
        shown = value if is_known(value) else NONE_SETTLES
        cells.append(Calc(key, formula, shown, format="0.##"))
    return Line("Attenuator to fit", *cells, "dB", "catalogue, both tolerances and directions")
