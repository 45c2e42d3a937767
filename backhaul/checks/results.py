"""What the budgets and checks found about a design, and the verdicts that follow from it."""

from collections import defaultdict
from functools import cached_property

from backhaul.checks.context import Context
from backhaul.findings import FAIL, PASS, THIN, Finding, worst
from backhaul.path.links import Link, LinkUse


class Results:
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
        self.performance = context.performance
        self.branches = context.branches

    @cached_property
    def verdict(self) -> str:
        """The worst of all findings."""
        return worst(finding.severity for finding in self.findings)

    @cached_property
    def findings_in(self) -> dict[str, list[Finding]]:
        """Findings that a verdict counts, by the path in which they do."""
        found: dict[str, list[Finding]] = {}
        for finding in self.findings:
            if finding.severity in (FAIL, THIN):
                for path in finding.paths:
                    found.setdefault(path, []).append(finding)
        return found

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

    @property
    def exit_status(self) -> int:
        """0 where nothing fails, else 1."""
        return 1 if self.verdict == FAIL else 0
