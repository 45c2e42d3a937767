"""Whether the answer of the book still stands: typed figures that cannot be used, that the book does
not follow, and errors of its cells.

A state of a yellow cell: 0 as it was read, 1 typed and followed by every verdict, 2 typed and not
followed, 3 of no use, 4 typed and followed by all that the book says. Keys: `state.{input}`,
`status.{changed|stale|wrong|outdated}` counts, `status.{stale|wrong}_at` the first of them,
`status.alarm` what every title says, `status.found_alarm` of what was found, `errors.{count|at}`.

What holds only as long as nothing is typed is decided here alone: on sheets of budgets (`LIVE`)
until a figure is typed that the book does not follow, on all others, where limits, counts and words
stand as they were found, until one is typed that moves any of them (`outdated`).
"""

from collections.abc import Iterable, Sequence
from math import inf, isinf
from typing import NamedTuple

from backhaul.book.accepted_cells import say_accepted
from backhaul.book.confirm_cells import lay_confirm
from backhaul.book.followed import Span
from backhaul.book.limited_cells import LIMITED, lay_limited
from backhaul.book.plan import NAMES, Plan, StateRange
from backhaul.book.typed_limits import Limits, fixed_neighbours, limits_of, neighbours
from backhaul.findings import FAIL
from backhaul.spreadsheet.cells import Calc, Input, Link, Text, ToFill, Verdict
from backhaul.spreadsheet.formula import text_literal
from backhaul.spreadsheet.grid import Row, Sheet
from backhaul.spreadsheet.layout import CELLS_OF

SAME, FOLLOWED, STALE, WRONG, EVERYWHERE = range(5)
#: Rows of At a glance that hold links to the other sheets.
LINKS_KEY, LINK_ROWS = "glance.sheets", 2
RUN_AGAIN = "run again"
FOUND_ALARM = "status.found_alarm"
#: Sheets of budgets: their figures without a formula hold until one that they rest on is typed.
HELD = ("Optical links", "Radio hops", "Copper and supply")
#: Sheets that leave the house: they say so where the design fails.
OUTSIDE = ("Order list", "Requirements")
DO_NOT_ORDER = "THIS DESIGN FAILS: do not order before it is settled. "
GLANCE, INPUTS = "At a glance", "Inputs"
#: Sheets whose answers all follow, or whose title says what is typed.
LIVE = (*HELD, GLANCE, INPUTS, "Alternatives", "Basis")
_ALARMS = {WRONG: " – A TYPED CELL CANNOT BE USED", STALE: " – RUN BACKHAUL AGAIN"}
LONGEST_ALARM = max(_ALARMS.values(), key=len)
#: Rows that one cell watches for errors; no more blocks than that on a sheet.
_BLOCK_ROWS, _MOST_BLOCKS = 20, 40
#: Cells in which an error may come up.
_LIVE = (Calc, Verdict, Input, ToFill)


class Bounds(NamedTuple):
    """What an input may hold as it stands now, as texts of conditions over its cell."""

    limits: Limits
    below: tuple[str, ...]
    above: tuple[str, ...]

    def conditions(self, key: str) -> list[str]:
        """Texts of the conditions that a usable figure meets, over cells by key."""
        cell, limits = f"{{{key}}}", self.limits
        found = [] if limits.least is None else [f"{cell}>={limits.least!r}"]
        found += [] if limits.most is None else [f"{cell}<={limits.most!r}"]
        found += [f"{cell}=INT({cell})"] if limits.whole else []
        return found + self.order(cell)

    def order(self, cell: str) -> list[str]:
        """Conditions over other cells."""
        return [f"{{{key}}}<={cell}" for key in self.below] + [
            f"{cell}<={{{key}}}" for key in self.above
        ]


