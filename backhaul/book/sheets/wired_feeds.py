"""Feeds: the terms of each down the page, a few feeds side by side, their verdicts below."""

from typing import NamedTuple

from backhaul.book.formula_cells import worst_cell
from backhaul.book.sheets.shared import NO_LIMIT, any_of, is_known
from backhaul.book.sheets.wired_lines import (
    TERMS,
    carries_cell,
    carries_verdict,
    factor_cell,
    line_cell,
    source_cell,
    verdict_of,
    voltage_cell,
)
from backhaul.book.sheets.wired_loads import Sources
from backhaul.book.sheets.wired_plan import Wired
from backhaul.budgets.power import Line
from backhaul.figures.power_terms import AC, DC
from backhaul.figures.verdicts import thin_above
from backhaul.findings import FAIL, PASS, THIN
from backhaul.spreadsheet.cells import Calc, SheetCell, Text, Verdict
from backhaul.spreadsheet.formula import Cell

_MOST_SIDE_BY_SIDE = 4
_AC_ONLY = ("power_factor", "load_var")
_ROWS = (
    "source_v",
    "nominal_v",
    "loop_ohm",
    "loop_reactance_ohm",
    "power_factor",
    "load_w",
    "load_var",
    "carries",
    "load_v",
    "current_a",
    "line_loss_w",
    "source_w",
    "nominal_load_v",
    "drop_percent",
    "short_circuit_a",
)
_HOW = {
    "source_v": "Inputs: lowest, where it is stated",
    "nominal_v": "Inputs",
    "loop_ohm": "rows below",
    "loop_reactance_ohm": "rows below",
    "power_factor": "lowest of the loads, Inputs",
    "load_w": "loads below",
    "source_w": "load and what the line loses",
    "drop_percent": "nominal voltages",
    "short_circuit_a": "Ohm's law, by the line alone: the breaker must clear it",
}


class Judged(NamedTuple):
    """A row of verdicts: its label, how it is judged, a cell for each feed."""

    label: str
    how: str
    name: str


_VERDICTS = (
    Judged(
        "Kind of supply: verdict",
        "a DC load on a DC feed, an AC load on an AC feed",
        "kind_verdict",
    ),
    Judged("Power: verdict", "the line carries the load at some current", "power_verdict"),
    Judged(
        "Voltage: verdict",
        "lowest voltage at the load against what it starts at",
        "voltage_verdict",
    ),
    Judged(
        "Drop: verdict",
        "thin above the healthy drop, IEC 60364-5-52 Annex G (to be confirmed)",
        "drop_verdict",
    ),
    Judged("Source: verdict", "all feeds of the source; it counts for its first feed", "source"),
    Judged("Everything else (Open points)", "as found", "stated"),
)


def write_feeds(wired: Wired, sources: Sources) -> None:
    """All feeds, a few to a table."""
    feeds = [line for line in wired.lines if not line.is_poe]
    if not feeds:
        return
    wired.heading("Feeds")
    columns = min(_MOST_SIDE_BY_SIDE, len(feeds))
    for first in range(0, len(feeds), columns):
        if first:
            wired.sheet.blank()
            wired.sections.append(wired.sheet.next_row)
        _Feeds(wired, tuple(feeds[first : first + columns]), columns, sources).write()


