"""Lines that carry power: their terms as cells; PoE drops as two tables."""

from typing import Any

from backhaul.book.formula_cells import NO_FIGURE, NOT_KNOWN, number_format, term_cell
from backhaul.book.sheets.shared import NO_LIMIT, any_of, given_cell, is_known
from backhaul.book.sheets.wired_hows import OF_POE, tell
from backhaul.book.sheets.wired_loads import load_sum, over_voltage_keys
from backhaul.book.sheets.wired_plan import FIRST, Wired, line_known, united
from backhaul.book.sheets.wired_runs import capacity_cell, sum_cell
from backhaul.budgets.power_lines import PowerLine
from backhaul.budgets.power_solver import SOLVED
from backhaul.checks.voltages import is_other_kind, protectors_of
from backhaul.figures.power_judgements import POE_JUDGEMENTS, RATING
from backhaul.figures.power_terms import AC, DC, LINE_TERMS, PASSED_ON
from backhaul.figures.terms import Input
from backhaul.findings import FAIL
from backhaul.physics.poe import assigned_class
from backhaul.spreadsheet.cells import Calc, Head, Number, SheetCell, Text, Verdict
from backhaul.spreadsheet.formula import written

TERMS = {term.key: term for term in LINE_TERMS}
_HEADS = (
    "PoE drop",
    "Source, lowest",
    "Loop, warm",
    "Load",
    "Carries it",
    "At load, lowest",
    "Current",
    "Lost in line",
    "Drawn",
    "Source gives",
    "Load starts at",
    "Power",
    "Voltage",
    "",
)
_UNITS = ("", "V", "ohm", "W", "", "V", "A", "W", "W", "W", "V", "", "", "")
_SECOND = (
    ("PoE drop", 1),
    ("Class of the port", 2),
    ("Class of the load", 2),
    ("Granted", 2),
    ("Class: verdict", 2),
    ("At source, highest", 2),
    ("Protectors: verdict", 3),
)


#: Inputs whose blank means that nothing limits.
_UNLIMITED = ("limit_w", "breaker_a", "stated_max_v", "stated_short_a")


def is_solved(line: PowerLine) -> bool:
    """Whether the line can carry its load."""
    return line_known(line) and bool(line.values["solvable"])


def known_figures(line: PowerLine) -> dict[str, bool]:
    """Which figures of a line have a cell with a number, or would have with a solution."""
    known = {term: is_known(value) for term, value in line.values.items()}
    if line_known(line) and not is_solved(line):
        nominal = {"nominal_load_v", "drop_percent"}
        for name in SOLVED:
            known[name] = known["nominal_v"] if name in nominal else True
        known["seen_ohm"] = known["seen_reactance_ohm"] = True
    return known


def line_cell(wired: Wired, line: PowerLine, name: str) -> SheetCell:
    """A figure of a line."""
    term, key, value = TERMS[name], wired.key(line, name), line.values[name]
    if name in ("source_v", "nominal_v") and line.passes_on:
        return _arriving(wired, line, name)
    if name == "highest_v" and line.highest_basis == PASSED_ON and line.passes_on:
        return _arriving(wired, line, name)
    if isinstance(term, Input):
        missing = NO_LIMIT if name in _UNLIMITED else NOT_KNOWN
        return wired.input_cell(key, term, line, value, missing=missing)
    if name == "load_w":
        return load_sum(wired, line)
    if name in ("capacity_a", "rated_a"):
        return capacity_cell(wired, line, name)
    if name in ("seen_ohm", "seen_reactance_ohm") or term.total:
        return sum_cell(wired, line, name)
    if name == "power_factor":
        return factor_cell(wired, line)
    known = known_figures(line)
    if name == "solvable":
        if not line_known(line):
            return Text(NOT_KNOWN, "text right", key=key)
        value = bool(value)
    if name in SOLVED and not (line_known(line) and known[name]):
        return Text(NOT_KNOWN, "text right", key=key)
    cell = term_cell(
        term,
        value,
        key_of=lambda other: wired.key(line, other),
        variant=getattr(line, term.by or "current"),
        known=known,
    )
    # yes and no in a number format would be saved as 1 and 0 by some programs
    return cell._replace(format="General") if name == "solvable" else cell


