"""All paths of a design together: chains, things counted once, links built once."""

from collections import defaultdict
from collections.abc import Mapping
from typing import Any, NamedTuple

from backhaul.design.kinds import AIR, KINDS
from backhaul.design.model import Design, Segment
from backhaul.findings import Finding
from backhaul.path.chain import Chain, cut_chain, link_key
from backhaul.path.chain_parts import CutLink, Node, Termination
from backhaul.path.chain_places import place_rows
from backhaul.path.equipment import FAR, NEAR, Equipment, row_key, terminal_key, terminal_label
from backhaul.path.links import COPPER, FEED, OPTICAL, RADIO, Link, LinkUse
from backhaul.path.ports import assign_ports


class Network(NamedTuple):
    """What the design is made of, once the rows are joined."""

    chains: Mapping[str, Chain]
    all_equipment: Mapping[tuple, Equipment]
    #: links by kind, each in order of first use
    links: Mapping[str, tuple[Link, ...]]
    #: links of a path in order of its steps
    uses: Mapping[str, tuple[LinkUse, ...]]
    #: segment id -> (site where it begins, site where it ends)
    places: Mapping[int, tuple[str | None, str | None]]
    #: (thing key, port name) -> link that is plugged in
    ports_in_use: Mapping[tuple, Link]
    findings: tuple[Finding, ...]
    #: label -> its rows, where there are several
    mates: Mapping[str, tuple[Segment, ...]]

    def paths_of(self, row: Segment) -> tuple[str, ...]:
        """All paths that the thing of a row stands in."""
        mates = self.mates.get(row.label) if row.label else None
        if mates is None:
            return row.path
        return tuple(dict.fromkeys(path for mate in mates for path in mate.path))

    def carries_data(self, path: str) -> bool:
        """Light, air, or copper with no feed beside it; else the path carries power alone."""
        kinds = {use.link.kind for use in self.uses[path]}
        return bool(kinds & {OPTICAL, RADIO} or (COPPER in kinds and FEED not in kinds))


def build_network(design: Design, catalog: Any) -> Network:
    """Join the rows of a design into chains and cut the links of every path from them."""
    builder = _Builder(design, catalog)
    for path, rows in rows_by_path(design).items():
        builder.add_path(path, rows)
    links: dict[str, list[Link]] = {kind: [] for kind in ("optical", "radio", "copper", "feed")}
    for link in builder.links.values():
        link.index = len(links[link.kind])
        link.key = (link.kind, link.index)  # short: it is looked up very often
        links[link.kind].append(link)
    ports_in_use, port_findings = assign_ports(tuple(builder.links.values()), catalog)
    return Network(
        chains=builder.chains,
        all_equipment=builder.all_equipment,
        links={kind: tuple(of_kind) for kind, of_kind in links.items()},
        uses={path: tuple(uses) for path, uses in builder.uses.items()},
        places=builder.places,
        ports_in_use=ports_in_use,
        findings=(*builder.findings, *port_findings),
        mates=rows_by_label(design),
    )


def rows_by_path(design: Design) -> dict[str, tuple[Segment, ...]]:
    """The rows of each path in order of their steps."""
    by_path = defaultdict(list)
    for segment in design.segments:
        for path in segment.path:
            by_path[path].append(segment)
    return {path: tuple(sorted(rows, key=_step)) for path, rows in by_path.items()}


def rows_by_label(design: Design) -> dict[str, tuple[Segment, ...]]:
    """The rows of every label that several rows bear."""
    by_label = defaultdict(list)
    for segment in design.segments:
        if segment.label:
            by_label[segment.label].append(segment)
    return {label: tuple(rows) for label, rows in by_label.items() if len(rows) > 1}


def _step(segment: Segment) -> float:
    return segment.step


class _Builder:
    def __init__(self, design: Design, catalog: Any):
        self.design = design
        self.catalog = catalog
        self.chains: dict[str, Chain] = {}
        self.all_equipment: dict[tuple, Equipment] = {}
        self.links: dict[tuple, Link] = {}
        self.uses: dict[str, list[LinkUse]] = {}
        self.places: dict[int, tuple] = {}
        self.findings: list[Finding] = []

    def add_path(self, path: str, rows: tuple[Segment, ...]) -> None:
        findings, is_reversed = place_rows(path, rows, self.places)
        chain = cut_chain(path, rows, is_reversed, self._node, self._medium)
        self.chains[path] = chain
        self.findings.extend(findings)
        self.findings.extend(chain.findings)
        self.uses[path] = [self._use(path, cut) for cut in chain.cut]

    def _medium(self, row: Segment) -> str | None:
        kind = KINDS[row.kind]
        return self.catalog.protectors[row.part].for_ if kind.protects else kind.medium

    def _node(self, path: str, row: Segment, is_reversed: bool) -> Node:
        if KINDS[row.kind].medium != AIR:
            equipment = self._thing(row_key(row), path, row, row.part, self.places[row.id][0])
            return Node(row, equipment, equipment)
        near = self._terminal(path, row, row.part, row.site, NEAR)
        near_termination = Termination(row, "port", row.port)
        if not row.to_site:
            return Node(row, near, near, near_termination, near_termination)
        far = self._terminal(path, row, row.to_part or row.part, row.to_site, FAR)
        far_termination = Termination(row, "to_port", row.to_port)
        if is_reversed:
            return Node(row, far, near, far_termination, near_termination)
        return Node(row, near, far, near_termination, far_termination)

    def _terminal(self, path: str, row: Segment, part: str, site: str | None, end: str):
        key = terminal_key(row, site=site, end=end)
        return self._thing(key, path, row, part, site, end, terminal_label(row, end))

    def _thing(self, key, path, row, part, site, end="", label=None) -> Equipment:
        equipment = self.all_equipment.get(key)
        if equipment is None:
            family = KINDS[row.kind].families[0]
            record = getattr(self.catalog, family)[part]
            equipment = Equipment(
                key=key,
                label=label or row.label,
                part=part,
                record=record,
                segment=row,
                site=site,
                end=end,
            )
            self.all_equipment[key] = equipment
        equipment.paths.setdefault(path, row.step)
        equipment.row_ids[row.id] = None
        return equipment

    def _use(self, path: str, cut: CutLink) -> LinkUse:
        key = link_key(cut)
        link = self.links.get(key)
        is_reversed = cut.is_reversed
        if link is None:
            link = Link(
                kind=cut.kind,
                key=key,
                rows=cut.rows,
                near=cut.near,
                far=cut.far,
                near_termination=cut.near_termination,
                far_termination=cut.far_termination,
            )
            self.links[key] = link
        else:
            is_swapped = cut.near is not link.near and (
                cut.near is link.far if cut.near is not None else cut.far is link.near
            )
            is_reversed = is_reversed != is_swapped
            terminations = (cut.near_termination, cut.far_termination)[:: -1 if is_swapped else 1]
            for side, termination in zip(
                ("near_termination", "far_termination"), terminations, strict=True
            ):
                if termination is not None and termination.port and not getattr(link, side).port:
                    setattr(link, side, termination)
            far = cut.near if is_swapped else cut.far
            if cut.kind == FEED and far is not None and far not in link.loads:
                link.loads.append(far)
        use = LinkUse(
            link,
            path,
            cut.first_step,
            cut.last_step,
            is_reversed,
            tuple(row.id for row in cut.rows),
        )
        link.uses.append(use)
        return use
