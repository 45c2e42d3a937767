"""What every line feeds, and what every source gives: loads summed from the last one upward."""

from typing import Any

import numpy as np

from backhaul.book.formula_cells import NOT_KNOWN, formula_cell, verdict_cell
from backhaul.book.sheets.shared import NO_LIMIT, any_of, given_cell, is_known
from backhaul.book.sheets.wired_plan import Wired
from backhaul.budgets.power import DEFAULT_EFFICIENCY, Line
from backhaul.checks.power import sources
from backhaul.checks.power_limits import ALLOWANCE_W
from backhaul.figures.arrays import number
from backhaul.findings import FAIL, PASS, THIN
from backhaul.path.equipment import Equipment
from backhaul.physics.supply import POE_CLASSES, supply_load_w
from backhaul.spreadsheet.cells import Calc, Head, Number, SheetCell, Text, Verdict
from backhaul.units import DECIMALS


def source_verdict(*, used_w, limit_w):
    """fail where a source gives more than it can; a tenth of a watt is allowed.

    >>> print(source_verdict(used_w=120.05, limit_w=120.0))
    pass
    """
    return np.where(np.round(used_w - limit_w, DECIMALS) > ALLOWANCE_W, FAIL, PASS)


def poe_source_verdict(*, used_w, class_w, limit_w):
    """fail as computed, thin where only the classes set aside more than there is.

    >>> print(poe_source_verdict(used_w=80.0, class_w=150.0, limit_w=120.0))
    thin
    """
    over = np.round(used_w - limit_w, DECIMALS) > ALLOWANCE_W
    by_class = np.round(class_w - limit_w, DECIMALS) > ALLOWANCE_W
    return np.where(over, FAIL, np.where(by_class, THIN, PASS))


def write_loads(wired: Wired) -> None:
    """Every load of every line: its own need, what it passes on, what it draws."""
    wired.heading("Loads")
    heads = (
        ("Load", 1),
        ("Line", 2),
        ("Own need", 2),
        ("Passed on", 2),
        ("Efficiency", 2),
        ("Load", 2),
        ("How", 3),
    )
    wired.sheet.row(
        *(
            Head(head, "head right" if 1 < n < 6 else "head", span)
            for n, (head, span) in enumerate(heads)
        )
    )
    units = ("W", "W", "", "W")
    wired.sheet.row(
        "", Text("", span=2), *(Text(unit, "text right", 2) for unit in units), Text("", span=3)
    )
    for line in wired.lines:
        for place, load in enumerate(line.loads):
            *cells, how = (
                Text(cell) if isinstance(cell, str) else cell
                for cell in _load(wired, line, place, load)
            )
            wired.sheet.row(
                load.name,
                wired.name(line.link)._replace(span=2),
                *(cell._replace(span=2) for cell in cells),
                how._replace(span=3),
            )


def load_keys(wired: Wired, line: Line) -> list[str]:
    """Keys of the loads of a line."""
    return [wired.key(line, f"load{place}.load_w") for place in range(len(line.loads))]


def _load(wired: Wired, line: Line, place: int, load: Equipment) -> list[SheetCell | str]:
    prefix = wired.key(line, f"load{place}")
    port = line.load_port
    if port is not None and port.watts is not None:
        own, given = float(port.watts), wired.port_given(port, "watts", "power that it needs", "W")
    else:
        own = number(load.record.watts)
        given = wired.part_given(load, "watts", "power that it takes", "W")
    below = wired.evaluation.power.from_source.get(load.key, ())
    cells: list[SheetCell | str] = [given_cell(f"{prefix}.own_w", given, own)]
    if not below:
        load_cell = given_cell(f"{prefix}.load_w", f"{prefix}.own_w", own)
        return [*cells, "", "", load_cell, Text("Inputs", "text small")]
    drawn = [float(each.values["source_w"]) for each in below]
    passed = float(sum(watts for watts in drawn if is_known(watts)))
    efficiency = getattr(load.record, "efficiency", None)
    value = DEFAULT_EFFICIENCY if efficiency is None else float(efficiency)
    values = {"own_w": own, "passed_on_w": passed, "efficiency": value}
    refs = {name: f"{prefix}.{name}" for name in values}
    cells += [
        Calc(refs["passed_on_w"], any_of("SUM", wired.drawn(load)), passed, format="0.00"),
        given_cell(refs["efficiency"], _efficiency_given(wired, load, efficiency), value),
        formula_cell(supply_load_w, f"{prefix}.load_w", refs, values),
    ]
    how = "own need, and what its lines draw over its efficiency"
    return [*cells, Text(how, "text small")]


