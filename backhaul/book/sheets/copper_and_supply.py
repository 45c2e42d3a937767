"""Copper and supply: reach and rate of every drop, power over drops and feeds, sources; all live.

Keys: `copper.{i}.…` with `i` the place of the link in `evaluation.copper.links`: `.anchor`,
`.length_m`, `.temperature_c`, `.fixed_length_m`, `.reach_m`, `.limit_m`, `.rate_mbps`, `.cords_m`,
`.cords_limit_m`, `.reach_verdict`, `.poe_verdict` (with power), `.stated`, `.verdict`.
`line.{n}.…` with `n` the place of the line in `evaluation.power.lines` (PoE drops first, then
feeds; `wired_plan.line_prefix` gives it for a link): every figure of `power_terms.LINE_TERMS`,
`.carries`, `.{judgement}_verdict`, of feeds `.anchor`, `.stated`, `.verdict`;
`line.{n}.load{m}.…` the figures of `LOAD_TERMS` and `STANDS_TERMS` of each load,
`line.{n}.row{segment id}.…` those of `ROW_TERMS` of each row.
`site.{name}.{mains_w|mains_va|heat_w}` of every site.
`source.{k}.{limit_w|used_w|class_w|left_w|verdict}`, `energy.{k}.…` as in `context.sources`.
A figure that cannot be had is a text cell under the same key; a line that cannot carry its load
shows "none".
"""

import numpy as np

from backhaul.book.formula_cells import NO_FIGURE, NOT_KNOWN, formula_cell, worst_cell
from backhaul.book.plan import Plan
from backhaul.book.sheets.copper_derating import fixed_length_formula
from backhaul.book.sheets.order_pages import fit_sections
from backhaul.book.sheets.shared import any_of, is_known
from backhaul.book.sheets.wired_energy import write_energy
from backhaul.book.sheets.wired_feeds import write_feeds
from backhaul.book.sheets.wired_hows import OF_DROPS, SAID_OF_DROPS, tell
from backhaul.book.sheets.wired_lines import poe_cells, write_first, write_poe
from backhaul.book.sheets.wired_loads import write_loads
from backhaul.book.sheets.wired_plan import Wired, line_prefix, united
from backhaul.book.sheets.wired_runs import shares_found, write_runs
from backhaul.book.sheets.wired_sites import write_sites
from backhaul.book.sheets.wired_sources import Sources
from backhaul.book.us_sheet import sheet_of
from backhaul.budgets.conductors import cable_temperature_c
from backhaul.budgets.power_lines import PowerLine
from backhaul.checks.safety import CAUTIONS, DEFERS, cautions_of
from backhaul.figures.copper_terms import (
    CORDS,
    LENGTH,
    NO_RATE,
    REACH,
    ReachOf,
    rate_in_use,
    reach_in_use,
)
from backhaul.findings import FAIL, PASS, THIN
from backhaul.path.links import COPPER, Link
from backhaul.physics import copper
from backhaul.spreadsheet.cells import Calc, Head, Number, SheetCell, Text, Verdict
from backhaul.spreadsheet.formula import Cell, written
from backhaul.spreadsheet.grid import Sheet

_COLUMNS = (43.5, *(10.55,) * 12, 8)
#: Share of a page up to which a table is not parted.
_KEPT = 0.15
_HEADS = (
    "Copper drop",
    "Length",
    "Cable",
    "Fixed part",
    "Reach, 20 °C",
    "Limit, warm",
    "Rate",
    "Reach",
    "Power",
    "Open points",
    "Drop",
    "Category, ports",
)
_UNITS = ("", "m", "°C", "m", "m", "m", "Mb/s", "", "", "", "", "")
_SPANS = (1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 3)

__all__ = ["build", "line_prefix"]


def build(plan: Plan) -> Sheet | None:
    """The sheet, or None where a design has neither copper nor feeds."""
    links = plan.evaluation.network.links[COPPER]
    if not links and not plan.evaluation.power.lines:
        return None
    name, design = "Copper and supply", plan.evaluation.design
    sheet = sheet_of(
        *(design, name, name, _COLUMNS),
        subtitle="Drops with the power that they carry, feeds, loads, sources. Change yellow cells "
        "on Inputs; this sheet follows. Temperature, corrosion, water and surges are judged only in a new run.",
    )
    on = cautions_of(plan.evaluation.context)
    for name in ("mains", "lightning", "explosive"):
        if on.get(name):
            sheet.row(Text(f"{CAUTIONS[name]} {DEFERS.capitalize()}.", "caution", sheet.width))
    wired = Wired(plan, sheet)
    sources = Sources(wired)
    if links:
        _write_drops(wired, links, sources)
    write_poe(wired)
    write_feeds(wired, sources)
    write_sites(wired)
    if wired.lines:
        write_loads(wired)
    sources.write()
    write_energy(wired)
    write_runs(wired)
    shares_found(wired)
    write_first(wired)
    fit_sections(sheet, keep=_KEPT)
    return sheet


