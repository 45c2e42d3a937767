"""Copper and supply: reach and rate of every drop, power over drops and feeds, sources; all live.

Keys: `copper.{i}.…` with `i` the place of the link in `evaluation.copper.links`: `.anchor`,
`.length_m`, `.temperature_c`, `.fixed_length_m`, `.reach_m`, `.limit_m`, `.rate_mbps`,
`.reach_verdict`, `.poe_verdict` (where it carries power), `.stated`, `.verdict`.
`line.{n}.…` with `n` the place of the line in `evaluation.power.lines` (PoE drops first, then
feeds; `wired_plan.line_prefix` gives it for a link): every term of `budgets.power_terms.LINE_TERMS`
(`source_v`, `loop_ohm`, `load_w`, `load_v`, `source_w`, …; of PoE drops those that are judged),
`.limit_w`, `.least_v`, `.carries`, `.{power|voltage|drop|kind}_verdict`, of feeds `.anchor`,
`.stated`, `.verdict`; `line.{n}.load{m}.{own_w|passed_on_w|efficiency|load_w}` for each load,
`line.{n}.row{segment id}.{length_m|ohm_per_km|temperature_c|pairs|loop_ohm|…}` for each row.
`source.{k}.{limit_w|used_w|class_w|left_w|verdict}` in the order of `checks.power.sources`.
A figure that cannot be had is a text cell under the same key; a line that cannot carry its load
shows "none".
"""

from functools import cache
from typing import Any

import numpy as np

from backhaul.book.formula_cells import NO_FIGURE, NOT_KNOWN, worst_cell
from backhaul.book.plan import Plan
from backhaul.book.sheets.page_fit import Block, fit_pages
from backhaul.book.sheets.shared import any_of, is_known
from backhaul.book.sheets.wired_feeds import write_feeds
from backhaul.book.sheets.wired_lines import poe_verdicts, write_poe
from backhaul.book.sheets.wired_loads import Sources, write_loads
from backhaul.book.sheets.wired_plan import Wired, line_prefix
from backhaul.book.sheets.wired_runs import write_runs
from backhaul.budgets.conductors import cable_temperature_c
from backhaul.budgets.copper import reach_table
from backhaul.budgets.power import Line
from backhaul.checks.safety import CAUTIONS, DEFERS, cautions_of
from backhaul.design.kinds import KINDS
from backhaul.findings import FAIL, PASS, THIN
from backhaul.path.links import COPPER, Link
from backhaul.physics import copper
from backhaul.spreadsheet.cells import Calc, Head, SheetCell, Text, Verdict
from backhaul.spreadsheet.formula import Cell
from backhaul.spreadsheet.grid import Sheet
from backhaul.units import DECIMALS

_COLUMNS = (46, *(8.6,) * 12, 11)
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
    sheet = Sheet(
        "Copper and supply",
        "Copper and supply",
        _COLUMNS,
        subtitle="Twisted-pair drops with the power that they carry, feeds, loads and sources. "
        "Change yellow cells on Inputs; this sheet follows.",
    )
    on = cautions_of(plan.evaluation.context)
    for name in ("mains", "lightning", "explosive"):
        if on.get(name):
            sheet.row(Text(f"{CAUTIONS[name]} {DEFERS.capitalize()}.", "caution", sheet.width))
    wired = Wired(plan, sheet)
    sources = Sources(wired)
    first = sheet.next_row + 1
    if links:
        _write_drops(wired, links)
    write_poe(wired)
    write_feeds(wired, sources)
    if wired.lines:
        write_loads(wired)
    sources.write()
    write_runs(wired)
    fit_pages(sheet, [Block(first, wired.sections, sheet.next_row - 1)])
    return sheet


def _write_drops(wired: Wired, links: tuple[Link, ...]) -> None:
    wired.heading("Copper drops")
    for role, texts in (("head", _HEADS), ("text", _UNITS)):
        cells = []
        for n, (text, span) in enumerate(zip(texts, _SPANS, strict=True)):
            style = f"{role} right" if 0 < n < 7 else f"{role} center" if 6 < n < 11 else role
            cells.append((Head if role == "head" else Text)(text, style, span))
        wired.sheet.row(*cells)
    for link in links:
        _Drop(wired, link).write()