def _efficiency_given(wired: Wired, load: Equipment, efficiency: float | None) -> str | None:
    if efficiency is not None:
        return wired.part_given(load, "efficiency", "efficiency of what it passes on", "")
    return wired.plan.inputs.add(
        "given.rule.efficiency",
        group="Rules",
        label="efficiency of a device where its part has none",
        value=DEFAULT_EFFICIENCY,
        source="common practice for converters",
    )


class Sources:
    """The table of sources; its verdicts are asked for by the lines, which are written before."""

    def __init__(self, wired: Wired):
        self.wired = wired
        self.rows = sources(wired.evaluation.context)

    def verdict_of_feeds(self, line: Line) -> tuple[str, str] | None:
        """Key and word of the verdict of a feed's source, counted for its first line."""
        for place, source in enumerate(self.rows):
            if not source["is_poe"] and source["lines"][0] is line:
                return self._key(place, "verdict"), self._verdict(place, source).value
        return None

    def write(self) -> None:
        if not self.rows:
            return
        wired = self.wired
        wired.heading("Sources")
        heads = (
            ("Source", 1),
            ("Gives", 1),
            ("Limit", 2),
            ("Drawn", 2),
            ("By class", 2),
            ("Left", 2),
            ("Verdict", 1),
            ("How", 3),
        )
        wired.sheet.row(
            *(
                Head(head, "head right" if 1 < n < 6 else "head", span)
                for n, (head, span) in enumerate(heads)
            )
        )
        wired.sheet.row(
            "", "", *(Text("W", "text right", 2) for _ in range(4)), "", Text("", span=3)
        )
        for place, source in enumerate(self.rows):
            gives, *figures, verdict, how = self._cells(place, source)
            wired.sheet.row(
                source["equipment"].name,
                gives,
                *(cell._replace(span=2) for cell in figures),
                verdict,
                how,
            )

    def _key(self, place: int, name: str) -> str:
        return f"source.{place}.{name}"

    def _cells(self, place: int, source: dict) -> list[SheetCell]:
        wired, limit, is_poe = self.wired, source["limit_w"], source["is_poe"]
        column = "poe_budget_w" if is_poe else "output_w"
        label = "power for all PoE ports together" if is_poe else "power that it gives"
        given = (
            wired.part_given(source["equipment"], column, label, "W") if limit is not None else None
        )
        drawn = [wired.key(line, "source_w") for line in source["lines"]]
        limit_key, used_key = self._key(place, "limit_w"), self._key(place, "used_w")
        cells: list[SheetCell] = [
            Text("PoE" if is_poe else source["equipment"].record.output or "none"),
            given_cell(limit_key, given, limit, missing=NO_LIMIT),
            Calc(used_key, any_of("SUM", drawn), source["used_w"], format="0.00"),
            self._by_class(place, source) if is_poe else Text(""),
        ]
        cells.append(
            Calc(
                self._key(place, "left_w"),
                f"{{{limit_key}}}-{{{used_key}}}",
                limit - source["used_w"],
                format="0.00",
            )
            if limit is not None
            else Text("")
        )
        how = f"{ALLOWANCE_W:g} W allowed for"
        if is_poe:
            how += "; thin where only the classes ask more"
        return [*cells, self._verdict(place, source), Text(how, "text small", 3)]

    def _by_class(self, place: int, source: dict) -> SheetCell:
        """What the source sets aside for its loads by their classes."""
        terms = []
        for line in source["lines"]:
            poe_class = POE_CLASSES.get(line.load_port.poe_class)
            terms.append(
                self.wired.key(line, "source_w")
                if poe_class is None
                else self.wired.class_given(
                    line.load_port.poe_class,
                    "source_w",
                    poe_class.source_w,
                    "set aside by a source",
                    "W",
                )
            )
        return Calc(
            self._key(place, "class_w"), any_of("SUM", terms), source["class_w"], format="0.00"
        )

    def _verdict(self, place: int, source: dict) -> Verdict:
        key, limit = self._key(place, "verdict"), source["limit_w"]
        if limit is None:
            return Verdict(PASS, key=key)
        names = ["used_w", "limit_w", *(["class_w"] if source["is_poe"] else [])]
        values: dict[str, Any] = {name: float(source[name]) for name in names}
        return verdict_cell(
            poe_source_verdict if source["is_poe"] else source_verdict,
            key,
            {name: self._key(place, name) for name in names},
            values,
        )


def load_sum(wired: Wired, line: Line) -> SheetCell:
    """Load of a line: the sum over what it feeds."""
    key, value = wired.key(line, "load_w"), float(line.values["load_w"])
    if not is_known(value):
        return Text(NOT_KNOWN, "text right", key=key)
    if not line.loads:
        return Number(value, key=key, format="0.00")
    return Calc(key, "+".join(f"{{{k}}}" for k in load_keys(wired, line)), value, format="0.00")
