"""Chain: the segments of every path in order, what each carries, where the rate is lowest."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from backhaul.book.formula_cells import worst_cell
from backhaul.book.plan import Plan, counts_for
from backhaul.book.sheets.page_fit import Block, fit_pages
from backhaul.findings import PASS, worst
from backhaul.path.links import FEED, LinkUse
from backhaul.spreadsheet.cells import Calc, Link, Number, SheetCell, Text, Verdict
from backhaul.spreadsheet.grid import Sheet
from backhaul.units import PERCENT

_HEAD = (
    "Step",
    "Kind",
    "Part",
    "Label",
    "From",
    "To",
    "Length, m",
    "Up, Mb/s",
    "Down, Mb/s",
    "Verdict",
    "Remark",
)


def build(plan: Plan) -> Sheet:
    """The sheet; leaves the live verdict of every path in the plan."""
    sheet = Sheet(
        "Chain",
        "Chain",
        (6, 11, 36, 15, 16, 16, 10, 10, 10, 10, 32),
        subtitle="Segments in the order in which the signal meets them. Up runs from the last site "
        "to the first. The narrowest step is marked.",
    )
    blocks = []
    for path in plan.evaluation.network.chains:
        first = sheet.next_row
        sections = _Path(plan, sheet, path).write()
        blocks.append(Block(first, sections, len(sheet.rows)))
    fit_pages(sheet, blocks)
    return sheet


class _Path:
    """One path: its rows, its rate against its demand, its verdict."""

    def __init__(self, plan: Plan, sheet: Sheet, path: str):
        self.plan, self.sheet, self.path = plan, sheet, path
        self.evaluation = plan.evaluation
        self.served = plan.evaluation.performance.paths[path]
        self.uses = {row: use for use in plan.evaluation.network.uses[path] for row in use.row_ids}
        self.prefix = f"chain.{path}".replace("{", "(").replace("}", ")")
        self.rates: dict[str, list[str]] = {"up": [], "down": []}

    def write(self) -> Sequence[int]:
        """The rows of the path; returns those at which a page may begin."""
        row = self.evaluation.design.paths.get(self.path)
        title = f"{self.path}: {row.title}" if row and row.title else self.path
        anchor = f"{self.prefix}.anchor"
        self.plan.anchors[("path", self.path)] = anchor
        self.sheet.blank()
        self.sheet.row(Text(title, "heading", self.sheet.width, key=anchor))
        self.sheet.head(*_HEAD)
        told: set[int] = set()
        first = self.sheet.next_row
        for segment in self.evaluation.network.chains[self.path].rows:
            self._segment(segment, told)
        summary = self.sheet.next_row
        self._summary()
        return range(first + 1, summary)

    def _segment(self, row: Any, told: set[int]) -> None:
        start, end = self.evaluation.network.places[row.id]
        use = self.uses.get(row.id)
        first = use is not None and id(use) not in told
        rates: tuple[SheetCell | str, ...] = ("", "")
        if first and use is not None:
            told.add(id(use))
            if use.link.kind != FEED and self.served.carries_data:
                rates = self._rates(use)
        narrow = row.step == self.served.bottleneck_step
        remark = "narrowest" if narrow else (row.note or "")
        kind: SheetCell | str = row.kind
        if use is not None and use.link.key in self.plan.anchors:
            kind = Link(row.kind, self.plan.anchors[use.link.key])
        self.sheet.row(
            f"{row.step:g}",
            kind,
            row.part if not row.to_part else f"{row.part} / {row.to_part}",
            row.label or "",
            start or "",
            end if end and end != start else "",
            Number(row.length_m, format="General") if row.length_m else "",
            *rates,
            Verdict(self.evaluation.verdicts_in[self.path].get(row.id, PASS)),
            remark,
        )

    def _rates(self, use: LinkUse) -> tuple[SheetCell, SheetCell]:
        forward, back = self.evaluation.performance.rates[use.link.key]
        live = self.plan.rates.get(use.link.key)
        cells = []
        for way, value, source in (
            (
                "up",
                forward if use.is_reversed else back,
                (live or ("", ""))[0 if use.is_reversed else 1],
            ),
            (
                "down",
                back if use.is_reversed else forward,
                (live or ("", ""))[1 if use.is_reversed else 0],
            ),
        ):
            key = f"{self.prefix}.{use.first_step:g}-{use.last_step:g}.{way}"
            if np.isnan(value):
                cells.append(Text("none", "text right", key=key))
                continue
            self.rates[way].append(key)
            cells.append(
                Calc(key, f"{{{source}}}", float(value), format="0.0")
                if source
                else Number(float(value), key=key, format="0.0")
            )
        return cells[0], cells[1]

    def _summary(self) -> None:
        served, parts = self.served, {}
        if served.carries_data and self.rates["up"]:
            for way, rate, demand in (
                ("up", served.rate_up_mbps, served.demand_up_mbps),
                ("down", served.rate_down_mbps, served.demand_down_mbps),
            ):
                parts.update(self._way(way, rate, demand))
        if served.availability_percent is not None and served.availability_percent < 100:
            self.sheet.row(
                Text(
                    "Share of the year in which it carries its demand"
                    if served.has_demand
                    else "Share of the year in which it holds",
                    span=6,
                ),
                "",
                Number(served.availability_percent, format="0.0000", unit="%", span=2),
                "",
                Text(f"target {served.target_percent:g} %", "text small"),
            )
        if served.latency_us is not None:
            self.sheet.row(
                Text("Delay, one way: fiber, air and radios", span=6),
                "",
                Number(served.latency_us, format="0.0", unit="µs", span=2),
                "",
                "",
            )
        for use in self.evaluation.network.uses[self.path]:
            if use.link.key in self.plan.link_verdicts:
                key, word = self.plan.link_verdicts[use.link.key]
                parts[key] = word
        stated = self._stated()
        stated_key = f"{self.prefix}.stated"
        self.sheet.row(
            Text("Everything else (To settle)", span=6),
            "",
            "",
            "",
            Verdict(stated, key=stated_key),
            "",
        )
        parts[stated_key] = stated
        key = f"{self.prefix}.verdict"
        cell = worst_cell(key, parts)
        self.sheet.row(Text(f"Path {self.path}", "strong", 6), "", "", "", cell, "", style="strong")
        self.plan.path_verdicts[self.path] = (key, cell.value)

    def _way(self, way: str, rate: float | None, demand: float) -> dict[str, str]:
        """Rate of the path in one direction, and its verdict against the demand."""
        if rate is None:
            return {}
        rate_key, verdict_key = f"{self.prefix}.rate.{way}", f"{self.prefix}.verdict.{way}"
        self.plan.path_rates[self.path, way] = rate_key
        formula = "MIN(" + ",".join(f"{{{key}}}" for key in self.rates[way]) + ")"
        cells: list[SheetCell | str] = [
            Text(f"Rate {way}, narrowest step", span=6),
            "",
            Calc(rate_key, formula, float(rate), format="0.0", unit="Mb/s", span=2),
        ]
        found = self._rate_word(way)
        if self.served.has_demand and found is not None:
            inputs = self.plan.inputs
            share = self.evaluation.design.project.rate_headroom_percent
            needed = inputs.add(
                f"given.demand.{self.path}.{way}",
                group="Demand",
                label=f"{self.path}: demand {way}, branches with it",
                value=float(demand),
                unit="Mb/s",
                source="demand table",
                where="demand",
            )
            headroom = inputs.project(
                self.evaluation, "rate_headroom_percent", "share of the rate kept free", "%"
            )
            text = (
                f'IF(ROUND({{{needed}}},6)>ROUND({{{rate_key}}},6),"fail",'
                f"IF(ROUND({{{needed}}},6)>ROUND({{{rate_key}}}*(1-{{{headroom}}}/100),6),"
                f'"thin","pass"))'
            )
            word = _word(demand, rate, share)
            cells.extend(
                [
                    Verdict(word, formula=text, key=verdict_key),
                    Text(f"demand {demand:g} Mb/s", "text small"),
                ]
            )
            self.sheet.row(*cells)
            return {verdict_key: word}
        self.sheet.row(*cells, "", "")
        return {}

    def _rate_word(self, way: str) -> str | None:
        return "known" if self.rates[way] else None

    def _stated(self) -> str:
        """Worst finding on the path that no live cell of the path or its links shows."""
        links = [
            use.link
            for use in self.evaluation.network.uses[self.path]
            if use.link.key in self.plan.link_verdicts
        ]
        return worst(
            finding.severity
            for finding in self.evaluation.findings_in.get(self.path, ())
            if finding.check != "path-rate"
            and not any(
                counts_for(finding, link) and set(finding.rows).intersection(link.row_ids)
                for link in links
            )
        )


def _word(demand: float, rate: float, headroom_percent: float) -> str:
    if round(demand, 6) > round(rate, 6):
        return "fail"
    return "thin" if round(demand, 6) > round(rate * (1 - headroom_percent / PERCENT), 6) else PASS
