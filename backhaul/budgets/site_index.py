"""What stands, begins and ends at each site: looked up once for all site cards."""

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from backhaul.budgets.cable_runs import Run
from backhaul.budgets.power_lines import PowerLine as Line
from backhaul.design.kinds import KINDS
from backhaul.design.model import Segment
from backhaul.path.equipment import Equipment, row_key
from backhaul.path.links import COPPER, OPTICAL, RADIO, Link


class Terminal(NamedTuple):
    """A terminal at a site: its hop and the end, 0 near, 1 far."""

    link: Link
    end: int

    @property
    def name(self) -> str:
        return f"radio{self.link.index}{'ab'[self.end]}"

    @property
    def sends(self) -> str:
        """Keys on Radio hops of this end and of what it sends."""
        return f"air.{self.link.index}.{'ab'[self.end]}"

    @property
    def hears(self) -> str:
        """Keys on Radio hops of what arrives here."""
        return f"air.{self.link.index}.{'ab'[1 - self.end]}"


@dataclass(slots=True)
class AtSite:
    """What concerns one site."""

    #: devices and terminals
    all_equipment: list[Equipment] = field(default_factory=list)
    optics: Counter = field(default_factory=Counter)
    terminals: list[Terminal] = field(default_factory=list)
    #: optical links that end here, with their end: 0 near, 1 far
    ends: list[tuple[Link, int]] = field(default_factory=list)
    #: lines that arrive here, with their loads here
    lines: list[tuple[Line, list[Equipment]]] = field(default_factory=list)
    #: feeds that begin or end here
    feeds: list[Line] = field(default_factory=list)
    #: copper links that begin here
    channels: list[Link] = field(default_factory=list)
    #: runs that begin here
    runs: list[Run] = field(default_factory=list)
    #: rows of runs that begin or end here
    touching: list[Segment] = field(default_factory=list)


class SiteIndex:
    """`at[site]`, with None for what has no site; loss of glass and joints by row and direction."""

    def __init__(self, evaluation: Any, runs: Sequence[Run]):
        self.evaluation = evaluation
        self.at: dict[str | None, AtSite] = defaultdict(AtSite)
        self._things()
        self._rows(runs)
        self._links()
        self._lines()
        self.loss_db = losses_by_row(evaluation.optical)

    def _things(self) -> None:
        for equipment in self.evaluation.network.all_equipment.values():
            self.at[site_of(self.evaluation, equipment)].all_equipment.append(equipment)

    def _rows(self, runs: Sequence[Run]) -> None:
        places, seen = self.evaluation.network.places, set()
        for row in self.evaluation.design.segments:
            sites = places.get(row.id, (row.site, row.to_site))
            if KINDS[row.kind].is_run:
                for site in dict.fromkeys(sites):
                    self.at[site].touching.append(row)
            elif KINDS[row.kind].ends_light and row_key(row) not in seen:
                seen.add(row_key(row))
                self.at[sites[0]].optics[row.part] += 1
        for run in runs:
            self.at[run.ends[0].site].runs.append(run)

    def _links(self) -> None:
        network = self.evaluation.network
        for link in network.links[OPTICAL]:
            for end, row in enumerate((link.rows[0], link.rows[-1])):
                self.at[network.places[row.id][0]].ends.append((link, end))
        for link in network.links[RADIO]:
            for end, equipment in enumerate((link.near, link.far)):
                if equipment is not None:
                    site = site_of(self.evaluation, equipment)
                    self.at[site].terminals.append(Terminal(link, end))
        for link in network.links[COPPER]:
            self.at[network.places[link.rows[0].id][0]].channels.append(link)

    def _lines(self) -> None:
        for line in self.evaluation.power.lines:
            loads: dict[str | None, list[Equipment]] = defaultdict(list)
            for load in line.equipment:
                loads[site_of(self.evaluation, load)].append(load)
            for site, here in loads.items():
                self.at[site].lines.append((line, here))
            if not line.is_poe:
                for site in dict.fromkeys(
                    [site_of(self.evaluation, line.source.equipment), *loads]
                ):
                    self.at[site].feeds.append(line)


def losses_by_row(optical: Any) -> dict[tuple[int, int], float]:
    """Highest loss of every row of glass and joint, by segment and direction."""
    return {
        (subject.row.id, direction): float(loss)
        for items in (optical.runs, optical.joints)
        for subject, direction, loss in zip(
            items["subjects"], items["direction"].tolist(), items["loss_max_db"], strict=True
        )
    }


def site_of(evaluation: Any, equipment: Equipment) -> str | None:
    """Where a thing stands: its own site, else where its path stands."""
    start, end = evaluation.network.places[equipment.segment.id]
    return equipment.site or (end if equipment.end == "far" else start)