def _write_drops(wired: Wired, links: tuple[Link, ...], sources: Sources) -> None:
    wired.heading("Copper drops")
    wired.sheet.say(SAID_OF_DROPS, "muted")
    head = wired.sheet.row(
        *(
            Head(
                united(head, unit),
                "head right" if 0 < n < 7 else "head center" if 6 < n < 11 else "head",
                span,
            )
            for n, (head, unit, span) in enumerate(zip(_HEADS, _UNITS, _SPANS, strict=True))
        )
    )
    for link in links:
        _Drop(wired, link, sources).write()
    tell(wired.sheet, head, OF_DROPS)
    wired.sheet.helper("Copper drops: rate that the length allows", ("Mb/s",), wired.rates)
    heads = ("cords, m", "cable, m", "derating", "most, m", "limit, m", "verdict")
    wired.sheet.helper("Copper drops: cords", heads, wired.cords)


class _Drop:
    """One copper link: a row."""

    def __init__(self, wired: Wired, link: Link, sources: Sources):
        self.wired, self.link, self.plan = wired, link, wired.plan
        self.budget = wired.evaluation.copper
        self.sources = sources
        self.index = link.index
        self.channel = self.budget.channels[link.index]
        self.runs, self.parts = self.channel.runs, self.channel.parts

    def key(self, name: str) -> str:
        return f"copper.{self.index}.{name}"

    def value(self, name: str) -> float:
        return float(getattr(self.budget, name)[self.index])

    def write(self) -> None:
        anchor = self.key("anchor")
        self.plan.anchors[self.link.key] = anchor
        verdicts = self._verdicts()
        self.wired.sheet.row(
            Text(self._title(), key=anchor),
            self._length(),
            Calc(
                self.key("temperature_c"),
                self.wired.temperature_formula(self.runs),
                self._temperature(),
                format="0.0",
            ),
            self._fixed(),
            *self._reach(),
            *verdicts,
            Text(self._words(), "text small", 3),
        )
        if is_known(self.value("rate_mbps")):
            self.plan.rates[self.link.key] = (self.key("rate_found"), self.key("rate_found"))

    def _title(self) -> str:
        link = self.link
        ends = (
            equipment.label or equipment.part if equipment else row.part
            for equipment, row in ((link.near, link.rows[0]), (link.far, link.rows[-1]))
        )
        return f"{self.wired.steps(link)}: {' → '.join(ends)}"

    def _length(self) -> SheetCell:
        if not is_known(self.value("length_m")):
            return Text(NOT_KNOWN, "text right", key=self.key("length_m"))
        inputs = [self.plan.inputs.row(row, "length_m", "length", "m") for row in self.runs]
        formula = "+".join(f"{{{given}}}" for given in inputs)
        return Calc(self.key("length_m"), formula, self.value("length_m"), format="0.0")

    def _temperature(self) -> float:
        evaluation = self.wired.evaluation
        return max(
            float(cable_temperature_c(row, evaluation.network, evaluation.design))
            for row in self.runs
        )

    def _fixed(self) -> SheetCell:
        screened = bool(self.budget.screened[self.index])
        text = fixed_length_formula(Cell.ref(self.key("temperature_c")), screened=screened)
        return Calc(self.key("fixed_length_m"), text, self.value("fixed_length_m"), format="0.0")

    def _reach(self) -> tuple[SheetCell, SheetCell, SheetCell]:
        """Reach, limit and rate: the fastest common rate whose limit holds the length."""
        keys = [self.key(name) for name in ("reach_m", "limit_m", "rate_mbps")]
        if not self.channel.reaches or not is_known(self.value("length_m")):
            return self._stated(keys)
        given = {
            "length_m": Cell.ref(self.key("length_m")),
            "fixed_length_m": Cell.ref(self.key("fixed_length_m")),
            "reaches": [self._published(rows) for rows in self.channel.reaches],
        }
        rates = [rows[0].rate_mbps for rows in self.channel.reaches]
        reach = reach_in_use(**given)
        rate = np.where(
            Cell.ref(self.key("rate_found")) > NO_RATE, Cell.ref(self.key("rate_found")), NO_FIGURE
        )
        limit = copper.reach_limit_m(
            reach_m=Cell.ref(keys[0]), fixed_length_m=given["fixed_length_m"]
        )
        found = self.value("rate_mbps")
        number = found if is_known(found) else NO_RATE
        self.wired.rates.append(
            (
                Calc(
                    self.key("rate_found"),
                    rate_in_use(**given, rates_mbps=rates).text,
                    number,
                    format="0",
                ),
            )
        )
        return (
            Calc(keys[0], reach.text, self.value("reach_m"), format="0.0"),
            Calc(keys[1], limit.text, self.value("limit_m"), format="0.0"),
            Calc(keys[2], rate.text, found if is_known(found) else NO_FIGURE, format="0"),
        )

    def _stated(self, keys: list[str]) -> tuple[SheetCell, SheetCell, SheetCell]:
        """Reach and limit as computed where no length tells the rate."""
        reach, limit = (
            Number(value, key=key, format="0.0")
            if is_known(value)
            else Text(NO_FIGURE, "text right", key=key)
            for key, value in zip(keys, map(self.value, ("reach_m", "limit_m")), strict=False)
        )
        return reach, limit, Text(NO_FIGURE, "text right", key=keys[2])

    def _published(self, rows: tuple[ReachOf, ...]) -> Cell:
        """The shortest of the published reaches of a channel's cables."""
        inputs = self.plan.inputs
        return Cell(
            any_of(
                "MIN",
                [
                    inputs.part(
                        "copper_reach",
                        of.row,
                        REACH.key,
                        f"reach on {of.row.category}",
                        REACH.unit,
                        key=f"{of.row.category}.{of.rate_mbps:g}.{REACH.key}",
                    )
                    for of in rows
                ],
            )
        )

    def _cords(self) -> Verdict | None:
        """Cords against what the channel bears, where it has any; its figures stand beside."""
        cords, limit = self.value("cords_m"), self.value("cords_limit_m")
        if not self.channel.cords or not is_known(cords) or not is_known(limit):
            return None
        inputs = self.plan.inputs

        def total(rows) -> str:
            keys = [inputs.of(LENGTH, ReachOf(0.0, row)) for row in rows]
            return "+".join(f"{{{key}}}" for key in keys) or "0"

        gauge = self.channel.gauge
        values = {
            "fixed_m": self.value("length_m") - cords,
            "cord_derating": copper.CORD_DERATING[gauge],
            "cords_max_m": copper.CORDS_MAX_M[gauge],
        }
        refs = {name: self.key(name) for name in values}
        self.wired.cords.append(
            (
                Calc(self.key("cords_m"), total(self.channel.cords), cords, format="0.0"),
                Calc(refs["fixed_m"], total(self.channel.fixed), values["fixed_m"], format="0.0"),
                Number(values["cord_derating"], key=refs["cord_derating"]),
                Number(values["cords_max_m"], key=refs["cords_max_m"]),
                formula_cell(copper.cords_limit_m, self.key("cords_limit_m"), refs, values),
            )
        )
        return Verdict(
            str(CORDS.words({"cords_m": cords, "cords_limit_m": limit})),
            formula=written(CORDS.word, {name: self.key(name) for name in CORDS.of}),
            key=self.key("cords_verdict"),
        )

    def _line(self) -> PowerLine | None:
        return self.wired.evaluation.power.by_link.get(self.link.key)

    def _verdicts(self) -> list[SheetCell]:
        reach, line = self._reach_verdict(), self._line()
        parts = {reach.key: reach.value}
        cells: list[SheetCell] = [self.plan.judged(self.link, "copper-reach", reach)]
        power = self._power(line) if line is not None else None
        if power is not None:
            parts[power.key] = power.value
        cells.append(power or Text("–", "text center"))
        stated = Verdict(self.plan.stated_verdict(self.link), key=self.key("stated"))
        parts[stated.key] = stated.value
        cell = worst_cell(self.key("verdict"), parts, answered=self.plan.answered)
        self.plan.link_verdicts[self.link.key] = (self.key("verdict"), cell.value)
        return [*cells, stated, cell]

    def _reach_verdict(self) -> Verdict:
        key = self.key("reach_verdict")
        if not is_known(self.value("length_m")):
            return Verdict(THIN, key=key)
        if not is_known(self.value("common_mbps")):
            return Verdict(PASS, key=key)
        if not self.channel.reaches:
            return Verdict(FAIL, key=key)
        cords = self._cords()
        good = f"ISNUMBER({{{self.key('rate_mbps')}}})"
        word = PASS if is_known(self.value("rate_mbps")) else FAIL
        if cords is not None:
            self.wired.cords[-1] += (cords,)
            good = f'AND({good},{{{cords.key}}}<>"{FAIL}")'
            word = FAIL if cords.value == FAIL else word
        return Verdict(word, formula=f'IF({good},"{PASS}","{FAIL}")', key=key)

    def _power(self, line: PowerLine) -> Verdict:
        """The worst of all that is judged of the power of a drop, and of its source."""
        wired, found = self.wired, poe_cells(self.wired, line)
        key, word = self.sources.verdict_of(line)
        found["poe-budget"] = {key: word}
        for check, cells in found.items():
            wired.judged(line, check, worst_cell("", cells))
            lapses = self.plan.lapse(self.link, check)
            if lapses is not None:
                self.plan.answered.update(dict.fromkeys(cells, lapses))
        every = {key: word for cells in found.values() for key, word in cells.items()}
        return worst_cell(self.key("poe_verdict"), every, answered=self.plan.answered)

    def _words(self) -> str:
        categories = ", ".join(dict.fromkeys(part.category for part in self.parts))
        screened = "screened" if self.budget.screened[self.index] else "unscreened"
        ports = [
            f"{port.port}" if port is not None else NOT_KNOWN
            for port in (self.link.near_port, self.link.far_port)
        ]
        words = [f"{categories} {screened}", f"ports {' and '.join(ports)}"]
        return "; ".join(filter(None, (self.plan.stated_checks(self.link), *words)))