def bounds_of(plan: Plan, key: str, *, in_use: bool = False) -> Bounds:
    """The bounds of an input that its own figure keeps now.

    in_use: neighbours are the cells of what is in use, offers counted.
    """
    rows = plan.inputs.rows
    value, limits = rows[key].value, limits_of(key)
    if isinstance(value, str):
        return Bounds(Limits(), (), ())
    fixed = fixed_neighbours(plan.evaluation, key, rows)
    lows = [low for low in (limits.least, fixed.least) if low is not None and low <= value]
    highs = [high for high in (limits.most, fixed.most) if high is not None and high >= value]
    least, most = max(lows, default=None), min(highs, default=None)
    whole = limits.whole and value == int(value)
    name = plan.inputs.in_use if in_use else plan.inputs.key_on_sheet
    below, above = neighbours(key, rows)
    return Bounds(
        Limits(least, most, whole),
        tuple(name(k) for k in below if _at_most(rows[k].value, value)),
        tuple(name(k) for k in above if _at_most(value, rows[k].value)),
    )


def _at_most(low: object, high: object) -> bool:
    return isinstance(low, int | float) and isinstance(high, int | float) and low <= high


def state_formula(
    cell: str,
    conditions: Sequence[str],
    span: Span | None,
    now: float | str,
    *,
    everywhere: bool = False,
) -> str:
    """Formula text of the state of a cell; everywhere: all that hangs on it is live."""
    if isinstance(now, str):
        return f"IF({cell}={text_literal(now)},{SAME},{STALE})"
    moved = f"{EVERYWHERE}" if everywhere else _followed(cell, span)
    changed = f"IF({cell}={float(now)!r},{SAME},{moved})"
    usable = f"IF(AND({','.join(conditions)}),{changed},{WRONG})" if conditions else changed
    return f"IF(ISNUMBER({cell}),{usable},{WRONG})"


def offer_state(plan: Plan, typed: str, inputs: Sequence[str]) -> str:
    """Formula text of the state of an offered figure that stands in for inputs; empty is none."""
    cell, tests, least, most = f"{{{typed}}}", [], -inf, inf
    for name in inputs:
        bounds = bounds_of(plan, name, in_use=True)
        tests += bounds.conditions(typed)
        span = plan.follows.span(name, float(plan.inputs.rows[name].value))
        least = max(least, inf if span is None else span.least)
        most = min(most, -inf if span is None else span.most)
    span = Span(least, most) if least <= most else None
    usable = _followed(cell, span)
    if together := plan.together.get(typed, ()):
        typed_of = f"COUNT({','.join(f'{{{key}}}' for key in together)})"
        usable = f"IF({typed_of}={len(together)},{usable},{WRONG})"
    if tests:
        usable = f"IF(AND({','.join(dict.fromkeys(tests))}),{usable},{WRONG})"
    return f'IF({cell}="",{SAME},IF(ISNUMBER({cell}),{usable},{WRONG}))'


def _followed(cell: str, span: Span | None) -> str:
    if span is None:
        return f"{STALE}"
    tests = [] if isinf(span.least) else [f"{cell}>={span.least!r}"]
    tests += [] if isinf(span.most) else [f"{cell}<={span.most!r}"]
    return f"IF(AND({','.join(tests)}),{FOLLOWED},{STALE})" if tests else f"{FOLLOWED}"


def lay_status(plan: Plan, sheets: Iterable[Sheet]) -> None:
    """Lay states, counts and alarms beside the sheets, once all of them are built."""
    by_name = {sheet.name: sheet for sheet in sheets}
    inputs, glance = by_name.get(INPUTS), by_name.get(GLANCE)
    if inputs is None:
        return
    for sheet in by_name.values():
        say_accepted(plan, sheet)
        if sheet.name in LIMITED:
            lay_limited(plan, sheet, usable=SAME, useless=WRONG)
    _states(plan, inputs)
    _counts(plan, inputs)
    lay_confirm(plan, inputs)
    if glance is not None:
        _errors(glance, [sheet for sheet in by_name.values() if sheet is not glance])
        _links(glance, [name for name in NAMES if name in by_name and name != GLANCE])
        for name in OUTSIDE:
            if name in by_name:
                _warned(by_name[name], glance)
    for sheet in by_name.values():
        _alarm(sheet)
        count = "stale" if sheet.name in HELD else "outdated"
        sheet.held_until, sheet.held_words = f"{{status.{count}}}", RUN_AGAIN