class _Feeds:
    """Up to four feeds side by side."""

    def __init__(self, wired: Wired, lines: tuple[Line, ...], columns: int, sources: Sources):
        self.wired, self.lines, self.columns, self.sources = wired, lines, columns, sources
        self.parts: list[dict[str, str]] = [{} for _ in lines]

    def write(self) -> None:
        wired = self.wired
        heads = []
        for line in self.lines:
            anchor = wired.key(line, "anchor")
            wired.plan.anchors[line.link.key] = anchor
            loads = ", ".join(load.label or load.part for load in line.loads)
            heads.append(
                Text(
                    f"{wired.name(line.link).text}: {line.source.label or line.source.part} → {loads}",
                    "head right",
                    2,
                    key=anchor,
                )
            )
        self._row("Feed", heads, "Unit", "How", style="head")
        self._row(
            "Current",
            [Text(str(line.values["current"]), "text right") for line in self.lines],
            "",
            "what the source gives",
        )
        flags = []
        for name in _ROWS:
            if name in _AC_ONLY and all(line.values["current"] == DC for line in self.lines):
                continue
            if name == "carries":
                pairs = [carries_cell(wired, line) for line in self.lines]
                flags = [(flag,) for _, flag in pairs]
                self._row(
                    "The line can carry it",
                    [cell for cell, _ in pairs],
                    "",
                    TERMS["solvable"].source,
                )
                continue
            term = TERMS[name]
            self._row(
                term.label,
                [self._cell(line, name) for line in self.lines],
                term.unit,
                _HOW.get(name, term.source),
            )
        wired.sheet.helper("Feeds: the line can carry it", ("yes/no",), flags)
        self._row(
            "Load starts at",
            [self._least(line) for line in self.lines],
            "V",
            "the highest of its loads, Inputs",
        )
        self._row("Healthy drop", [self._healthy(line) for line in self.lines], "%", "Inputs")
        for judged in _VERDICTS:
            cells = [self._judge(judged.name, place) for place in range(len(self.lines))]
            self._row(judged.label, cells, "", judged.how)
        self._link_verdicts()

    def _row(
        self,
        label: str,
        cells: list,
        unit: str,
        how: str,
        style: str = "",
    ) -> None:
        filled = [cell._replace(span=2) for cell in cells]
        empty = [Text("", style, span=2)] * (self.columns - len(filled))
        self.wired.sheet.row(
            Text(label, style),
            *filled,
            *empty,
            Text(unit, style or "text"),
            Text(how, "head" if style == "head" else "text small", 12 - 2 * self.columns),
        )

    def _cell(self, line: Line, name: str) -> SheetCell:
        if name in _AC_ONLY and line.values["current"] != AC:
            return Text("–", "text right")
        if name in ("source_v", "nominal_v"):
            return source_cell(self.wired, line, name)
        if name == "power_factor":
            return factor_cell(self.wired, line)
        return line_cell(self.wired, line, name)

    def _least(self, line: Line) -> SheetCell:
        key, wired = self.wired.key(line, "least_v"), self.wired
        keys = [
            wired.part_given(load, "supply_min_volts", "lowest voltage", "V") for load in line.loads
        ]
        least = _least_v(line)
        if least is None:
            return Text(NO_LIMIT, "text right", key=key)
        return Calc(key, any_of("MAX", [given for given in keys if given]), least, format="0.00")

    def _healthy(self, line: Line) -> SheetCell:
        evaluation = self.wired.evaluation
        given = self.wired.plan.inputs.project(
            evaluation, "feed_drop_percent", "healthy voltage drop of a feed", "%"
        )
        return Calc(
            self.wired.key(line, "healthy_drop_percent"),
            f"{{{given}}}",
            float(evaluation.design.project.feed_drop_percent),
            format="0.00",
        )

    def _judge(self, name: str, place: int) -> SheetCell:
        wired, line = self.wired, self.lines[place]
        if name == "source":
            found = self.sources.verdict_of_feeds(line)
            if found is None:
                return Text("–", "text center")
            self.parts[place][found[0]] = found[1]
            cell = Verdict(found[1], formula=f"{{{found[0]}}}")
            return wired.plan.judged(line.link, "feed-power", cell)
        if name == "kind_verdict":
            cell = Verdict(_kind_verdict(line), key=wired.key(line, name))
        elif name == "power_verdict":
            cell = verdict_of(wired, line, name, carries_verdict)
        elif name == "voltage_verdict":
            cell = voltage_cell(wired, line, _least_v(line))
        elif name == "drop_verdict":
            cell = self._drop(line)
        else:
            cell = Verdict(wired.plan.stated_verdict(line.link), key=wired.key(line, "stated"))
        self.parts[place][cell.key] = cell.value
        check = _CHECK_OF.get(name)
        return wired.plan.judged(line.link, check, cell) if check else cell

    def _drop(self, line: Line) -> Verdict:
        """thin above the healthy drop; without a solution power has failed already."""
        drop, wired = line.values["drop_percent"], self.wired
        key = wired.key(line, "drop_verdict")
        if not all(
            is_known(line.values[name]) for name in ("nominal_v", "source_v", "load_w", "loop_ohm")
        ):
            return Verdict(PASS, key=key)
        limit = float(wired.evaluation.design.project.feed_drop_percent)
        inner = thin_above(
            value=Cell.ref(wired.key(line, "drop_percent")),
            limit=Cell.ref(wired.key(line, "healthy_drop_percent")),
        ).text
        text = f'IF({{{wired.key(line, "solvable")}}},{inner},"{PASS}")'
        word = THIN if is_known(drop) and str(thin_above(value=drop, limit=limit)) == THIN else PASS
        return Verdict(word, formula=text, key=key)

    def _link_verdicts(self) -> None:
        wired, cells = self.wired, []
        for line, parts in zip(self.lines, self.parts, strict=True):
            key = wired.key(line, "verdict")
            cell = worst_cell(key, parts)
            wired.plan.link_verdicts[line.link.key] = (key, cell.value)
            cells.append(cell)
        self._row("Feed", cells, "", "the worst", style="strong")


#: The check whose findings each live verdict of a feed shows.
_CHECK_OF = {
    "kind_verdict": "feed-power",
    "power_verdict": "feed-power",
    "voltage_verdict": "feed-power",
    "drop_verdict": "feed-drop",
}


def _least_v(line: Line) -> float | None:
    """Lowest voltage that all loads of a feed start at."""
    volts = [load.record.supply_min_volts for load in line.loads]
    return max((float(v) for v in volts if v is not None), default=None)


def _kind_verdict(line: Line) -> str:
    output = getattr(line.source.record, "output", None)
    if output not in (AC, DC):
        return FAIL
    kinds = {load.record.supply for load in line.loads}
    return FAIL if any(kind in (AC, DC) and kind != output for kind in kinds) else PASS