class _Drop:
    """One copper link: a row."""

    def __init__(self, wired: Wired, link: Link):
        self.wired, self.link, self.plan = wired, link, wired.plan
        self.budget = wired.evaluation.copper
        self.index = link.index
        self.runs = [row for row in link.rows if KINDS[row.kind].is_run]
        self.parts = [wired.catalog.coppers[row.part] for row in self.runs]

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
            self.plan.rates[self.link.key] = (self.key("rate_mbps"), self.key("rate_mbps"))

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
        candidates = self._candidates()
        if not candidates or not is_known(self.value("length_m")):
            return tuple(Text(NO_FIGURE, "text right", key=key) for key in keys)
        fixed = Cell.ref(self.key("fixed_length_m"))
        length = np.round(Cell.ref(self.key("length_m")), DECIMALS)
        reach: Any = Cell(any_of("MAX", [k for _, given in candidates for k in given]))
        rate: Any = NO_FIGURE
        if len(candidates) > 1:
            reach = Cell("MAX(" + ",".join(_least(given).text for _, given in candidates) + ")")
        else:
            reach = _least(candidates[0][1])
        for mbps, given in reversed(candidates):
            published = _least(given)
            limit = copper.reach_limit_m(reach_m=published, fixed_length_m=fixed)
            fits = length <= np.round(limit, DECIMALS)
            reach, rate = np.where(fits, published, reach), np.where(fits, mbps, rate)
        limit = copper.reach_limit_m(reach_m=Cell.ref(keys[0]), fixed_length_m=fixed)
        found = self.value("rate_mbps")
        return (
            Calc(keys[0], reach.text, self.value("reach_m"), format="0.0"),
            Calc(keys[1], limit.text, self.value("limit_m"), format="0.0"),
            Calc(keys[2], rate.text, found if is_known(found) else NO_FIGURE, format="0"),
        )

    def _candidates(self) -> list[tuple[float, list[str]]]:
        """Common rates with a published reach on every category, fastest first."""
        records = {
            (row.category, row.rate_mbps): row
            for rows in self.wired.catalog.copper_reach.values()
            for row in rows
        }
        categories = list(dict.fromkeys(part.category for part in self.parts))
        found = []
        for rate in self._common_rates(categories):
            rows = [records.get((category, rate)) for category in categories]
            if all(row is not None and row.reach_m for row in rows):
                found.append(
                    (
                        rate,
                        [
                            self.plan.inputs.part(
                                "copper_reach",
                                row,
                                "reach_m",
                                f"reach on {row.category}",
                                "m",
                                key=f"{row.category}.{rate:g}.reach_m",
                            )
                            for row in rows
                        ],
                    )
                )
        return found

    def _common_rates(self, categories: list[str]) -> list[float]:
        ports = [port for port in (self.link.near_port, self.link.far_port) if port is not None]
        if ports:
            rates = set.intersection(*(set(port.rates_mbps) for port in ports))
        else:
            rates = {
                rate for category, rate in reach_table(self.wired.catalog) if category in categories
            }
        for row in self.link.rows:
            if KINDS[row.kind].protects:
                passes = self.wired.catalog.protectors[row.part].rates_mbps
                rates &= set(passes) if passes else rates
        return sorted(rates, reverse=True)

    def _line(self) -> Line | None:
        return self.wired.evaluation.power.by_link.get(self.link.key)

    def _verdicts(self) -> list[SheetCell]:
        parts: dict[str, str] = {}
        key = self.key("reach_verdict")
        if not is_known(self.value("length_m")):
            reach = Verdict(THIN, key=key)
        elif not is_known(self.value("common_mbps")):
            reach = Verdict(PASS, key=key)
        elif not self._candidates():
            reach = Verdict(FAIL, key=key)
        else:
            word = PASS if is_known(self.value("rate_mbps")) else FAIL
            formula = f'IF(ISNUMBER({{{self.key("rate_mbps")}}}),"{PASS}","{FAIL}")'
            reach = Verdict(word, formula=formula, key=key)
        cells: list[SheetCell] = [self.plan.judged(self.link, "copper-reach", reach)]
        line = self._line()
        if line is not None:
            judged = {cell.key: cell.value for cell in poe_verdicts(self.wired, line)}
            cell = worst_cell(self.key("poe_verdict"), judged)
            cells.append(self.plan.judged(self.link, "poe-power", cell))
        else:
            cells.append(Text("–", "text center"))
        stated = self.plan.stated_verdict(self.link)
        cells.append(Verdict(stated, key=self.key("stated")))
        parts = {cell.key: cell.value for cell in cells if isinstance(cell, Verdict)}
        cell = worst_cell(self.key("verdict"), parts)
        self.plan.link_verdicts[self.link.key] = (self.key("verdict"), cell.value)
        return [*cells, cell]

    def _words(self) -> str:
        categories = ", ".join(dict.fromkeys(part.category for part in self.parts))
        screened = "screened" if self.budget.screened[self.index] else "unscreened"
        ports = [
            f"{port.port}" if port is not None else NOT_KNOWN
            for port in (self.link.near_port, self.link.far_port)
        ]
        return f"{categories} {screened}; ports {' and '.join(ports)}"


def _least(inputs: list[str]) -> Cell:
    """The shortest of the published reaches of a channel's categories."""
    text = any_of("MIN", inputs)
    return Cell(text)


def fixed_length_formula(temperature_c: Cell, *, screened: bool) -> str:
    """Fixed cable allowed at a temperature [m]: the table of TIA-568.2-D as a sum of ramps."""
    return _ramps(screened).replace(_TEMPERATURE.text, temperature_c.text)


@cache
def _ramps(screened: bool) -> str:
    first, last = copper.REFERENCE_C, copper.RANGES["cable_temperature_c"][1]
    knots = np.arange(first, last + 1, _TABLE_STEP_C)
    lengths = copper.fixed_length_m(cable_temperature_c=knots, screened=screened)
    slopes = np.diff(np.asarray(lengths)) / _TABLE_STEP_C
    total: Any = float(lengths[0])
    for knot, bend in zip(knots, np.diff(slopes, prepend=0.0), strict=False):
        if round(bend, 9):
            total = total + round(float(bend), 9) * np.maximum(_TEMPERATURE - float(knot), 0)
    return total.text


_TEMPERATURE = Cell.ref("temperature_c")
#: Rows of the table of TIA-568.2-D stand 5 °C apart.
_TABLE_STEP_C = 5.0