def offer_cell(plan: Plan, key: str, inputs: Sequence[str], shown: str, note: str) -> ToFill:
    """The yellow cell of an offered figure, held to the limits of the column that it stands for."""
    bounds = bounds_of(plan, inputs[0], in_use=True)
    words = f"{note} {bounds.limits.words[:1].upper()}{bounds.limits.words[1:]}."
    limits = bounds.limits
    return ToFill(
        key,
        format=shown,
        least=limits.least,
        most=limits.most,
        whole=limits.whole,
        check=",".join(bounds.order(f"{{{key}}}")),
        note=words,
    )


def lay_offer_states(plan: Plan, sheet: Sheet, offers: Sequence[tuple[str, Sequence[str]]]) -> None:
    """States of offered figures: key of each yellow cell and the inputs that it stands for."""
    rows = []
    for key, inputs in offers:
        label = f"offered: {plan.inputs.rows[inputs[0]].label}"
        state = Calc(f"state.{key}", offer_state(plan, key, inputs), SAME, format="0")
        rows.append((Text(label, "helper head", key=f"state.label.{key}"), state))
    if rows:
        sheet.helper("State of every offer", ("offer", "state"), rows)
        _register(plan, [key for key, _ in offers])


def _register(plan: Plan, keys: Sequence[str]) -> None:
    first, last = keys[0], keys[-1]
    plan.states.append(
        StateRange(f"state.{first}", f"state.{last}", f"state.label.{first}", f"state.label.{last}")
    )


def _states(plan: Plan, sheet: Sheet) -> None:
    follows = plan.follows
    rows = []
    for key, given in plan.inputs.rows.items():
        typed = plan.inputs.key_on_sheet(key)
        span = None if isinstance(given.value, str) else follows.span(key, float(given.value))
        conditions = bounds_of(plan, key).conditions(typed)
        text = state_formula(
            f"{{{typed}}}", conditions, span, given.value, everywhere=follows.reaches_all(key)
        )
        state = Calc(f"state.{key}", text, SAME, format="0")
        label = Text(given.label, "helper head", key=f"state.label.{key}")
        rows.append((label, state))
    if rows:
        sheet.helper(
            "State of every input: 0 as read, 1 followed, 2 run again, 3 of no use, 4 all follows",
            ("input", "state"),
            rows,
        )
        _register(plan, list(plan.inputs.rows))


def _counts(plan: Plan, sheet: Sheet) -> None:
    states = [f"{{{found.first}}}:{{{found.last}}}" for found in plan.states]

    def count(test: str) -> str:
        return "+".join(f"COUNTIF({span},{test})" for span in states) or "0"

    def first(state: int) -> str:
        text = '""'
        for found, span in reversed(list(zip(plan.states, states, strict=True))):
            labels = f"{{{found.first_label}}}:{{{found.last_label}}}"
            place = f"MATCH({state},{span},0)"
            text = f"IF(ISNUMBER({place}),INDEX({labels},{place}),{text})"
        return text

    # offers stand on Alternatives, and limits hold with all of them in use
    inputs = states[-1] if plan.inputs.rows else ""
    moved = (FOLLOWED, STALE, WRONG)
    outdated = "+".join(f"COUNTIF({inputs},{state})" for state in moved) if inputs else "0"
    again = f'IF({{status.outdated}}>0,"{_ALARMS[STALE]}","")'
    alarm = '""'
    for state, name in ((STALE, "stale"), (WRONG, "wrong")):
        alarm = f'IF({{status.{name}}}>0,"{_ALARMS[state]}",{alarm})'
    sheet.helper(
        "Does the answer still stand?",
        ("what", "now"),
        [
            ("figures typed", Calc("status.changed", count('">0"'), 0, format="0")),
            ("of no use", Calc("status.wrong", count(f"{WRONG}"), 0, format="0")),
            ("not followed", Calc("status.stale", count(f"{STALE}"), 0, format="0")),
            ("first of no use", Calc("status.wrong_at", first(WRONG), "")),
            ("first not followed", Calc("status.stale_at", first(STALE), "")),
            ("titles say", Calc("status.alarm", alarm, "")),
            ("typed, what was found is older", Calc("status.outdated", outdated, 0, format="0")),
            (
                "titles of what was found say",
                Calc(FOUND_ALARM, f'IF({{status.alarm}}="",{again},{{status.alarm}})', ""),
            ),
        ],
    )


