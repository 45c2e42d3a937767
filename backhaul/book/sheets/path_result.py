"""What a path delivers, below its segments on Chain: rates, availability, verdicts, live.

Keys, with the path's name in place of `{path}`: `chain.{path}.{rate|demand|verdict}.{up|down}`,
`.availability_percent`, `.target_percent`, `.availability_verdict`, `.lit`, `.airtime.{hop}`,
`.stated`, `.verdict`;
`carried.{hop}` of the share of the year in which a hop carries its load.
"""

from typing import Any

from backhaul.book.formula_cells import (
    AVAILABILITY_OR_NONE,
    RATE_OR_NONE,
    verdict_cell,
    worst_cell,
)
from backhaul.book.keys import safe
from backhaul.book.plan import LiveVerdict, Plan
from backhaul.book.sheets.path_airtime import airtimes
from backhaul.book.sheets.path_carried import carried_key, lay_carried
from backhaul.book.sheets.path_delays import delay_formula
from backhaul.book.sheets.path_light import PathLight
from backhaul.book.sheets.path_loads import (
    add_up,
    demand_key,
    lay_loads,
    load_key,
    target_given,
)
from backhaul.book.sheets.shared import any_of, is_known
from backhaul.budgets.performance import along
from backhaul.checks.results import PATH_CHECKS, is_of_link
from backhaul.figures.path_figures import (
    AIRTIME_JUDGED,
    AVAILABILITY,
    AVAILABILITY_JUDGED,
    DEMAND,
    LATENCY,
    RATE,
    RATE_JUDGED,
    TARGET,
    WAYS,
    PathFigure,
)
from backhaul.findings import AUTONOMY_UNIT, Finding, worst
from backhaul.path.links import FEED, RADIO, Link, LinkUse
from backhaul.spreadsheet.cells import Calc, Number, SheetCell, Text, Verdict
from backhaul.spreadsheet.grid import Sheet
from backhaul.units import PERCENT

#: Of a path that carries nothing: its hops are not what is wrong.
HOPS_ALONE = "Share of the year in which its hops alone would carry it; the path has no rate"


