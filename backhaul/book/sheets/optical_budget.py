"""The budget of an optical link line by line, both directions side by side, live."""

from functools import reduce
from operator import add
from typing import Any, NamedTuple

from backhaul.book.formula_cells import NOT_KNOWN, number_format, term_cell
from backhaul.book.sheets.optical_link import LinkBlock
from backhaul.book.sheets.shared import NO_LIMIT, Known, any_of, is_known
from backhaul.budgets.optical import on_class
from backhaul.design.kinds import KINDS
from backhaul.figures.optical_terms import DIRECTION_TERMS
from backhaul.figures.terms import Term
from backhaul.physics.optics import cable_sections
from backhaul.spreadsheet.cells import Calc, SheetCell, Text
from backhaul.spreadsheet.charts import LinesChart
from backhaul.spreadsheet.formula import Cell
from backhaul.units import M_PER_KM

_EXTRA_TERMS = (
    Term(
        "dispersion_ps_nm",
        "Dispersion",
        "ps/nm",
        total="dispersion_ps_nm",
        digits=1,
        source="ITU-T G.652 (11/2016)",
    ),
    Term("max_dispersion_ps_nm", "Dispersion the optic stands", "ps/nm", digits=1),
)
_LIMITS = ("overload_dbm", "channel_limit_db", "max_dispersion_ps_nm")
#: What follows from a limit: where there is none, so is this.
_FROM_OVERLOAD = {
    "overload_margin_db": NO_LIMIT,
    "attenuation_needed_db": "none",
    "attenuator_size_db": "none",
    "attenuator_helps": "none needed",
}
_FROM_LAUNCH = (
    "launch_min_dbm",
    "launch_max_dbm",
    "received_min_dbm",
    "received_max_dbm",
    "margin_db",
    "overload_margin_db",
    "attenuation_needed_db",
    "statistical_margin_db",
    "channel_limit_db",
)
_ATTENUATOR = ("attenuator_size_db", "attenuator_helps")
_YES_NO = ("attenuator_helps",)
_GIVENS = "Givens"


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
    """All terms of both directions: what goes in, and what comes out."""
    given, found = [_glass(block), _cable_sections(block)], []
    for term in (*DIRECTION_TERMS, *_EXTRA_TERMS):
        line = Line(
            term.label, *(_cell(block, term, way) for way in (0, 1)), term.unit, _how(block, term)
        )
        (given if line.how == _GIVENS else found).append(line)
    return given, found


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
    cells = (Text(label), first, second, Text(unit), Text(how, "text small"))
    return [cell._replace(span=span) for cell, span in zip(cells, spans, strict=True)]


def _how(block: LinkBlock, term: Term) -> str:
    if not term.source:
        return _GIVENS if term.formula is None and not term.total else ""
    forms = {
        part[len("form P") :].lstrip(": "): part[: len("form P")]
        for part in term.source.split("; ")
        if part.startswith("form ")
    }
    mine = {f"form {block.value('budget_form', way)}" for way in (0, 1)}
    named = [f"{form}: {text}" for text, form in forms.items() if form in mine]
    return ("; ".join(named) or term.source).replace("ITU-T ", "")


def _glass(block: LinkBlock) -> Line:
    runs = [row for row in block.items if KINDS[row.kind].is_run]
    if any(row.length_m is None for row in runs):
        return Line(
            "Length of glass",
            Text(NOT_KNOWN, "text right", key=block.glass_km),
            Text(""),
            "km",
            "a run has no length",
        )
    lengths = [block.plan.inputs.row(row, "length_m", "length", "m") for row in runs]
    formula = _glass_km([Cell.ref(key) for key in lengths]).text if lengths else "0"
    total = _glass_km([row.length_m for row in runs]) if runs else 0.0
    return Line(
        "Length of glass",
        Calc(block.glass_km, formula, total, format="0.000"),
        Text(""),
        "km",
        "all runs of the link",
    )


def _glass_km(lengths_m: list[Any]) -> Any:
    """Length of all glass [km], of figures or of cells."""
    return reduce(add, lengths_m) / M_PER_KM


def _cable_sections(block: LinkBlock) -> Line:
    splices = [row for row in block.items if KINDS[row.kind].divides_run]
    counts = [
        block.plan.inputs.row(row, "count", "count", "", value=_count(row)) for row in splices
    ]
    total = cable_sections(splices=sum(_count(row) for row in splices))
    formula = "1"
    if counts:
        formula = cable_sections(splices=reduce(add, map(Cell.ref, counts))).text
    return Line(
        "Sections of cable",
        Calc(block.cable_sections, formula, total, format="0"),
        Text(""),
        "",
        "splices + 1",
    )


def _count(row: Any) -> int:
    return 1 if row.count is None else row.count


def _cell(block: LinkBlock, term: Term, way: int) -> SheetCell:
    key, value = block.key(way, term.key), block.value(term.key, way)
    if term.key in _ATTENUATOR and not is_known(block.value("attenuation_needed_db", way)):
        value = float("nan")
    if not is_known(value) and (words := _blank_words(block, term.key, way)):
        return Text(words, "text right", key=key)
    if term.total:
        return _total(block, term, way, value)
    if term.key == "max_dispersion_ps_nm" and (keys := _dispersion_limits(block)):
        return Calc(key, any_of("MIN", keys), float(value), format=number_format(term.digits))
    cell = term_cell(
        term,
        value,
        key_of=lambda k: block.key(way, k),
        given=_given(block, term.key, way),
        variant=str(block.value("margin_basis", way)),
        known=Known(block.optical.values, block.direction(way)),
    )
    if term.key in _YES_NO and isinstance(cell, Calc):
        word = "yes" if bool(value) else "no"
        return cell._replace(formula=f'IF({cell.formula},"yes","no")', value=word, style="calc")
    return cell


