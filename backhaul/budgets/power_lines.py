"""Lines of power: which links carry it, from which source to which loads, through which rows."""

from collections import defaultdict
from collections.abc import Iterator
from typing import Any

from backhaul.budgets.conductors import is_by_gauge, line_rows
from backhaul.design.kinds import KINDS
from backhaul.figures.power_guard_terms import (
    FUSED,
    FUSED_AND_LIMITED,
    FUSED_TO_TABLE,
    LIMITED,
    ON_MAINS,
    STATED_LIMIT,
    STIFF,
    UNFUSED,
    UNGUARDED,
)
from backhaul.figures.power_terms import (
    AC,
    CHARGED,
    CLASSIFIED,
    DC,
    MAINS,
    PASSED_ON,
    REGULATED,
    STATED,
    LineRow,
)
from backhaul.path.ends import PowerEnd
from backhaul.path.equipment import Equipment, row_key
from backhaul.path.links import COPPER, FEED, OPTICAL, Link
from backhaul.path.network import Network
from backhaul.path.ports import PASSIVE, powers


class PowerLine:
    """A link that carries power from a source to its loads, and its figures."""

    __slots__ = (
        "link",
        "source",
        "loads",
        "is_reversed",
        "rows",
        "values",
        "load_values",
        "depth",
        "current",
        "passes_on",
        "highest_basis",
        "limit_basis",
        "guard",
        "run",
    )

    def __init__(
        self,
        *,
        link: Link,
        source: PowerEnd,
        loads: tuple[PowerEnd, ...],
        is_reversed: bool = False,
    ):
        self.link = link
        self.source = source
        self.loads = loads
        self.is_reversed = is_reversed  # the source is at the link's far end
        self.rows: tuple[LineRow, ...] = ()
        self.values: dict[str, Any] = {}
        #: figures of LOAD_TERMS and STANDS_TERMS of each of its loads
        self.load_values: list[dict[str, Any]] = []
        self.depth = 0
        #: DC (PoE too) or AC
        self.current = DC
        #: the source has no voltage of its own: it passes on what arrives at it
        self.passes_on = False
        self.highest_basis = REGULATED
        #: what limits the current into a short, and what ends one that lasts too long
        self.limit_basis, self.guard = STIFF, UNGUARDED
        #: the row that a finding on the line stands on: a run of its own, where it has one
        self.run = link.run

    @property
    def is_poe(self) -> bool:
        return self.link.kind == COPPER

    @property
    def relied_on(self) -> str:
        """Whose breaker a short must trip: on the mains always, else as `guard` says."""
        if self.guard == FUSED_TO_TABLE:
            return FUSED
        return ON_MAINS if self.current == AC and self.guard == FUSED_AND_LIMITED else self.guard

    @property
    def load(self) -> PowerEnd:
        """Its first load; of PoE the only one."""
        return self.loads[0]

    @property
    def equipment(self) -> list[Equipment]:
        """What it feeds."""
        return [load.equipment for load in self.loads]


def power_lines(network: Network, catalog: Any, design: Any) -> tuple[PowerLine, ...]:
    """Every line of a design, PoE first, with its rows and how its voltages are had."""
    lines = (*_poe_lines(network), *_feed_lines(network))
    fed_by: dict[tuple, list[PowerLine]] = defaultdict(list)
    for line in lines:
        if not line.is_poe and getattr(line.source.record, "output", None) == AC:
            line.current = AC
        for load in line.loads:
            fed_by[load.equipment.key].append(line)
    for line in lines:
        line.rows = line_rows(line, network, catalog, design)
        above = fed_by.get(line.source.equipment.key, ())
        line.passes_on = (
            line.is_poe
            and line.source.port.volts is None
            and any(each.current == DC for each in above)
        )
        line.highest_basis = _highest_basis(line)
        line.limit_basis = _limit_basis(line)
        line.guard = _guard(line)
    own_rows(lines)
    return lines


def own_rows(lines: tuple[PowerLine, ...]) -> None:
    """Let findings stand on a run that no other line uses."""
    shared = {place for places in shared_rows(lines).values() for place in places}
    for number, line in enumerate(lines):
        for place, row in enumerate(line.rows):
            if KINDS[row.row.kind].is_run and (number, place) not in shared:
                line.run = row.row
                break


def _poe_lines(network: Network) -> Iterator[PowerLine]:
    for link in network.links[COPPER]:
        near, far = PowerEnd(link.near, link.near_port), PowerEnd(link.far, link.far_port)
        for is_reversed, source, load in ((False, near, far), (True, far, near)):
            if powers(source.port, load.port):
                yield PowerLine(link=link, source=source, loads=(load,), is_reversed=is_reversed)
                break


def _feed_lines(network: Network) -> Iterator[PowerLine]:
    for link in network.links[FEED]:
        loads = tuple(PowerEnd(equipment) for equipment in link.loads)
        yield PowerLine(link=link, source=PowerEnd(link.near), loads=loads)


