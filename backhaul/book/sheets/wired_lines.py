"""Lines that carry power: their terms as cells, their limits and verdicts; PoE drops as a table."""

from typing import Any

import numpy as np

from backhaul.book.formula_cells import NOT_KNOWN, term_cell
from backhaul.book.sheets.shared import NO_LIMIT, any_of, given_cell, is_known
from backhaul.book.sheets.wired_loads import load_sum
from backhaul.book.sheets.wired_plan import Wired
from backhaul.book.sheets.wired_runs import loop_cell
from backhaul.budgets.power import Line
from backhaul.checks.power_limits import ALLOWANCE_W, load_min_v, source_limit_w
from backhaul.figures.power_terms import LINE_TERMS
from backhaul.findings import FAIL, PASS, THIN
from backhaul.physics.supply import POE_CLASSES
from backhaul.spreadsheet.cells import Calc, Head, Number, SheetCell, Text, Verdict
from backhaul.spreadsheet.formula import Cell
from backhaul.units import DECIMALS

TERMS = {term.key: term for term in LINE_TERMS}
SOLVED = ("load_v", "current_a", "line_loss_w", "source_w", "nominal_load_v", "drop_percent")
_HEADS = (
    "PoE drop",
    "At source, lowest",
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


def power_verdict(*, solvable, source_w, limit_w):
    """fail where the line cannot carry the load, or draws more than its source gives.

    >>> print(power_verdict(solvable=True, source_w=30.05, limit_w=30.0))
    pass
    """
    over = np.round(source_w - limit_w, DECIMALS) > ALLOWANCE_W
    return np.where(solvable, np.where(over, FAIL, PASS), FAIL)


def carries_verdict(*, solvable):
    """fail where the line cannot carry the load at any current.

    >>> print(carries_verdict(solvable=False))
    fail
    """
    return np.where(solvable, PASS, FAIL)


def voltage_verdict(*, solvable, load_v, least_v):
    """fail where the voltage that arrives is below what the load starts at.

    >>> print(voltage_verdict(solvable=True, load_v=43.1, least_v=42.5))
    pass
    """
    low = np.round(load_v, DECIMALS) < np.round(least_v, DECIMALS)
    return np.where(solvable, np.where(low, FAIL, PASS), FAIL)


def line_known(line: Line) -> bool:
    """Whether load, voltage and resistance of a line are known."""
    return all(is_known(line.values[key]) for key in ("load_w", "source_v", "loop_ohm"))


def is_solved(line: Line) -> bool:
    """Whether the line can carry its load."""
    return line_known(line) and bool(line.values["solvable"])


def line_cell(wired: Wired, line: Line, name: str) -> SheetCell:
    """A term of a line that follows from those above it."""
    values, key = line.values, wired.key(line, name)
    if name in ("loop_ohm", "loop_reactance_ohm"):
        return loop_cell(wired, line, name)
    if name == "load_w":
        return load_sum(wired, line)
    known = {term: is_known(value) for term, value in values.items()}
    if line_known(line) and not is_solved(line):
        known.update(dict.fromkeys(SOLVED[:4], True))
        known.update(dict.fromkeys(SOLVED[4:], known["nominal_v"]))
    value = values[name]
    if name == "solvable":
        if not line_known(line):
            return Text(NOT_KNOWN, "text right", key=key)
        value = bool(value)
    if name in SOLVED and not (line_known(line) and known[name]):
        return Text(NOT_KNOWN, "text right", key=key)
    cell = term_cell(
        TERMS[name],
        value,
        key_of=lambda term: wired.key(line, term),
        variant=values["current"],
        known=known,
    )
    # yes and no in a number format would be saved as 1 and 0 by some programs
    return cell._replace(format="General") if name == "solvable" else cell


def carries_cell(wired: Wired, line: Line) -> tuple[SheetCell, SheetCell]:
    """Whether the line can carry its load, in words, and the yes/no cell behind them."""
    key = wired.key(line, "carries")
    flag = line_cell(wired, line, "solvable")
    if not line_known(line):
        return Text(NOT_KNOWN, "text center", key=key), flag
    word = "yes" if is_solved(line) else "no"
    formula = f'IF({{{wired.key(line, "solvable")}}},"yes","no")'
    return Verdict(word, formula=formula, key=key), flag


def verdict_of(wired: Wired, line: Line, name: str, formula: Any, **values: float) -> Verdict:
    """A live verdict of a line over its terms; the values of one without solution are NaN."""
    key = wired.key(line, name)
    if not line_known(line):
        return Verdict(THIN if name == "power_verdict" else PASS, key=key)
    text = formula(
        solvable=Cell.ref(wired.key(line, "solvable")),
        **{term: Cell.ref(wired.key(line, term)) for term in values},
    ).text
    word = str(formula(solvable=is_solved(line), **values))
    return Verdict(word, formula=text, key=key)


def source_cell(wired: Wired, line: Line, name: str) -> SheetCell:
    """Voltage at a source, lowest (`source_v`) or nominal (`nominal_v`)."""
    key, value = wired.key(line, name), line.values[name]
    if line.values["passes_on"]:  # follows from what arrives, which follows from what is drawn
        return given_cell(key, None, value)
    if line.is_poe:
        return given_cell(
            key, wired.port_given(line.source_port, "volts", "lowest voltage", "V"), value
        )
    column, label = "output_volts", "voltage that it gives"
    if name == "source_v" and getattr(line.source.record, "output_min_volts", None) is not None:
        column, label = "output_min_volts", "lowest voltage that it gives"
    return given_cell(key, wired.part_given(line.source, column, label, "V"), value)


def write_poe(wired: Wired) -> None:
    """The table of PoE drops, one row a line."""
    lines = [line for line in wired.lines if line.is_poe]
    if not lines:
        return
    wired.heading("Power over the copper drops")
    wired.sheet.say(
        "Constant power on a line, stable root; PoE by IEEE 802.3 Clauses 33, 145. Resistance row "
        "by row and loads stand below. A source without a voltage of its own passes on what "
        "arrives: that voltage stays as computed.",
        "muted",
    )
    wired.sheet.row(
        *(
            Head(head, "head right" if 0 < n < 11 and n != 4 else "head center" if n else "head")
            for n, head in enumerate(_HEADS)
        )
    )
    wired.sheet.row(*(Text(unit, "text right") for unit in _UNITS))
    flags = []
    for line in lines:
        carries, flag = carries_cell(wired, line)
        flags.append((flag,))
        load = line.loads[0]
        wired.sheet.row(
            Text(
                f"{_text(wired, line)}: {line.source.label or line.source.part} → "
                f"{load.label or load.part}"
            ),
            source_cell(wired, line, "source_v"),
            line_cell(wired, line, "loop_ohm"),
            line_cell(wired, line, "load_w"),
            carries,
            *(
                line_cell(wired, line, name)
                for name in ("load_v", "current_a", "line_loss_w", "source_w")
            ),
            _limit_cell(wired, line),
            _least_cell(wired, line),
            *poe_verdicts(wired, line),
            "",
        )
    wired.sheet.helper("PoE drops: the line can carry it", ("yes/no",), flags)


def _text(wired: Wired, line: Line) -> str:
    return wired.name(line.link).text


def _limit_cell(wired: Wired, line: Line) -> SheetCell:
    """What a source port gives."""
    key, limit, port = wired.key(line, "limit_w"), source_limit_w(line), line.source_port
    if limit is None:
        return Text(NO_LIMIT, "text right", key=key)
    given = wired.port_given(port, "watts", "power that it gives", "W") or wired.class_given(
        port.poe_class, "source_w", float(limit), "set aside by a source", "W"
    )
    return given_cell(key, given, float(limit))


def _least_cell(wired: Wired, line: Line) -> SheetCell:
    """Lowest voltage that the load starts at."""
    key, least, port = wired.key(line, "least_v"), load_min_v(line), line.load_port
    if least is None:
        return Text(NO_LIMIT, "text right", key=key)
    given = wired.port_given(port, "min_volts", "lowest voltage", "V")
    if given is None and port.poe_class in POE_CLASSES:
        given = wired.class_given(
            port.poe_class, "load_min_v", float(least), "lowest voltage at the load", "V"
        )
    if given is None:
        given = wired.part_given(line.loads[0], "supply_min_volts", "lowest voltage", "V")
    return given_cell(key, given, float(least))


def poe_verdicts(wired: Wired, line: Line) -> tuple[Verdict, Verdict]:
    """Power against the port, voltage against the load."""
    limit, least = source_limit_w(line), load_min_v(line)
    values = line.values
    if limit is None:
        power = verdict_of(wired, line, "power_verdict", carries_verdict)
    else:
        power = verdict_of(
            wired,
            line,
            "power_verdict",
            power_verdict,
            source_w=values["source_w"],
            limit_w=float(limit),
        )
    return power, voltage_cell(wired, line, least)


def voltage_cell(wired: Wired, line: Line, least: float | None) -> Verdict:
    """Voltage that arrives against what the load starts at; passes without a limit."""
    if least is None:
        return Verdict(PASS, key=wired.key(line, "voltage_verdict"))
    return verdict_of(
        wired,
        line,
        "voltage_verdict",
        voltage_verdict,
        load_v=line.values["load_v"],
        least_v=float(least),
    )


def factor_cell(wired: Wired, line: Line) -> SheetCell:
    """Power factor of an alternating-current feed: the lowest of its loads."""
    key, value = wired.key(line, "power_factor"), float(line.values["power_factor"])
    keys = [
        wired.part_given(
            load, "power_factor", "power factor", "", value=load.record.power_factor or 1.0
        )
        for load in line.loads
    ]
    found = [given for given in keys if given]
    if not found:
        return Number(value, key=key, format="0.00")
    return Calc(key, any_of("MIN", found), value, format="0.00")