def _blank_words(block: LinkBlock, name: str, way: int) -> str:
    """What a line says that has no figure because there is no limit, or no common wavelength."""
    if block.value("window_overlap", way) == 0 and name in _FROM_LAUNCH:
        return "no overlap"
    if name in _LIMITS:
        return NO_LIMIT
    if name == "dispersion_ps_nm" and not is_known(block.value("max_dispersion_ps_nm", way)):
        return "none"
    received = is_known(block.value("received_max_dbm", way))
    if name in _FROM_OVERLOAD and received and not is_known(block.value("overload_dbm", way)):
        return _FROM_OVERLOAD[name]
    if name in _ATTENUATOR and not is_known(block.value("attenuation_needed_db", way)):
        return NOT_KNOWN
    return ""


def _total(block: LinkBlock, term: Term, way: int, value: Any) -> SheetCell:
    keys = block.losses.get((way, term.total), [])
    key = block.key(way, term.key)
    if not is_known(value):
        return Text(NOT_KNOWN, "text right", key=key)
    digits = "0.00000" if term.key == "variance_db2" else "0.00"
    formula = "+".join(f"{{{k}}}" for k in keys) if keys else "0"
    return Calc(key, formula, float(value), format=digits)


def _given(block: LinkBlock, name: str, way: int) -> str | None:
    inputs, project = block.plan.inputs, block.plan.evaluation.design.project
    sender, receiver = block.optics[way], block.optics[1 - way]
    if name in ("launch_min_dbm", "penalty_db"):
        return _of_class(block, name, way)
    if name == "launch_max_dbm":
        return inputs.part("optics", sender, name, "launch, highest", "dBm")
    if name in ("sensitivity_dbm", "overload_dbm"):
        return inputs.part("optics", receiver, name, name.partition("_")[0], "dBm")
    if name == "channel_limit_db":
        classes = block.optical.classes[block.link.index]
        return inputs.add(
            f"given.reach.{sender.part}.{'.'.join(classes)}",
            group="Parts",
            label=f"{sender.part}: channel limit on {', '.join(classes)}",
            value=float(block.value(name, way)),
            unit="dB",
            source="catalogs/optic_reach.csv",
            where="catalogs/optic_reach.csv",
        )
    if name == "repair_allowance_db":
        if project.repair_allowance_db is not None:
            return inputs.project(block.plan.evaluation, name, "held back for repairs", "dB")
        return inputs.add(
            f"given.rule.repair.{block.link.index}",
            group="Rules",
            label=f"{block.plan.link_title(block.link)}: held back for repairs",
            value=float(block.value(name, way)),
            unit="dB",
            source="1 dB where a single-mode run is longer than 300 m, else 0",
        )
    if name == "healthy_margin_db":
        return _healthy(block, way)
    if name == "wanted_overload_margin_db":
        return inputs.project(
            block.plan.evaluation, "overload_margin_db", "healthy distance to overload", "dB"
        )
    return None


def _of_class(block: LinkBlock, name: str, way: int) -> str | None:
    """Launch of the sender or penalty of the receiver: of the fiber's class, else the optic's."""
    inputs = block.plan.inputs
    classes = block.optical.classes[block.link.index]
    sender, receiver = block.optics[way], block.optics[1 - way]
    launch = name == "launch_min_dbm"
    optic, label, unit = (
        (sender, "launch, lowest", "dBm") if launch else (receiver, "penalty", "dB")
    )
    if not launch and block.value("budget_form", way) != "P":
        return None
    own = on_class(optic, classes, block.catalog)[0 if launch else 1]
    if own is None:
        return inputs.part("optics", optic, name, label, unit)
    return inputs.part(
        "optics",
        optic,
        name,
        f"{label}, on {', '.join(classes)}",
        unit,
        value=float(own),
        key=f"{'.'.join(classes)}.{name}",
    )


def _dispersion_limits(block: LinkBlock) -> list[str]:
    """What the optics of both ends stand; the tighter holds."""
    keys = [
        block.plan.inputs.part(
            "optics", optic, "max_dispersion_ps_nm", "dispersion that it stands", "ps/nm"
        )
        for optic in block.optics
    ]
    return list(dict.fromkeys(key for key in keys if key is not None))


def _healthy(block: LinkBlock, way: int) -> str | None:
    inputs, project = block.plan.inputs, block.plan.evaluation.design.project
    if project.optical_margin_db is not None:
        return inputs.project(
            block.plan.evaluation, "optical_margin_db", "healthy optical margin", "dB"
        )
    form = str(block.value("budget_form", way))
    return inputs.add(
        f"given.rule.healthy.{form}",
        group="Rules",
        label=f"healthy optical margin, budget form {form}",
        value=float(block.value("healthy_margin_db", way)),
        unit="dB",
        source="rules of the project",
    )