def _arriving(wired: Wired, line: PowerLine, name: str) -> SheetCell:
    """Voltage of a source that passes on what arrives at it: the lowest of its feeds."""
    above = wired.evaluation.power.to_load.get(line.source.equipment.key, ())
    is_highest = name == "highest_v"
    figure = name if is_highest else "load_v"
    keys = [wired.key(each, figure) for each in above if each.current == DC]
    value = line.values[name]
    if not keys or not is_known(value):
        return given_cell(wired.key(line, name), None, value)
    # a text, where a feed has no solution, is passed over: its own verdict tells
    refs = ",".join(f"{{{key}}}" for key in keys)
    formula = f"IF(COUNT({refs})=0,0,{'MAX' if is_highest else 'MIN'}({refs}))"
    return Calc(wired.key(line, name), formula, float(value), format=number_format(2))


def write_first(wired: Wired) -> None:
    """What coupled lines take at the voltages and shares that were found: that goes upward, so
    that no cell hangs on itself."""
    lines = [line for line in wired.lines if wired.is_coupled(line) and line_known(line)]
    if not lines:
        return
    heads = ("Source, V", *(TERMS[name].label for name in (*FIRST[:4], "current_a", "line_loss_w")))
    rows = []
    for line in lines:
        cells: list[Any] = [""]
        if line.passes_on:
            key = wired.first_key(line, "source_v")
            cells = [Number(float(line.values["source_v"]), key=key, format="0.00")]
        for name in ("seen_ohm", "seen_reactance_ohm"):
            is_seen = wired.shares(line) and (name == "seen_ohm" or line.current == AC)
            cells.append(sum_cell(wired, line, name, first=True) if is_seen else Text(""))
        known = known_figures(line)
        for name in ("solvable", "load_v", "current_a", "line_loss_w", "source_w"):
            value = line.values[name]
            cell = term_cell(
                TERMS[name],
                bool(value) if name == "solvable" else value,
                key_of=lambda other, line=line: _first_of(wired, line, other),
                variant=line.current,
                known=known,
            )
            cells.append(cell._replace(format="General") if name == "solvable" else cell)
        rows.append(cells)
    wired.sheet.helper("What goes upward, at the voltages and shares found", heads, rows)


def _first_of(wired: Wired, line: PowerLine, name: str) -> str:
    if name == "line_loss_w":
        return wired.key(line, "first.line_loss_w")
    return wired.first_key(line, name)


def carries_cell(wired: Wired, line: PowerLine) -> tuple[SheetCell, SheetCell]:
    """Whether the line can carry its load, in words, and the yes/no cell behind them."""
    key = wired.key(line, "carries")
    flag = line_cell(wired, line, "solvable")
    if not line_known(line):
        return Text(NOT_KNOWN, "text center", key=key), flag
    word = "yes" if is_solved(line) else "no"
    formula = f'IF({{{wired.key(line, "solvable")}}},"yes","no")'
    return Verdict(word, formula=formula, key=key), flag


def least_cell(wired: Wired, line: PowerLine) -> SheetCell:
    """Lowest voltage that all loads start at, over their cells below."""
    value = line.values["least_v"]
    if not is_known(value):
        return Text(NO_LIMIT, "text right", key=wired.key(line, "least_v"))
    keys = [
        wired.key(line, f"load{n}.least_v")
        for n, figures in enumerate(line.load_values)
        if is_known(figures["least_v"])
    ]
    return Calc(wired.key(line, "least_v"), any_of("MAX", keys), float(value), format="0.00")


def write_poe(wired: Wired) -> None:
    """The tables of PoE drops, one row a line."""
    lines = [line for line in wired.lines if line.is_poe]
    if not lines:
        return
    wired.heading("Power over the copper drops")
    wired.sheet.say(
        "Constant power on a line; PoE by IEEE 802.3 Clauses 33, 145. A source without a voltage of its own passes on what "
        "arrives.",
        "muted",
    )
    head = wired.sheet.row(
        *(
            Head(
                united(head, unit),
                "head right" if 0 < n < 11 and n != 4 else "head center" if n else "head",
            )
            for n, (head, unit) in enumerate(zip(_HEADS, _UNITS, strict=True))
        )
    )
    flags = []
    for line in lines:
        carries, flag = carries_cell(wired, line)
        flags.append((flag,))
        wired.sheet.row(
            Text(wired.title(line)),
            line_cell(wired, line, "source_v"),
            line_cell(wired, line, "loop_ohm"),
            line_cell(wired, line, "load_w"),
            carries,
            *(
                line_cell(wired, line, name)
                for name in ("load_v", "current_a", "line_loss_w", "source_w", "limit_w")
            ),
            least_cell(wired, line),
            *(wired.verdict(line, judgement, line.values) for judgement in POE_JUDGEMENTS[:2]),
            "",
        )
    tell(wired.sheet, head, OF_POE)
    wired.sheet.helper("PoE drops: the line can carry it", ("yes/no",), flags)
    _write_grants(wired, lines)


