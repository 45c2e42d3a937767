"""What the sheets of one book share: the evaluation, the givens, the keys of verdicts and figures."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, NamedTuple

from backhaul.book.followed import Followed
from backhaul.book.inputs import Inputs
from backhaul.checks.results import Results, is_of_link
from backhaul.findings import FAIL, THIN, Finding, worst
from backhaul.path.links import Link
from backhaul.spreadsheet.cells import SheetCell, Verdict
from backhaul.spreadsheet.grid import Sheet

NAMES = (
    "At a glance",
    "Open points",
    "Chain",
    "Line drawings",
    "Optical links",
    "Radio hops",
    "Copper and supply",
    "Order list",
    "Requirements",
    "Alternatives",
    "Cable lengths",
    "Cables and strands",
    "Site cards",
    "Inputs",
    "Basis",
)


#: Two figures of one thing agree within this, in whatever unit.
_SAME_FIGURE = 1e-6

#: Key of what a cell judges, what it is now, and what it is in the other direction where a check
#: that has one finding for both may name that one.
Figure = tuple[str, *tuple[float, ...]]


class StateRange(NamedTuple):
    """States of yellow cells and what they are called: keys of the first and last cell of each."""

    first: str
    last: str
    first_label: str
    last_label: str


class MarginBar(NamedTuple):
    """A margin on the chart of At a glance [dB]: of a hop that of the mode in use."""

    path: str
    label: str
    key: str
    healthy_key: str
    margin: float
    healthy: float
    #: of the link whose verdict colours the bar
    link: tuple


class LiveVerdict(NamedTuple):
    """What a live cell of a link judges, and the word that it shows now."""

    check: str
    #: direction of the link, 0 from near to far, 1 back; None where the cell judges the whole link
    direction: int | None
    word: str
    #: of the findings that it shows, where one check measures several things; None for any
    unit: str | None = None

    def shows(self, finding: Finding) -> bool:
        """Whether the cell says what the finding says, so that it needs no second word.

        A cell that passes where the finding does not, since a figure is not known, shows it not.
        """
        same_direction = None in (self.direction, finding.direction) or (
            self.direction == finding.direction
        )
        return (
            finding.check == self.check
            and self.unit in (None, finding.unit)
            and same_direction
            and worst((self.word, finding.severity)) == self.word
        )


@dataclass
class Plan:
    """Filled while the sheets are laid out; later sheets read what earlier ones left.

    Sheets are built in the order of `book.SHEETS`: Optical links, Radio hops, Copper and supply first, since the
    others refer to their cells.
    """

    evaluation: Results
    inputs: Inputs = field(default_factory=Inputs)
    #: key of the live verdict cell of a link, with the word that it shows now
    link_verdicts: dict[tuple, tuple[str, str]] = field(default_factory=dict)
    #: key of the live verdict cell of a path, with its word
    path_verdicts: dict[str, tuple[str, str]] = field(default_factory=dict)
    #: key of the live rate of a path, by path and way (up, down)
    path_rates: dict[tuple[str, str], str] = field(default_factory=dict)
    #: key of the live demand of a path, branches with it, by path and way
    path_demands: dict[tuple[str, str], str] = field(default_factory=dict)
    #: key of the live availability of a path that has hops
    path_availabilities: dict[str, str] = field(default_factory=dict)
    #: key of the live delay of a link, one way
    delays: dict[tuple, str] = field(default_factory=dict)
    #: key of the live delay of a path
    path_delays: dict[str, str] = field(default_factory=dict)
    #: the sheet of what is open, once it has been laid out
    open_points: Any = None
    #: states of the cells that may be typed over, sheet by sheet
    states: list[StateRange] = field(default_factory=list)
    #: margins for the chart of At a glance
    margins: list[MarginBar] = field(default_factory=list)
    #: sheets that were laid out so far
    sheets: list[Sheet] = field(default_factory=list)
    #: numbers of the sources that Inputs refers to; Basis lists them
    sources: dict[str, int] = field(default_factory=dict)
    #: highest EIRP allowed by direction of a hop, where a cell of Radio hops holds it [dBm]
    eirp_limits: dict[int, float] = field(default_factory=dict)
    #: live verdicts of batteries and panels by path and key: the word, and rows of the source
    energy: dict[str, dict[str, tuple[str, frozenset[int]]]] = field(default_factory=dict)
    #: keys of the live rates of a data link, near to far and back
    rates: dict[tuple, tuple[str, str]] = field(default_factory=dict)
    #: key of the cell at which a link's block begins, for links to it
    anchors: dict[Any, str] = field(default_factory=dict)
    #: what is ordered, once Order list has been laid out
    orders: Any = None
    #: findings by the segment that they stand on, filled when first asked for
    findings_by_row: dict[int, list[Any]] = field(default_factory=dict)
    #: cells of demand and load have been laid beside a sheet
    has_loads: bool = False
    #: what live cells judge, by the key of the link: filled by `judged` before `stated_verdict`
    live_verdicts: dict[tuple, list[LiveVerdict]] = field(default_factory=dict)
    #: findings that somebody answers for, filled when first asked for
    accepted_by_check: dict[str, list[Finding]] | None = None
    #: how many further modes a direction of a hop has room for
    spares: dict[tuple[int, int], int] = field(default_factory=dict)
    #: rows of hops for modes that a radio may be offered with: sheet, row, what fills it
    spare_rows: list[tuple[Sheet, int, Callable[[], list[SheetCell]]]] = field(default_factory=list)
    #: offered figures that count only together: key of each -> keys of all
    together: dict[str, tuple[str, ...]] = field(default_factory=dict)
    #: verdict cells whose thin somebody answers for -> formula text of when that lapses, "" for never
    answered: dict[str, str] = field(default_factory=dict)

    @cached_property
    def follows(self) -> Followed:
        """How far the book follows what is typed into it."""
        return Followed(self.evaluation)

    def judged(
        self,
        link: Link,
        check: str,
        cell: Any,
        *,
        direction: int | None = None,
        unit: str | None = None,
        figure: Figure = ("",),
    ) -> Any:
        """Register a verdict cell of a link: findings that it shows are not stated beside it.

        cell: the `Verdict` that goes into the worst of the link; other cells are let pass. check:
        of the findings that it shows. direction: where it judges one of two. unit: of what it
        measures, where the check measures several things. figure: key and value
        of what it judges, so that an acceptance lapses live. Returns the cell.
        """
        if isinstance(cell, Verdict):
            live = LiveVerdict(check, direction, cell.value, unit)
            self.live_verdicts.setdefault(link.key, []).append(live)
            lapses = self.lapse(link, check, direction=direction, unit=unit, figure=figure)
            if lapses is not None:
                self.answered[cell.key] = lapses
        return cell

    def accepted(self, check: str) -> Iterable[Finding]:
        """Findings of a check that somebody answers for."""
        if self.accepted_by_check is None:
            self.accepted_by_check = {}
            for finding in self.evaluation.findings:
                if finding.accepted is not None:
                    self.accepted_by_check.setdefault(finding.check, []).append(finding)
        return self.accepted_by_check.get(check, ())

    def lapse(
        self,
        link: Link,
        check: str,
        *,
        direction: int | None = None,
        unit: str | None = None,
        figure: Figure = ("",),
    ) -> str | None:
        """Formula text of when the answer for a thin of a link lapses; "" never, None where nobody
        answers for it."""
        rows = set(link.row_ids)
        found = (
            finding
            for finding in self.accepted(check)
            if rows.intersection(finding.rows) and unit in (None, finding.unit)
        )
        lapses = list(_lapses_of(found, direction, figure))
        return lapses[-1] if lapses else None

    def answer(
        self,
        keys: Iterable[str],
        findings: Iterable[Finding],
        *,
        figure: Figure = ("",),
    ) -> None:
        """Leave it in `answered` that the thin of these cells is answered for, by these findings."""
        for lapses in _lapses_of(findings, None, figure):
            self.answered.update(dict.fromkeys(keys, lapses))

    def is_live(self, check: str) -> bool:
        """Whether a sheet has live cells for a check."""
        return any(
            live.check == check for verdicts in self.live_verdicts.values() for live in verdicts
        )

    def stated_verdict(self, link: Link) -> str:
        """Worst finding of a link that none of its live cells shows."""
        return worst(finding.verdict for finding in self.stated_findings(link))

    def stated_checks(self, link: Link) -> str:
        """Names of the checks behind `stated_verdict`, where that is no pass."""
        return ", ".join(dict.fromkeys(finding.check for finding in self.stated_findings(link)))

    def stated_findings(self, link: Link) -> Iterable[Finding]:
        """Findings on a link that count in every path over it and that no live cell shows."""
        if not self.findings_by_row:
            for finding in self.evaluation.findings:
                if finding.verdict in (FAIL, THIN):
                    for row in finding.rows:
                        self.findings_by_row.setdefault(row, []).append(finding)
        live = self.live_verdicts.get(link.key, ())
        found = {
            id(finding): finding
            for row in link.row_ids
            for finding in self.findings_by_row.get(row, ())
            if is_of_link(finding, link)
        }
        return [
            finding for finding in found.values() if not any(cell.shows(finding) for cell in live)
        ]

    def link_steps(self, link: Link) -> str:
        """A link by path and steps alone, where its title stands a click away."""
        steps = f"step {link.first_step:g}"
        if link.last_step != link.first_step:
            steps = f"steps {link.first_step:g} to {link.last_step:g}"
        return f"{', '.join(link.paths[:3])} {steps}"

    def link_title(self, link: Link) -> str:
        """How a link is called on every sheet.

        Path and steps, then what stands at its ends.
        """
        ends = []
        for end, (equipment, row) in enumerate(
            ((link.near, link.rows[0]), (link.far, link.rows[-1]))
        ):
            place = self.evaluation.network.places[row.id][end]
            name = equipment.label or equipment.part if equipment else row.part
            ends.append(f"{name} ({place})" if place else name)
        return f"{self.link_steps(link)}: {ends[0]} — {ends[1]}"


def _lapses_of(findings: Iterable[Finding], direction: int | None, figure: Figure) -> Iterable[str]:
    """When each of these findings that is of a direction lapses."""
    for finding in findings:
        if None in (direction, finding.direction) or direction == finding.direction:
            yield _lapses(finding, *figure)


def _lapses(finding: Finding, key: str, *now: float) -> str:
    """Formula text of whether a figure is worse than when its finding was accepted.

    Blank for never, where no figure was accepted. Where the cell holds another figure, it lapses
    once anything is typed.
    """
    accepted = finding.accepted.value if finding.accepted else None
    value, limit = finding.value, finding.limit
    if accepted is None or not isinstance(value, int | float) or not isinstance(limit, int | float):
        return ""
    is_judged = any(abs(figure - value) < _SAME_FIGURE for figure in now)
    if not key or value == limit or not is_judged:
        return "{status.changed}>0"
    decimals = len(f"{accepted:.10g}".partition(".")[2])
    sign = "<" if value < limit else ">"
    return f"ROUND({{{key}}},{decimals}){sign}{accepted:.10g}"
