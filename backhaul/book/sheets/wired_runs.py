"""Loop resistance and capacity row by row, live from length, conductor and temperature."""

from backhaul.book.formula_cells import formula_cell, number_format
from backhaul.book.sheets.shared import NO_LIMIT, given_cell, is_known
from backhaul.book.sheets.wired_hows import OF_RUNS, tell
from backhaul.book.sheets.wired_plan import Wired, united
from backhaul.budgets.power_lines import PowerLine
from backhaul.figures.power_terms import FEED_RUN, PAIRS, ROW_TERMS, SERIES
from backhaul.figures.terms import Input, arguments
from backhaul.physics import copper
from backhaul.spreadsheet.cells import Calc, Head, Number, SheetCell, Text
from backhaul.spreadsheet.grid import Content

_TERMS = {term.key: term for term in ROW_TERMS}
_COLUMNS = (
    # figure, head, span, media that have it
    ("length_m", "Length", 1, (PAIRS, FEED_RUN)),
    ("ohm_per_km", "Conductor", 1, (PAIRS, FEED_RUN)),
    ("temperature_c", "Cable", 1, (PAIRS, FEED_RUN)),
    ("pairs", "Pairs", 1, (PAIRS,)),
    ("loop_ohm", "Loop, warm", 1, (PAIRS, FEED_RUN, SERIES)),
    ("reactance_ohm_per_km", "Reactance", 1, (FEED_RUN,)),
    ("loop_reactance_ohm", "Loop reactance", 1, (FEED_RUN,)),
    ("hot_ohm", "Loop, 70 °C", 1, (FEED_RUN, SERIES)),
    ("ampacity_a", "Carries, 30 °C", 1, (FEED_RUN,)),
    ("capacity_a", "Carries", 1, (FEED_RUN,)),
    ("share", "Shared", 1, (FEED_RUN,)),
)


def _unit_of(name: str) -> str:
    """Unit that the head of a column says; that of reactance stands above the table."""
    return _TERMS[name].unit if name in _TERMS and "reactance" not in name else ""


def write_runs(wired: Wired) -> None:
    """The table; one row a segment of every line."""
    if not wired.lines:
        return
    wired.heading("Resistance and capacity, row by row")
    wired.sheet.say(
        f"Loop: 2 × length × conductor × (1 + {copper.COPPER_PER_K:g} × (T − "
        f"{copper.REFERENCE_C:g} °C)), over the pairs that carry power (IEC 60228, IEC 60909). "
        "Carries: BS 7671 Table 4B1, alone. Reactance in ohm/km, of the loop in ohm.",
        "muted",
    )
    head = wired.sheet.row(
        Head("Part"),
        Head("Line", span=2),
        *(Head(united(c[1], _unit_of(c[0])), "head right", c[2]) for c in _COLUMNS),
    )
    aside: list[tuple[Content, ...]] = []
    for line in wired.lines:
        name: SheetCell = wired.name(line.link)
        for place, row in enumerate(line.rows):
            cells = [
                _cell(wired, line, place, figure)._replace(span=span)
                if row.medium in media
                else Text("", span=span)
                for figure, _, span, media in _COLUMNS
            ]
            if _adds_nothing(wired, line, place):
                aside.append((row.row.part, *(cell for cell in cells if getattr(cell, "key", ""))))
                continue
            wired.sheet.row(row.row.part, name._replace(span=2), *cells)
            name = Text("")
    if aside:
        wired.sheet.helper("Rows that add no resistance", ("part", "ohm", "at 70 °C"), aside)
    tell(wired.sheet, head, OF_RUNS)


def _adds_nothing(wired: Wired, line: PowerLine, place: int) -> bool:
    """Whether a row in line has no resistance: it stands beside the page, where it may be typed."""
    number = wired.number[id(line)]
    loop_ohm = wired.evaluation.power.rows["loop_ohm"][number][place]
    return line.rows[place].medium == SERIES and loop_ohm == 0


def row_key(wired: Wired, line: PowerLine, place: int, name: str) -> str:
    """Key of a figure of one row of a line."""
    return wired.key(line, f"row{line.rows[place].row.id}.{name}")


