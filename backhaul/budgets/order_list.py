"""What has to be ordered: every physical thing once, by part; runs cut from order lengths."""

from collections import defaultdict
from collections.abc import Iterator
from typing import Any

from backhaul.budgets.cable_joints import (
    SPLICES,
    CableJoint,
    cable_joints,
    forced_joints,
    joint_lines,
    joint_splices,
    terminations_by_row,
)
from backhaul.budgets.order_cuts import shared_lengths
from backhaul.budgets.order_extras import is_structure
from backhaul.budgets.order_fittings import fitting_line, fittings
from backhaul.budgets.order_hybrids import Sheaths
from backhaul.budgets.order_lines import (
    CABLES,
    COPPERS,
    CORDS,
    DEVICES,
    EXTRAS,
    FEEDS,
    JOINTS,
    METRE,
    OPTICS,
    PAIR,
    PIECE,
    PROTECTORS,
    SECTIONS,
    SPLICE,
    TO_ORDER,
    WORK,
    AtSite,
    Item,
    OrderLine,
    OrderList,
    Place,
    Run,
)
from backhaul.budgets.order_pairs import strand_pairs
from backhaul.budgets.order_terminals import Terminal, add_terminals
from backhaul.budgets.orders import (
    cut_run,
    is_cord,
    is_factory_made,
    needed_length_m,
    pieces_of,
    run_loops,
    spare_pieces,
)
from backhaul.budgets.terminations import TerminationNeed, strands_needed, terminations_to_fit
from backhaul.design.kinds import AIR, KINDS
from backhaul.design.model import Segment
from backhaul.figures.power_terms import AC
from backhaul.path.equipment import row_key
from backhaul.path.links import OPTICAL

_CABLE_SECTION = {"fibers": CABLES, "coppers": COPPERS, "feeds": FEEDS}
#: Units of whole pieces; an extra by the metre is a length good, a set is made for its place.
_PIECE_UNITS = ("", "piece", "pieces", "pc", "pcs", "each", "ea")


def order_list(evaluation: Any) -> OrderList:
    """Count what a design takes; pure, from the rows and their things."""
    return _Counter(evaluation).count()


