"""What the sheets of one book share: the evaluation, the givens, the keys of verdicts and figures."""

from dataclasses import dataclass, field
from typing import Any

from backhaul.book.inputs import Inputs
from backhaul.checks.results import Results
from backhaul.findings import worst
from backhaul.path.links import Link

NAMES = (
    "At a glance",
    "To settle",
    "Chain",
    "Light",
    "Air",
    "Copper and supply",
    "Order list",
    "Alternatives",
    "Cables and strands",
    "Site cards",
    "Givens",
    "Basis",
)


@dataclass(slots=True)
class Plan:
    """Filled while the sheets are laid out; later sheets read what earlier ones left.

    Sheets are built in the order of `book.SHEETS`: Light, Air, Copper and supply first, since the
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
    #: key of the count of offered figures in use, where there is a sheet to type them
    offered_count: str = ""
    #: margins for the chart of At a glance: (path, label, key of margin, key of healthy margin,
    #: margin now, healthy now, unit)
    margins: list[tuple[str, str, str, str, float, float, str]] = field(default_factory=list)
    #: keys of the live rates of a data link, near to far and back
    rates: dict[tuple, tuple[str, str]] = field(default_factory=dict)
    #: key of the cell at which a link's block begins, for links to it
    anchors: dict[Any, str] = field(default_factory=dict)
    #: what is ordered, once Order list has been laid out
    orders: Any = None
    #: findings by the segment that they stand on, filled when first asked for
    findings_by_row: dict[int, list[Any]] = field(default_factory=dict)
    #: checks whose verdict is live on a sheet; all others are stated as they are
    live_checks: set[str] = field(default_factory=set)

    def stated_verdict(self, link: Link) -> str:
        """Worst finding of a link among the checks that no cell computes."""
        if not self.findings_by_row:
            for finding in self.evaluation.findings:
                for row in finding.rows:
                    self.findings_by_row.setdefault(row, []).append(finding)
        return worst(
            finding.severity
            for row in link.row_ids
            for finding in self.findings_by_row.get(row, ())
            if finding.check not in self.live_checks
        )

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
