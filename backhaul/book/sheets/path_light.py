"""Light on the way of a path: where it does not suffice, the path has no rate, live."""

from backhaul.book.plan import Plan
from backhaul.book.sheets.shared import any_of
from backhaul.checks.stops import OF_LIGHT_LEFT, STOPPING
from backhaul.findings import FAIL, PASS
from backhaul.path.links import OPTICAL
from backhaul.spreadsheet.cells import Verdict


class PathLight:
    """The links of light of a path and of what it branches from, with their live rates."""

    def __init__(self, plan: Plan, path: str):
        self.plan, self.path = plan, path
        evaluation = plan.evaluation
        own = {use.link.key for use in evaluation.network.uses[path]}
        uses = evaluation.branches.uses_to_root(path, evaluation.network)
        links = [use.link for use in uses if use.link.kind == OPTICAL]
        #: links that lead to the thing at which a branch begins
        self._before = [link for link in links if link.key not in own]
        #: keys of their rates, and of the rates of all links to the root
        self.before, self.all = (
            [key for link in some for key in plan.rates.get(link.key, ())[:1]]
            for some in (self._before, links)
        )

    @property
    def alone_stops(self) -> bool:
        """Whether too little light is all that stops the path: mended in a cell, it has a rate."""
        evaluation = self.plan.evaluation
        stop = evaluation.context.stops.get(self.path)
        if stop is None or not self.all:
            return False
        found = (f for path in (self.path, stop.path) for f in evaluation.findings_in.get(path, ()))
        checks = {f.check for f in found if f.severity == FAIL and f.check in STOPPING}
        return checks == {OF_LIGHT_LEFT}

    def or_none(self, formula: str, keys: list[str]) -> str:
        """A figure of the path, 0 where one of these links is dark."""
        return f"IF({any_of('MIN', keys)}<=0,0,{formula})" if keys else formula

    def verdict(self, key: str) -> Verdict:
        """Whether light reaches the thing at which the path branches off."""
        rates = self.plan.evaluation.performance.rates
        is_dark = any(rates[link.key][0] <= 0 for link in self._before)
        formula = f'IF({any_of("MIN", self.before)}<=0,"{FAIL}","{PASS}")'
        return Verdict(FAIL if is_dark else PASS, formula=formula, key=key)