class PathResult:
    """Rates of a path against its load, its year, its verdict: rows below its segments."""

    def __init__(self, plan: Plan, sheet: Sheet, path: str):
        self.plan, self.sheet, self.path = plan, sheet, path
        self.evaluation = plan.evaluation
        self.served = plan.evaluation.performance.paths[path]
        self.prefix = f"chain.{safe(path)}"
        self.live: list[LiveVerdict] = []
        self.parts: dict[str, str] = {}
        self.rates: dict[str, list[str]] = {way: [] for way in WAYS}
        self.light = PathLight(plan, path)
        self.is_dark = self.light.alone_stops

    def use_prefix(self, use: LinkUse) -> str:
        """Prefix of the keys of a link as this path runs over it."""
        return f"{self.prefix}.{use.first_step:g}-{use.last_step:g}"

    def rate_cells(self, use: LinkUse) -> list[SheetCell]:
        """Rate of a link up and down as the path meets it, live where its sheet has it."""
        figures = along(self.evaluation.performance.rates[use.link.key], use)
        live = along(self.plan.rates.get(use.link.key, ("", "")), use)
        cells: list[SheetCell] = []
        for way, value, source in zip(WAYS, figures, live, strict=True):
            key = f"{self.use_prefix(use)}.{way}"
            if not is_known(value):
                cells.append(Text(RATE[way].none, "text right", key=key))
                continue
            self.rates[way].append(key)
            cells.append(
                Calc(key, f"{{{source}}}", float(value), format=RATE_OR_NONE)
                if source
                else Number(float(value), key=key, format=RATE_OR_NONE, style="fact")
            )
        return cells

    def load_cells(self, use: LinkUse) -> list[SheetCell]:
        """What runs over a link up and down, of all paths together."""
        running = self.evaluation.performance.traffic
        if use.link.key not in running.shares:
            return [Text(""), Text("")]
        keys = along((load_key(use.link, 0), load_key(use.link, 1)), use)
        return [
            Calc(f"{self.use_prefix(use)}.load.{way}", f"{{{key}}}", value, format="0.0")
            for way, key, value in zip(WAYS, keys, running.on(use.link).along(use), strict=True)
        ]

    def write(self) -> None:
        """The rows of the result; leaves the verdict of the path in the plan."""
        served = self.served
        if served.carries_data:
            for way in WAYS:
                self._way(way)
        if served.carries_data and (self.is_dark or not served.is_stopped):
            if self.light.before:
                self._trunk()
            for shared in airtimes(self.plan, self.path, self.prefix):
                text = f"Airtime of {shared.label} that the demand of all its hops takes"
                cell = self._register(AIRTIME_JUDGED.check, shared.verdict)
                self._line(Text(text, span=6), shared.share, cell, "")
            if (self.is_dark or served.availability_percent is not None) and self._hops():
                self._availability()
        if served.latency_us is not None and not served.is_stopped:
            self._delay(served.latency_us)
        for use in self.evaluation.network.uses[self.path]:
            if use.link.key in self.plan.link_verdicts:
                key, word = self.plan.link_verdicts[use.link.key]
                self.parts[key] = word
        energy = self.plan.energy.get(self.path, {})
        self.parts.update({key: word for key, (word, _) in energy.items()})
        for key, (_, rows) in energy.items():
            found = (f for f in self.plan.accepted("supply-reserve") if f.unit == AUTONOMY_UNIT)
            self.plan.answer([key], (f for f in found if not rows.isdisjoint(f.rows)))
        stated = self._stated()
        stated_key = f"{self.prefix}.stated"
        self.parts[stated_key] = stated
        key = f"{self.prefix}.verdict"
        cell = worst_cell(key, self.parts, answered=self.plan.answered)
        self._line(
            Text(
                f"Path {self.path}; beside it what only a new run judges (Open points)",
                "strong",
                6,
            ),
            Verdict(stated, key=stated_key, span=2),
            cell,
            "",
            style="strong",
        )
        self.plan.path_verdicts[self.path] = (key, cell.value)

    def _line(
        self,
        label: Text,
        figure: Any,
        verdict: Any,
        remark: Any,
        second: Any = None,
        style: str = "",
    ) -> None:
        spread = [figure] if getattr(figure, "span", 1) > 1 else [figure, ""]
        beside = ["", ""] if second is None else [second]
        self.sheet.row(label, "", *spread, *beside, verdict, remark, style=style)

    def _calc(self, figure: PathFigure, key: str, formula: str, value: float) -> Calc:
        return Calc(key, formula, float(value), format=figure.format, unit=figure.unit, span=2)

    def _way(self, way: str) -> None:
        """Demand and rate of the path one way; what each link carries is judged."""
        served = self.served
        rate = 0.0 if self.is_dark else RATE[way].of(served)
        if rate is None or not all(self.rates.values()):
            if served.has_demand:  # what is asked for stands, though nothing carries it
                label = f"{DEMAND[way].label.capitalize()}; the path has {RATE[way].none}"
                self._line(Text(label, span=6), self._demand(way), "", "")
            return
        judged: Any = ""
        label, demand = RATE[way].label, None
        if served.has_demand:
            judged = self._judged(way)
            demand = self._demand(way)
            label += f"; {DEMAND[way].label}"
        key = f"{self.prefix}.rate.{way}"
        self.plan.path_rates[self.path, way] = key
        formula = self.light.or_none(any_of("MIN", self.rates[way]), self.light.before)
        cell = Calc(key, formula, float(rate), format=RATE_OR_NONE, unit=RATE[way].unit, span=2)
        self._line(Text(label, span=6), cell, judged, "", demand)

    def _trunk(self) -> None:
        """A branch of a dark path carries nothing, whatever its own links could."""
        cell = self.light.verdict(f"{self.prefix}.lit")
        self.sheet.helper(f"Light as far as {self.path}", ("verdict",), [(cell,)])
        self._register(RATE_JUDGED.check, cell)

    def _demand(self, way: str) -> SheetCell:
        """The path's demand with that of its branches."""
        running = self.evaluation.performance.traffic
        paths = (self.path, *self.evaluation.branches.below(self.path))
        added = [
            ("{" + demand_key(path, way) + "}", running.demand[path][WAYS.index(way)])
            for path in paths
            if path in running.demand
        ]
        parts: list[tuple] = []
        figure = DEMAND[way]
        cell = add_up(f"{self.prefix}.demand.{way}", added, parts)
        if parts:
            self.sheet.helper(f"Parts of the demand {way}, {self.path}", ("Mb/s",), parts)
        self.plan.path_demands[self.path, way] = cell.key
        return self._calc(figure, cell.key, cell.formula, figure.of(self.served))

    def _judged(self, way: str) -> Verdict | str:
        """The worst of what the links of the path carry that way against their rates."""
        evaluation = self.evaluation
        running, rates = evaluation.performance.traffic, evaluation.performance.rates
        headroom = self.plan.inputs.project(
            evaluation, "rate_headroom_percent", "share of the rate kept free", "%"
        )
        place = WAYS.index(way)
        rows, words = [], {}
        for use in evaluation.network.uses[self.path]:
            if use.link.kind == FEED or use.link.key not in running.shares:
                continue
            rate = along(rates[use.link.key], use)[place]
            if not is_known(rate):
                continue
            key = f"{self.use_prefix(use)}.judged.{way}"
            refs = {
                "load_mbps": f"{self.use_prefix(use)}.load.{way}",
                "rate_mbps": f"{self.use_prefix(use)}.{way}",
                "headroom_percent": headroom,
            }
            now = {
                "load_mbps": running.on(use.link).along(use)[place],
                "rate_mbps": rate,
                "headroom_percent": evaluation.design.project.rate_headroom_percent,
            }
            cell = verdict_cell(RATE_JUDGED.word, key, refs, now)
            words[key] = cell.value
            rows.append((self.plan.link_steps(use.link), cell))
        if not rows:
            return ""
        self.sheet.helper(f"Load against rate, {self.path} {way}", ("link", "verdict"), rows)
        key = f"{self.prefix}.verdict.{way}"
        return self._register(RATE_JUDGED.check, worst_cell(key, words))

    def _register(self, check: str, cell: Verdict) -> Verdict:
        self.live.append(LiveVerdict(check, None, cell.value))
        own = (f for f in self.plan.accepted(check) if f.path == self.path)
        self.plan.answer([cell.key], own)
        self.parts[cell.key] = cell.value
        return cell

    def _hops(self) -> list[Link]:
        uses = self.evaluation.branches.uses_to_root(self.path, self.evaluation.network)
        return [use.link for use in uses if use.link.kind == RADIO]

    def _availability(self) -> None:
        """Hops to the root of the path, multiplied, against the target."""
        served, key = self.served, f"{self.prefix}.availability_percent"
        hops = self._hops()
        formula = "*".join(f"{{{carried_key(link)}}}" for link in hops)
        if len(hops) > 1:
            formula += f"/{PERCENT:g}^{len(hops) - 1}"
        formula = self.light.or_none(formula, self.light.all)
        value = 0.0 if self.is_dark else served.availability_percent
        target, target_key = TARGET.of(served), f"{self.prefix}.target_percent"
        cell = verdict_cell(
            AVAILABILITY_JUDGED.word,
            f"{self.prefix}.availability_verdict",
            {"value": key, "limit": target_key},
            {"value": value, "limit": target},
        )
        self.plan.path_availabilities[self.path] = key
        label = AVAILABILITY.label if served.has_demand else "Share of the year in which it holds"
        if not all((self.path, way) in self.plan.path_rates for way in WAYS):
            label = HOPS_ALONE
        self._line(
            Text(label, span=6),
            Calc(key, formula, float(value), format=AVAILABILITY_OR_NONE, span=2),
            self._register(AVAILABILITY_JUDGED.check, cell),
            Calc(
                target_key,
                f"{{{target_given(self.plan, self.path)}}}",
                float(target),
                format='"target "0.####',
                unit=TARGET.unit,
            ),
        )

    def _delay(self, latency_us: float) -> None:
        key = f"{self.prefix}.{LATENCY.key}"
        formula = delay_formula(self.plan, self.sheet, self.path, key)
        label = Text(f"{LATENCY.label}; {LATENCY.source}", span=6)
        self._line(label, self._calc(LATENCY, key, formula, latency_us), "", "")

    def _stated(self) -> str:
        """Worst finding on the path that no live cell of the path or its links shows."""
        links = [
            use.link
            for use in self.evaluation.network.uses[self.path]
            if use.link.key in self.plan.link_verdicts
        ]
        return worst(
            finding.verdict
            for finding in self.evaluation.findings_in.get(self.path, ())
            if not any(live.shows(finding) for live in self.live)
            and not self._is_of_energy(finding)
            and (
                finding.check in PATH_CHECKS
                or not any(
                    is_of_link(finding, link) and set(finding.rows).intersection(link.row_ids)
                    for link in links
                )
            )
        )

    def _is_of_energy(self, finding: Finding) -> bool:
        """Whether a live cell of a battery or panels says what a finding says."""
        return finding.unit == AUTONOMY_UNIT and any(
            word == finding.verdict and not rows.isdisjoint(finding.rows)
            for word, rows in self.plan.energy.get(self.path, {}).values()
        )


def lay_path_cells(plan: Plan, sheet: Sheet) -> None:
    """What the results of all paths refer to."""
    lay_loads(plan, sheet)
    lay_carried(plan, sheet)