def _errors(glance: Sheet, sheets: Sequence[Sheet]) -> None:
    """Where cells of the other sheets hold errors, by blocks of rows: a sum over them has it, too."""
    rows = []
    for sheet in sheets:
        last = max([len(sheet.rows), *(row for row, *_ in sheet.helpers)])
        step = max(_BLOCK_ROWS, -(-last // _MOST_BLOCKS))
        live = {row for row, _, cell in sheet.helpers if isinstance(cell, _LIVE)}
        for number, row in enumerate(sheet.rows, 1):
            if number == 1 or any(isinstance(cell, _LIVE) for cell in row.cells):
                live.add(number)
        for first in range(1, last + 1, step):
            end = min(first + step - 1, last)
            if live.isdisjoint(range(first, end + 1)):
                continue  # words alone, or the room of a chart
            key, area = f"errors.{len(rows)}", f"{{{CELLS_OF}{sheet.name}|{first}|{end}}}"
            flag = Calc(key, f"IF(ISERROR(SUM({area})),1,0)", 0, format="0")
            place = f"{sheet.name}, rows {first} to {end}"
            rows.append((Text(place, "text small", key=f"{key}.at"), flag))
    glance.helper("Errors by rows", ("where", "error"), rows)
    last = len(rows) - 1
    flags = f"{{errors.0}}:{{errors.{last}}}"
    first_at = f"INDEX({{errors.0.at}}:{{errors.{last}.at}},MATCH(1,{flags},0))"
    glance.helper(
        "Errors",
        ("what", "now"),
        [
            ("blocks with errors", Calc("errors.count", f"SUM({flags})", 0, format="0")),
            ("first", Calc("errors.at", f'IF({{errors.count}}>0,{first_at},"")', "")),
        ],
    )


def _links(glance: Sheet, names: Sequence[str]) -> None:
    """Links to every sheet, in the rows that are kept for them."""
    width = -(-len(names) // LINK_ROWS)
    for number, row in enumerate(glance.rows):
        first = row.cells[0] if row.cells else None
        key = getattr(first, "key", "")
        if key.startswith(LINKS_KEY):
            place = int(key.rpartition(".")[2]) * width
            links = [Link(name, name, "link small") for name in names[place : place + width]]
            glance.rows[number] = Row(tuple(links))


def _warned(sheet: Sheet, glance: Sheet) -> None:
    """The line under the title says so where the design fails."""
    verdict = next(
        cell.value
        for row in glance.rows
        for cell in row.cells
        if isinstance(cell, Verdict) and cell.key == "glance.verdict"
    )
    # while the book asks for a new run, what was found last holds
    failed = (FAIL, RUN_AGAIN) if verdict == FAIL else (FAIL,)
    tests = ",".join(f'{{glance.verdict}}="{word}"' for word in failed)
    fails = f"OR(ISERROR({{glance.verdict}}),{tests})"
    formula = f'IF({fails},"{DO_NOT_ORDER}","")'
    formula += f"&{text_literal(sheet.subtitle)}"
    value = (DO_NOT_ORDER if verdict == FAIL else "") + sheet.subtitle
    style = "caution" if verdict == FAIL else "muted"
    key = f"warning.{sheet.name}"
    sheet.rows[1] = Row((Calc(key, formula, value, style=style, span=sheet.width),))


def _alarm(sheet: Sheet) -> None:
    """The title of a sheet says so where the book does not stand."""
    if not sheet.title or not sheet.rows:
        return
    cell = Calc(
        f"title.{sheet.name}",
        f"{text_literal(sheet.title)}&{{{'status.alarm' if sheet.name in LIVE else FOUND_ALARM}}}",
        sheet.title,
        style="title",
        span=sheet.width,
    )
    sheet.rows[0] = sheet.rows[0]._replace(cells=(cell,))
