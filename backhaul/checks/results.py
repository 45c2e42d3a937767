"""What the budgets and checks found about a design, and the verdicts that follow from it."""

from functools import cached_property

from backhaul.checks.context import Context
from backhaul.findings import FAIL, PASS, Finding, worst
from backhaul.path.links import Link, LinkUse

#: Checks of whole paths: they name the step that decides, but are no findings of its link.
PATH_CHECKS = frozenset(("path-rate", "path-availability", "backup-shared"))


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
        return worst(finding.verdict for finding in self.findings)

    @cached_property
    def findings_in(self) -> dict[str, list[Finding]]:
        """Findings that a verdict counts, by the path in which they do."""
        found: dict[str, list[Finding]] = {}
        for finding in self.findings:
            if finding.verdict != PASS:
                for path in finding.paths:
                    found.setdefault(path, []).append(finding)
        return found

    @cached_property
    def findings_on(self) -> dict[int, list[Finding]]:
        """Findings that a verdict counts, by the row's id."""
        found: dict[int, list[Finding]] = {}
        for finding in self.findings:
            if finding.verdict != PASS:
                for row in finding.rows:
                    found.setdefault(row, []).append(finding)
        return found

    @cached_property
    def path_verdicts(self) -> dict[str, str]:
        """Verdict of every path."""
        return {
            path: worst(finding.verdict for finding in self.findings_in.get(path, ()))
            for path in self.network.chains
        }

    @cached_property
    def row_verdicts(self) -> dict[int, str]:
        """Verdict of every row that is not a pass, by the row's id."""
        verdicts: dict[int, str] = {}
        for row, findings in self.findings_on.items():
            verdicts[row] = worst(finding.verdict for finding in findings)
        return verdicts

    @cached_property
    def deciding_in(self) -> dict[str, dict[int, Finding]]:
        """The worst finding on every row that is not a pass, by path and by the row's id.

        A finding counts for a row in the paths that it names; of alike ones that which follows from
        no other, and of them that which stands there.
        """
        deciding: dict[str, dict[int, Finding]] = {path: {} for path in self.network.chains}
        for finding in self.findings:
            if finding.verdict == PASS:
                continue
            for path in finding.paths:
                rows = deciding.setdefault(path, {})
                for row in finding.rows:
                    if row not in rows or _weight(finding, row) > _weight(rows[row], row):
                        rows[row] = finding
        return deciding

    @cached_property
    def verdicts_in(self) -> dict[str, dict[int, str]]:
        """Verdict of every row that is not a pass, by path and by the row's id."""
        return {
            path: {row: finding.verdict for row, finding in rows.items()}
            for path, rows in self.deciding_in.items()
        }

    def link_verdict(self, link: Link) -> str:
        """Verdict of a link, whatever path runs over it: the worst of its own findings."""
        return worst(
            finding.verdict
            for row in link.row_ids
            for finding in self.findings_on.get(row, ())
            if is_of_link(finding, link)
        )

    def use_verdict(self, use: LinkUse) -> str:
        """Verdict of a link as one path runs over it, with what the path asks of it."""
        return worst(
            finding.verdict
            for row in use.row_ids
            for finding in self.findings_on.get(row, ())
            if use.path in finding.paths
        )

    @property
    def exit_status(self) -> int:
        """0 where nothing fails, else 1."""
        return 1 if self.verdict == FAIL else 0


def _weight(finding: Finding, row: int) -> tuple[bool, bool, bool]:
    return finding.verdict == FAIL, not finding.cause, finding.rows[:1] == (row,)


def is_of_link(finding: Finding, link: Link) -> bool:
    """Whether a finding is one of the link: it counts in all paths that run over it."""
    return finding.check not in PATH_CHECKS and set(finding.paths).issuperset(link.paths)
