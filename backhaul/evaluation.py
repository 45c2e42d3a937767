"""Design -> Evaluation: links, budgets and findings. Pure: no files are read or written."""

from collections import defaultdict
from collections.abc import Callable
from functools import cached_property
from typing import Any

from backhaul import garbage_collection
from backhaul.budgets.copper import copper_budget
from backhaul.budgets.optical import optical_budget
from backhaul.budgets.power import power_budget, power_sources
from backhaul.budgets.radio import radio_budget
from backhaul.budgets.service import service
from backhaul.checks import Context, run_checks
from backhaul.design.model import Design
from backhaul.findings import FAIL, PASS, THIN, Finding, worst
from backhaul.path.branches import find_branches
from backhaul.path.links import Link, LinkUse
from backhaul.path.network import build_network
from backhaul.path.placed import place_things
from backhaul.path.terrain import refuse_bad_terrain


class Evaluation:
    """The single truth about a design: terminal, JSON and workbook are read from it."""

    def __init__(self, context: Context, findings: tuple[Finding, ...]):
        self.context = context
        self.findings = findings
        self.design = context.design
        self.catalog = context.catalog
        self.network = context.network
        self.optical = context.optical
        self.copper = context.copper
        self.power = context.power
        self.radio = context.radio
        self.service = context.service
        self.branches = context.branches

    @cached_property
    def verdict(self) -> str:
        """The worst of all findings."""
        return worst(finding.severity for finding in self.findings)

    @cached_property
    def path_verdicts(self) -> dict[str, str]:
        """Verdict of every path."""
        severities = defaultdict(set)
        for finding in self.findings:
            for path in finding.paths:
                severities[path].add(finding.severity)
        return {path: worst(severities[path]) for path in self.network.chains}

    @cached_property
    def row_verdicts(self) -> dict[int, str]:
        """Verdict of every row that is not a pass, by the row's id."""
        verdicts: dict[int, str] = {}
        for finding in self.findings:
            if finding.severity in (FAIL, THIN):
                for row in finding.rows:
                    verdicts[row] = worst((verdicts.get(row, ""), finding.severity))
        return verdicts

    @cached_property
    def verdicts_in(self) -> dict[str, dict[int, str]]:
        """Verdict of every row that is not a pass, by path and by the row's id.

        A finding counts for a row in the paths that it names.
        """
        verdicts: dict[str, dict[int, str]] = {path: {} for path in self.network.chains}
        for finding in self.findings:
            if finding.severity in (FAIL, THIN):
                for path in finding.paths:
                    rows = verdicts.setdefault(path, {})
                    for row in finding.rows:
                        rows[row] = worst((rows.get(row, ""), finding.severity))
        return verdicts

    def link_verdict(self, link: Link) -> str:
        """Verdict of a link: the worst of its rows."""
        rows = self.row_verdicts
        return worst(rows[row] for row in link.row_ids if row in rows)

    def use_verdict(self, use: LinkUse) -> str:
        """Verdict of a link as one path runs over it."""
        rows = self.verdicts_in[use.path]
        return worst(rows[row] for row in use.row_ids if row in rows) if rows else PASS

    def frame(self) -> Any:
        """A pandas table of all links, one row a link and direction."""
        from backhaul.report.frame import frame

        return frame(self)

    @property
    def exit_status(self) -> int:
        """0 where nothing fails, else 1."""
        return 1 if self.verdict == FAIL else 0


#: What an evaluation does, in turn.
STAGES = ("joining rows", "light", "copper", "power", "air", "rates", "checks")


def unwatched(stage: str) -> None:
    """Nobody watches the stages."""


def evaluate(
    design: Design, catalog: Any, progress: Callable[[str], None] = unwatched
) -> Evaluation:
    """Join the rows, budget all links, check everything.

    `progress` is called with each of `STAGES` as it begins.
    Raises InputError where rows cannot be put together: terrain that does not fit its hop,
    paths that begin inside each other.
    """
    with garbage_collection.paused():
        return _evaluate(design, catalog, progress)


def _evaluate(design: Design, catalog: Any, progress: Callable[[str], None]) -> Evaluation:
    progress("joining rows")
    network = build_network(design, catalog)
    branches = find_branches(network, design)
    refuse_bad_terrain(network, design)
    progress("light")
    optical = optical_budget(network.links["optical"], catalog, design.project)
    progress("copper")
    copper = copper_budget(network, catalog, design)
    progress("power")
    power = power_budget(network, catalog, design)
    progress("air")
    radio = radio_budget(network, catalog, design)
    progress("rates")
    served = service(network, branches, design, catalog, optical, copper, radio)
    context = Context(
        design=design,
        catalog=catalog,
        network=network,
        optical=optical,
        copper=copper,
        power=power,
        radio=radio,
        branches=branches,
        service=served,
        placed=place_things(network, design, catalog),
        sources=power_sources(power, network),
    )
    progress("checks")
    return Evaluation(context, run_checks(context))
