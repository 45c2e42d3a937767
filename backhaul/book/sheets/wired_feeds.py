"""Feeds: the terms of each down the page, a few feeds side by side, their verdicts below."""

from collections.abc import Callable
from typing import NamedTuple

from backhaul.book.formula_cells import worst_cell
from backhaul.book.line_of_sight import INPUTS, how_cell
from backhaul.book.sheets.shared import is_known
from backhaul.book.sheets.wired_hows import how_of
from backhaul.book.sheets.wired_lines import (
    TERMS,
    carries_cell,
    least_cell,
    line_cell,
    protector_cell,
)
from backhaul.book.sheets.wired_loads import over_voltage_keys
from backhaul.book.sheets.wired_plan import Wired
from backhaul.book.sheets.wired_sources import Sources
from backhaul.budgets.power_lines import PowerLine
from backhaul.figures.power_judgements import FEED_JUDGEMENTS
from backhaul.figures.power_terms import AC, DC
from backhaul.figures.verdicts import at_most
from backhaul.findings import BREAKER_UNIT, FAIL, PASS
from backhaul.spreadsheet.cells import Calc, Number, SheetCell, Text, Verdict
from backhaul.units import DECIMALS

_MOST_SIDE_BY_SIDE = 4
_AC_ONLY = ("power_factor", "load_var", "loop_reactance_ohm", "seen_reactance_ohm")
_SHARED_ONLY = ("seen_ohm", "seen_reactance_ohm")
_ROWS = (
    "source_v",
    "nominal_v",
    "stated_max_v",
    "highest_v",
    "loop_ohm",
    "loop_reactance_ohm",
    "seen_ohm",
    "seen_reactance_ohm",
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
    "least_v",
    "healthy_drop_percent",
    "capacity_a",
    "rated_a",
    "hot_ohm",
    "short_circuit_a",
    "breaker_a",
)
#: What a source gives into a short: steps on the way, beside the page.
_ASIDE = (
    "output_w",
    "stated_short_a",
    "source_most_a",
    "lasting_a",
    "unfused_a",
    "relied_on_a",
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


class _Row(NamedTuple):
    """A row of verdicts: its label, how it is judged, the checks that it shows, its cells."""

    label: str
    how: str
    checks: tuple[str, ...]
    cell: Callable[[PowerLine], SheetCell]
    unit: str | None = None


class _Feeds:
    """Up to four feeds side by side."""

    def __init__(self, wired: Wired, lines: tuple[PowerLine, ...], columns: int, sources: Sources):
        self.wired, self.lines, self.columns, self.sources = wired, lines, columns, sources
        self.parts: list[dict[str, str]] = [{} for _ in lines]

    def write(self) -> None:
        wired = self.wired
        heads = []
        for line in self.lines:
            anchor = wired.key(line, "anchor")
            wired.plan.anchors[line.link.key] = anchor
            heads.append(Text(wired.title(line), "head right", 2, key=anchor))
        self._row("Feed", heads, "Unit", "How", style="head")
        self._row(
            "Current",
            [Text(line.current, "text right") for line in self.lines],
            "",
            "what the source gives",
        )
        for name in _ROWS:
            self._figure(name)
        wired.sheet.helper(
            "Feeds: what the source gives into a short",
            ("figure", *(wired.title(line) for line in self.lines), "unit"),
            [
                (
                    TERMS[name].label,
                    *(self._cell(line, name) for line in self.lines),
                    TERMS[name].unit,
                )
                for name in _ASIDE
            ],
        )
        for judged in self._judged():
            self._verdicts(judged)
        stated = [
            Verdict(wired.plan.stated_verdict(line.link), key=wired.key(line, "stated"))
            for line in self.lines
        ]
        for parts, cell in zip(self.parts, stated, strict=True):
            parts[cell.key] = cell.value
        checks = (wired.plan.stated_checks(line.link) for line in self.lines)
        named = "; ".join(dict.fromkeys(filter(None, checks)))
        self._row("Everything else (Open points)", stated, "", named or "of the last run")
        self._link_verdicts()

    def _figure(self, name: str) -> None:
        wired = self.wired
        dc_only = all(line.current == DC for line in self.lines)
        if name in _AC_ONLY and name != "loop_reactance_ohm" and dc_only:
            return
        if name in _SHARED_ONLY and not any(self._has(line, name) for line in self.lines):
            return
        if name == "carries":
            pairs = [carries_cell(wired, line) for line in self.lines]
            wired.sheet.helper(
                "Feeds: the line can carry it", ("yes/no",), [(flag,) for _, flag in pairs]
            )
            cells = [cell for cell, _ in pairs]
            self._row("The line can carry it", cells, "", TERMS["solvable"].source)
            return
        if name == "healthy_drop_percent":
            self._row("Healthy drop", [self._healthy(line) for line in self.lines], "%", INPUTS)
            return
        term = TERMS[name]
        cells = [self._cell(line, name) for line in self.lines]
        self._row(term.label, cells, term.unit, how_of(term))

    def _has(self, line: PowerLine, name: str) -> bool:
        return self.wired.shares(line) and (name == "seen_ohm" or line.current == AC)

    def _cell(self, line: PowerLine, name: str) -> SheetCell:
        if name in _AC_ONLY and line.current != AC:
            if name == "loop_reactance_ohm":
                return Number(0.0, key=self.wired.key(line, name), format="0.000")
            return Text("–", "text right")
        if name in _SHARED_ONLY and not self._has(line, name):
            return Text("–", "text right")
        if name == "least_v":
            return least_cell(self.wired, line)
        return line_cell(self.wired, line, name)

    def _healthy(self, line: PowerLine) -> SheetCell:
        given = self.wired.project(
            "feed_drop_percent", "largest healthy voltage drop of a feed", "%"
        )
        key = self.wired.key(line, "healthy_drop_percent")
        value = float(line.values["healthy_drop_percent"])
        return Calc(key, f"{{{given}}}", value, format="0.00")

    def _judged(self) -> list[_Row]:
        wired = self.wired
        return [
            _Row(
                "Kind of supply: verdict",
                "a DC load on a DC feed, an AC load on an AC feed",
                ("supply-type", "feed-power"),
                lambda line: Verdict(_kind_word(line), key=wired.key(line, "kind_verdict")),
            ),
            *(
                _Row(
                    f"{judgement.label}: verdict",
                    judgement.how,
                    (judgement.check,),
                    lambda line, judgement=judgement: wired.verdict(line, judgement, line.values),
                    judgement.unit,
                )
                for judgement in FEED_JUDGEMENTS
            ),
            _Row(
                "Breaker and all that its source gives: verdict",
                "currents of all feeds of the source, IEC 60364-4-43",
                ("feed-current",),
                self._breaker,
                BREAKER_UNIT,
            ),
            _Row(
                "Highest voltage: verdict",
                "the highest voltage of each load, below",
                ("over-voltage",),
                lambda line: worst_cell(
                    wired.key(line, "over_voltage_verdict"), over_voltage_keys(wired, line)
                ),
            ),
            _Row(
                "Protectors: verdict",
                "of its kind of current, for its highest voltage, IEC 61643",
                ("protector-rating",),
                lambda line: protector_cell(wired, line),
            ),
            _Row(
                "Source: verdict",
                "all feeds of the source, below",
                ("feed-power", "supply-reserve"),
                self._source,
            ),
        ]

    def _breaker(self, line: PowerLine) -> SheetCell:
        """The breaker of the source against what all its feeds draw together."""
        key, rating = self.wired.key(line, "drawn_verdict"), line.values["breaker_a"]
        if not is_known(rating):
            return Verdict(PASS, key=key)
        feeds = [
            each
            for each in self.wired.evaluation.power.from_source[line.source.equipment.key]
            if not each.is_poe
        ]
        drawn = sum(each.values["current_a"] for each in feeds)
        refs = ",".join(f"{{{self.wired.key(each, 'current_a')}}}" for each in feeds)
        over = f"ROUND(SUM({refs}),{DECIMALS})>ROUND({{{self.wired.key(line, 'breaker_a')}}},{DECIMALS})"
        # without a solution the line itself fails
        formula = f'IF(COUNT({refs})={len(feeds)},IF({over},"{FAIL}","{PASS}"),"{PASS}")'
        word = str(at_most(value=drawn, limit=rating)) if is_known(drawn) else PASS
        return Verdict(word, formula=formula, key=key)

    def _source(self, line: PowerLine) -> SheetCell:
        key, word = self.sources.verdict_of(line)
        return Verdict(word, formula=f"{{{key}}}", key=self.wired.key(line, "source_verdict"))

    def _verdicts(self, row: _Row) -> None:
        cells = []
        for line, parts in zip(self.lines, self.parts, strict=True):
            cell = row.cell(line)
            judged = [self.wired.judged(line, check, cell, row.unit) for check in row.checks]
            cell = next((other for other in judged if other is not cell), cell)
            if isinstance(cell, Verdict):
                parts[cell.key] = cell.value
            cells.append(cell)
        if any(isinstance(cell, Verdict) for cell in cells):
            self._row(row.label, cells, "", row.how)

    def _row(self, label: str, cells: list, unit: str, how: str, style: str = "") -> None:
        beside = 12 - 2 * self.columns
        filled = [cell._replace(span=2) for cell in cells]
        empty = [Text("", style, span=2)] * (self.columns - len(filled))
        self.wired.sheet.row(
            Text(label, style),
            *filled,
            *empty,
            Text(unit, style or "text"),
            Text(how, "head", beside) if style == "head" else how_cell(how, cells[0], beside),
        )

    def _link_verdicts(self) -> None:
        wired, cells = self.wired, []
        for line, parts in zip(self.lines, self.parts, strict=True):
            key = wired.key(line, "verdict")
            cell = worst_cell(key, parts, answered=wired.plan.answered)
            wired.plan.link_verdicts[line.link.key] = (key, cell.value)
            cells.append(cell)
        self._row("Feed", cells, "", "the worst", style="strong")


def _kind_word(line: PowerLine) -> str:
    output = getattr(line.source.record, "output", None)
    if output not in (AC, DC):
        return FAIL
    return PASS if all(load.record.supply == output for load in line.loads) else FAIL