def _highest_basis(line: PowerLine) -> str:
    record, port = line.source.record, line.source.port
    if line.is_poe:
        if port.max_volts is not None:
            return STATED
        if port.poe_class != PASSIVE:
            return CLASSIFIED
        return PASSED_ON if line.passes_on else REGULATED
    if getattr(record, "output_max_volts", None) is not None:
        return STATED
    if line.current == AC:
        return MAINS
    has_battery = any(getattr(record, name, None) for name in ("battery_wh", "charge_w"))
    return CHARGED if has_battery else REGULATED


def _limit_basis(line: PowerLine) -> str:
    """What limits the current of a feed into a short; a battery on its output is limited by none."""
    record = line.source.record
    if line.is_poe:
        return STIFF
    if getattr(record, "short_circuit_a", None) is not None:
        return STATED_LIMIT
    is_converter = getattr(record, "supply", None) in (AC, DC, "PoE")
    has_battery = line.current == DC and any(
        getattr(record, name, None) for name in ("battery_wh", "charge_w")
    )
    known = None not in (getattr(record, "output_w", None), getattr(record, "output_volts", None))
    return LIMITED if is_converter and known and not has_battery else STIFF


def _guard(line: PowerLine) -> str:
    is_limited = line.limit_basis != STIFF
    if line.is_poe or getattr(line.source.record, "breaker_a", None) is None:
        return UNFUSED if is_limited else UNGUARDED
    if _is_to_table(line):
        return FUSED_TO_TABLE
    return FUSED_AND_LIMITED if is_limited else FUSED


def _is_to_table(line: PowerLine) -> bool:
    """Whether conductors sized by gauge have a breaker that their table allows in air of 30 °C."""
    runs = [row.part for row in line.rows if KINDS[row.row.kind].is_run]
    carried = [part.ampacity_a for part in runs if getattr(part, "ampacity_a", None)]
    by_gauge = any(map(is_by_gauge, runs))
    return by_gauge and bool(carried) and line.source.record.breaker_a <= min(carried)


def set_depths(lines, from_source) -> list[Equipment]:
    """Depth of a line: 0 feeds only loads that pass nothing on. Returns things in a loop.

    Without recursion: a chain of supplies may be a thousand long.
    """
    looped: dict[tuple, Equipment] = {}
    done: set[int] = set()
    on_way: set[tuple] = set()

    def below(line: PowerLine) -> Iterator[tuple[tuple, PowerLine]]:
        for equipment in line.equipment:
            if equipment.key in on_way:
                looped[equipment.key] = equipment
                continue
            for each in from_source.get(equipment.key, ()):
                yield equipment.key, each

    for root in lines:
        if id(root) in done:
            continue
        frames = [(root.source.equipment.key, root, below(root))]
        deepest = [-1]
        on_way.add(root.source.equipment.key)
        while frames:
            key, line, waiting = frames[-1]
            entry = next(waiting, None)
            if entry is None:
                line.depth = deepest.pop() + 1
                done.add(id(line))
                frames.pop()
                on_way.discard(key)
                if deepest:
                    deepest[-1] = max(deepest[-1], line.depth)
            elif id(entry[1]) in done:
                deepest[-1] = max(deepest[-1], entry[1].depth)
            else:
                on_way.add(entry[0])
                frames.append((*entry, below(entry[1])))
                deepest.append(-1)
    return list(looped.values())


def optics_in(network: Network, catalog: Any) -> dict[tuple, list[Any]]:
    """Optics in each device, by its key; an optic counts once."""
    found: dict[tuple, list[Any]] = defaultdict(list)
    seen = set()
    for link in network.links[OPTICAL]:
        for equipment, row in ((link.near, link.rows[0]), (link.far, link.rows[-1])):
            if equipment is not None and row_key(row) not in seen:
                seen.add(row_key(row))
                found[equipment.key].append(catalog.optics[row.part])
    return dict(found)


def optics_watts(network: Network, catalog: Any) -> dict[tuple, float]:
    """Watts of the optics in each device, by its key."""
    return {
        key: sum(record.watts or 0.0 for record in records)
        for key, records in optics_in(network, catalog).items()
    }


def shared_rows(lines: tuple[PowerLine, ...]) -> dict[tuple, list[tuple[int, int]]]:
    """Runs that several lines of one source share by label: places of the line and of the row."""
    found: dict[tuple, list[tuple[int, int]]] = defaultdict(list)
    for number, line in enumerate(lines):
        for place, row in enumerate(line.rows):
            if row.row.label and not line.is_poe:
                key = (line.source.equipment.key, row_key(row.row))
                found[key].append((number, place))
    return {key: places for key, places in found.items() if len(places) > 1}


def feed_groups(lines: tuple[PowerLine, ...]) -> tuple[tuple[PowerLine, ...], ...]:
    """The feeds of a design, those together that share a run."""
    group = {n: [n] for n, line in enumerate(lines) if not line.is_poe}
    for places in shared_rows(lines).values():
        first, *others = dict.fromkeys(n for n, _ in places)
        for other in others:
            if group[other] is not group[first]:
                group[first].extend(group[other])
                for number in group[other]:
                    group[number] = group[first]
    found = {id(numbers): numbers for numbers in group.values()}
    return tuple(tuple(lines[n] for n in sorted(numbers)) for numbers in found.values())