def _cell(wired: Wired, line: PowerLine, place: int, name: str) -> SheetCell:
    row, key = line.rows[place], row_key(wired, line, place, name)
    number = wired.number[id(line)]
    value = wired.evaluation.power.rows[name][number][place]
    if name == "share":
        return _share(wired, line, place, value)
    term = _TERMS[name]
    shown = number_format(term.digits)
    if name == "temperature_c":
        return Calc(key, wired.temperature_formula([row.row]), float(value), format=shown)
    if name == "pairs":
        return Number(float(value), key=key, format=shown)
    if name == "loop_ohm" and row.medium == SERIES:
        given = wired.plan.inputs.of(_TERMS["series_ohm"], row)
        return given_cell(key, given, value, term.digits)
    if name == "hot_ohm" and row.medium == SERIES:
        return given_cell(key, row_key(wired, line, place, "loop_ohm"), value, term.digits)
    if isinstance(term, Input):
        missing = NO_LIMIT if name == "ampacity_a" else ""
        return wired.input_cell(key, term, row, value, missing=missing)
    formula = term.formula_for(row.medium)
    values = {
        other: wired.evaluation.power.rows[other][number][place] for other in arguments(formula)
    }
    if not all(is_known(each) for each in values.values()):
        missing = NO_LIMIT if name == "capacity_a" else "not known"
        return Text(missing, "text right", key=key)
    refs = {other: row_key(wired, line, place, other) for other in values}
    return formula_cell(formula, key, refs, values, digits=term.digits)


def _share(wired: Wired, line: PowerLine, place: int, value: float) -> SheetCell:
    """How many times the line's own current flows in a run: live, over what all first take."""
    users = wired.sharers.get((wired.number[id(line)], place))
    if users is None:
        return Text("")
    key = row_key(wired, line, place, "share")
    if not is_known(value):
        return Text("not known", "text right", key=key)
    refs = [f"{{{wired.first_key(wired.lines[n], 'current_a')}}}" for n in users]
    own = f"{{{wired.first_key(line, 'current_a')}}}"
    # of a line that carries nothing no share can be had: the one that was found stands
    found = f"{{{row_key(wired, line, place, 'first.share')}}}"
    formula = f"IF(ISNUMBER({own}),SUM({','.join(refs)})/{own},{found})"
    return Calc(key, formula, float(value), format="0.000")


def shares_found(wired: Wired) -> None:
    """Shares as they were found, for what goes upward."""
    cells = []
    for line in wired.lines:
        for place in range(len(line.rows)):
            if (wired.number[id(line)], place) in wired.sharers and is_known(
                wired.evaluation.power.rows["share"][wired.number[id(line)]][place]
            ):
                value = wired.evaluation.power.rows["share"][wired.number[id(line)]][place]
                key = row_key(wired, line, place, "first.share")
                cells.append((Number(float(value), key=key, format="0.000"),))
    if cells:
        wired.sheet.helper("Shares of runs, as found", ("times",), cells)


def sum_cell(wired: Wired, line: PowerLine, name: str, *, first: bool = False) -> SheetCell:
    """A sum over the rows of a line; of what it sees, each times its share."""
    key = wired.first_key(line, name) if first else wired.key(line, name)
    value = float(line.values[name])
    column = name.replace("seen_", "loop_")
    if not is_known(value):
        return given_cell(key, None, None)
    terms = []
    for place, row in enumerate(line.rows):
        if column == "loop_reactance_ohm" and row.medium != FEED_RUN:
            continue
        if column == "hot_ohm" and row.medium == PAIRS:
            continue
        text = f"{{{row_key(wired, line, place, column)}}}"
        if name.startswith("seen_") and (wired.number[id(line)], place) in wired.sharers:
            share = "first.share" if first else "share"
            text += f"*{{{row_key(wired, line, place, share)}}}"
        terms.append(text)
    if not terms:
        return Number(value, key=key, format="0.000")
    return Calc(key, "+".join(terms), value, format="0.000")


def capacity_cell(wired: Wired, line: PowerLine, name: str) -> SheetCell:
    """Current that all runs of a line carry; `capacity_a` over their shares."""
    key, value, number = (
        wired.key(line, name),
        line.values[name],
        wired.number[id(line)],
    )
    if not is_known(value):
        return Text(NO_LIMIT, "text right", key=key)
    texts = []
    for place, row in enumerate(line.rows):
        if row.medium != FEED_RUN or not is_known(
            wired.evaluation.power.rows["capacity_a"][number][place]
        ):
            continue
        text = f"{{{row_key(wired, line, place, 'capacity_a')}}}"
        share = wired.evaluation.power.rows["share"][number][place]
        if name == "capacity_a" and (number, place) in wired.sharers:
            if not is_known(share):
                continue
            text += f"/{{{row_key(wired, line, place, 'share')}}}"
        texts.append(text)
    formula = texts[0] if len(texts) == 1 else f"MIN({','.join(texts)})"
    return Calc(key, formula, float(value), format="0.0")