class _Counter:
    def __init__(self, evaluation: Any):
        self.design, self.catalog = evaluation.design, evaluation.catalog
        self.network, self.context = evaluation.network, evaluation.context
        self.spare_percent = evaluation.design.project.spare_percent
        #: strands in the light's way, by the key of a row's thing
        self.strands: dict[tuple, int] = {}
        for link in self.network.links[OPTICAL]:
            needed = strands_needed(link, self.catalog)
            for row in link.rows[1:-1]:
                key = row_key(row)
                self.strands[key] = max(self.strands.get(key, 1), needed)
        self.terminations = terminations_by_row(self.network, self.catalog)
        #: runs of feeds that carry mains
        self.mains = {
            row_key(row.row)
            for line in evaluation.power.lines
            if line.current == AC and not line.is_poe
            for row in line.rows
        }
        self.rows: dict[tuple, list[Segment]] = defaultdict(list)
        for row in self.design.segments:
            self.rows[row_key(row)].append(row)

    def count(self) -> OrderList:
        items, runs = [], []
        terminals: dict[tuple, Terminal] = {}
        for rows in self.rows.values():
            kind = KINDS[rows[0].kind]
            if kind.is_run:
                runs.append(self._run(rows))
            elif kind.medium == AIR:
                add_terminals(rows, self.catalog, terminals)
            else:
                items.append(self._piece(rows))
        for terminal in terminals.values():
            items.extend(terminal.items(self.catalog, self._place))
        joints = list(cable_joints(self.network, self.catalog, forced_joints(runs)))
        items.extend(joint_splices(joints, self.catalog, self._place))
        lines = [
            *self._piece_lines(items),
            *self._joint_lines(joints),
            *self._run_lines(runs),
            *self._plug_lines(),
            *self._extras(),
        ]
        lines += self._fittings(runs, lines, joints)
        lines.sort(key=lambda line: (line.by != TO_ORDER, line.by, SECTIONS.index(line.section)))
        pairs = strand_pairs(self.network, self.catalog, self._place)
        return OrderList(tuple(lines), tuple(pairs), self.spare_percent)

    def _place(self, rows: list[Segment], sites=None) -> Place:
        paths = tuple(dict.fromkeys(path for row in rows for path in row.path))
        if sites is None:
            sites = self.network.places.get(rows[0].id, (rows[0].site, rows[0].to_site))
        return Place(paths, tuple(dict.fromkeys(s for s in sites if s)), rows[0].label or "")

    def _piece(self, rows: list[Segment]) -> Item:
        row = rows[0]
        kind = KINDS[row.kind]
        family = kind.families[0]
        record = getattr(self.catalog, family)[row.part]
        section = {
            "devices": DEVICES,
            "optics": OPTICS,
            "joints": JOINTS,
            "protectors": PROTECTORS,
        }[family]
        count, unit, note = 1, PIECE, ""
        if kind.per_strand:
            each = 1 if row.count is None else row.count
            strands = self.strands.get(row_key(row), 1)
            count = each * strands
            if kind.divides_run:
                count = self.terminations.get(row_key(row), each) * strands
                section, unit, note = WORK, SPLICE, SPLICES
            elif record.kind == "connector":
                unit, note = PAIR, "mated pairs, one a strand: order the adaptors; plugs apart"
            else:
                note = "one a strand"
        return Item(
            section,
            family,
            record,
            row.by or TO_ORDER,
            count,
            unit,
            section != WORK,
            self._place(rows),
            note,
        )

    def _joint_lines(self, joints: list[CableJoint]) -> Iterator[OrderLine]:
        for spared, same, rest in joint_lines(joints, self.network):
            places = tuple(self._place([joint.row]) for joint in same)
            by = same[0].row.by or TO_ORDER
            yield self._line(spared=spared, by=by, places=places, family="", **rest)

    def _run(self, rows: list[Segment]) -> tuple[str, Any, Run]:
        row = rows[0]
        family = KINDS[row.kind].families[0]
        record = getattr(self.catalog, family)[row.part]
        outdoor = self.context.is_outdoor(row)
        project = self.design.project
        needed = 0.0
        if row.length_m is not None:
            needed = needed_length_m(row, record, project, is_outdoor=outdoor)
        made = is_factory_made(record)
        sizes = record.order_lengths_m
        if row.length_m is None:
            lengths: tuple[float, ...] = ()
        elif made and (not sizes or needed > max(sizes)):
            lengths = (needed,)  # plugs on both ends: made to length
        else:
            lengths = tuple(cut_run(needed_m=needed, order_lengths_m=sizes).lengths_m)
        loops = run_loops(row, record, is_outdoor=outdoor)
        run = Run(
            row,
            self._place(rows),
            row.by or TO_ORDER,
            loops,
            needed,
            lengths,
            made,
            row_key(row) in self.mains,
            pieces_of(record, self.strands.get(row_key(row), 1)),
        )
        return family, record, run

    def _piece_lines(self, items: list[Item]) -> Iterator[OrderLine]:
        groups: dict[tuple, list[Item]] = defaultdict(list)
        for item in items:
            groups[(item.section, item.record.part, item.by)].append(item)
        for same in groups.values():
            first = same[0]
            yield self._line(
                section=first.section,
                family=first.family,
                part=first.record.part,
                description=first.record.description or "",
                by=first.by,
                at_sites=tuple(item.at_site for item in same),
                unit=first.unit,
                spared=first.spared,
                places=tuple(item.place for item in same),
                source=first.record.source,
                basis=first.record.basis,
                note=first.note,
            )

    def _line(self, *, needed=None, spared, by, **rest) -> OrderLine:
        if needed is None:
            needed = sum(at.count for at in rest["at_sites"])
        spared = spared and by == TO_ORDER
        spares = int(spare_pieces(needed=needed, spare_percent=self.spare_percent)) if spared else 0
        ordered = rest.pop("to_order", None)
        if ordered is None:
            ordered = needed + spares
        return OrderLine(
            needed=needed,
            spares=spares,
            spared=spared,
            by=by,
            to_order=ordered if by == TO_ORDER else 0,
            **rest,
        )

    def _run_lines(self, runs) -> Iterator[OrderLine]:
        groups: dict[tuple, list[tuple]] = defaultdict(list)
        sheaths = Sheaths(runs, self.catalog)
        for family, record, run in runs:
            length = run.lengths_m[0] if run.factory_made and run.lengths_m else None
            groups[(family, record.part, run.by, length)].append((record, run))
        for (family, part, by, length), same in groups.items():
            record = same[0][0]
            told = tuple(run for _, run in same)
            these = sheaths.ordered(told)
            common = {
                "family": family,
                "part": part,
                "description": record.description or "",
                "by": by,
                "places": tuple(run.place for run in told),
                "source": record.source,
                "basis": record.basis,
                "runs": these,
            }
            if length is None:
                yield self._line(
                    section=_CABLE_SECTION[family],
                    unit=METRE,
                    spared=False,
                    needed=round(sum(run.needed_m for run in these), 6),
                    to_order=sum(shared_lengths(these, record)),
                    shared_m=shared_lengths(these, record),
                    note=sheaths.note(family, told, record),
                    **common,
                )
            else:
                made = length not in record.order_lengths_m
                yield self._line(
                    section=CORDS,
                    unit=PIECE,
                    spared=is_cord(record),
                    needed=sum(run.pieces for run in these),
                    length_m=length,
                    note="made to length: longer than any that is stocked"
                    if made and record.order_lengths_m
                    else "",
                    **common,
                )

    def _plug_lines(self) -> Iterator[OrderLine]:
        groups: dict[tuple, list[TerminationNeed]] = defaultdict(list)
        for need in terminations_to_fit(self.network, self.catalog):
            groups[(need.termination, need.run.by or TO_ORDER)].append(need)
        for (termination, by), needs in groups.items():
            yield self._line(
                section=JOINTS,
                family="",
                part=f"plug {termination}",
                by=by,
                unit=PIECE,
                spared=True,
                description="Pigtail or field plug for a bare end of cable",
                at_sites=tuple(AtSite(self._end_site(need), need.count) for need in needs),
                places=tuple(
                    self._place(self.rows[row_key(need.run)], (self._end_site(need),))
                    for need in needs
                ),
                source="counted from the chain",
                basis="computed",
                note="strands in use only; a pigtail takes a splice",
            )

    def _end_site(self, need: TerminationNeed) -> str | None:
        return self.network.places[need.run.id][need.end]

    def _fittings(self, runs, lines, joints) -> Iterator[OrderLine]:
        """Small parts that the chain implies; where an extra names the part, that counts."""
        told = {line.part for line in lines if line.section == EXTRAS}
        for found in fittings(runs, lines, joints, self.network, self.catalog):
            if found[0] not in told:
                yield self._line(**fitting_line(found, self.catalog))

    def _extras(self) -> Iterator[OrderLine]:
        groups: dict[tuple, list[Any]] = defaultdict(list)
        for extra in self.design.extras:
            what = (extra.part or "", extra.description or "", (extra.unit or "").strip())
            groups[(*what, extra.by or TO_ORDER)].append(extra)
        for (part, description, unit, by), extras in groups.items():
            at_sites = tuple(
                AtSite(extra.site or None, 1 if extra.count is None else extra.count)
                for extra in extras
            )
            count = sum(at.count for at in at_sites)
            is_piece = unit.lower() in _PIECE_UNITS and count == int(count)
            yield self._line(
                section=EXTRAS,
                family="",
                part=part,
                by=by,
                description=description,
                unit=unit or PIECE,
                at_sites=at_sites,
                spared=is_piece and not is_structure(part, description),
                places=tuple(Place((), (e.site,) if e.site else ()) for e in extras),
                source="extras of the design",
                basis="not checked",
                note="; ".join(dict.fromkeys(e.note for e in extras if e.note)),
            )