def _write_grants(wired: Wired, lines: list[PowerLine]) -> None:
    """Classes, highest voltages, protectors of the drops."""
    wired.heading("Classes and highest voltages of the copper drops")
    wired.sheet.say(
        "A source grants classes 4 to 6 from 50 V and 7 and 8 from 52 V at its port, below that "
        "only class 3; a load works on a lower class where its need lies within it (IEEE 802.3). "
        "The highest voltage of loads is judged under Loads.",
        "muted",
    )
    wired.sheet.row(
        *(
            Head(head, "head" if n == 0 else "head center", span)
            for n, (head, span) in enumerate(_SECOND)
        )
    )
    for line in lines:
        highest = line_cell(wired, line, "highest_v")
        wired.sheet.row(
            wired.name(line.link),
            *(
                _class_cell(wired, line, name)._replace(span=2)
                for name in ("source_class", "load_class")
            ),
            _granted(wired, line)._replace(span=2),
            wired.verdict(line, POE_JUDGEMENTS[2], line.values)._replace(span=2),
            highest._replace(span=2),
            protector_cell(wired, line)._replace(span=3),
        )
    stated = [
        (line_cell(wired, line, name),) for line in lines for name in ("nominal_v", "stated_max_v")
    ]
    wired.sheet.helper("PoE drops: nominal and stated highest voltage", ("V",), stated)


def _class_cell(wired: Wired, line: PowerLine, name: str) -> SheetCell:
    value, key = line.values[name], wired.key(line, name)
    if not is_known(value):
        port = line.source.port if name == "source_class" else line.load.port
        return Text(str(port.poe_class or "none"), "text center", key=key)
    return Number(float(value), key=key, format="0")


def _granted(wired: Wired, line: PowerLine) -> SheetCell:
    """The class that a load is admitted at."""
    key, values = wired.key(line, "granted"), line.values
    names = {"load_class": "load_class", "source_class": "source_class", "source_v": "source_v"}
    if not all(is_known(values[name]) for name in names):
        return Text(NO_FIGURE, "text center", key=key)
    value = float(assigned_class(**{name: values[name] for name in names}))
    text = written(assigned_class, {name: wired.key(line, name) for name in names})
    return Calc(key, text, value, format="0")


def protector_cell(wired: Wired, line: PowerLine) -> Verdict | Text:
    """All protectors of a line: of its kind of current, and for its highest voltage."""
    key = wired.key(line, "rating_verdict")
    rows = list(protectors_of(line))
    if not rows:
        return Text("–", "text center")
    if any(is_other_kind(line, row.part) for row in rows):
        return Verdict(FAIL, key=key)
    known = [row.part for row in rows if row.part.max_volts is not None]
    if not known:
        return Verdict("pass", key=key)
    keys = [
        wired.plan.inputs.part("protectors", part, "max_volts", "highest supply voltage", "V")
        for part in known
    ]
    values = {
        "highest_v": line.values["highest_v"],
        "max_volts": min(float(part.max_volts) for part in known),
    }
    word = RATING.word_of(values)
    if not RATING.is_live(values):
        return Verdict(word, key=key)
    text = written(RATING.word, {"value": wired.key(line, "highest_v"), "limit": "least"})
    return Verdict(word, formula=text.replace("{least}", any_of("MIN", keys)), key=key)


def poe_cells(wired: Wired, line: PowerLine) -> dict[str, dict[str, str]]:
    """Verdict cells of a drop's power by the check that they show: keys and words."""
    power = {
        wired.key(line, f"{judgement.name}_verdict"): judgement.word_of(line.values)
        for judgement in POE_JUDGEMENTS
    }
    found = {"poe-power": power, "over-voltage": over_voltage_keys(wired, line)}
    cell = protector_cell(wired, line)
    if isinstance(cell, Verdict):
        found["protector-rating"] = {cell.key: cell.value}
    return found


def factor_cell(wired: Wired, line: PowerLine) -> SheetCell:
    """Power factor of an alternating-current feed: the lowest of its loads."""
    key, value = wired.key(line, "power_factor"), float(line.values["power_factor"])
    keys = [
        wired.part_input(
            load, "power_factor", "power factor", "", value=load.record.power_factor or 1.0
        )
        for load in line.equipment
    ]
    found = [given for given in keys if given]
    if not found:
        return Number(value, key=key, format="0.00")
    return Calc(key, any_of("MIN", found), value, format="0.00")
