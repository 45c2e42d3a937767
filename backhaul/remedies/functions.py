"""What a part is there for: what another one in its place must not have less of."""

from collections import Counter
from collections.abc import Iterator
from typing import Any

from backhaul.budgets.order_hybrids import sheath
from backhaul.budgets.site_supply import site_volts, takes_volts
from backhaul.checks.results import Results
from backhaul.design.kinds import KINDS

#: In the name of a supply that carries on without the mains.
_BATTERY = "battery"


def stores(part: Any) -> bool:
    """Whether a supply keeps a battery: it says so, holds energy, or charges one."""
    held = (getattr(part, name, None) for name in ("battery_wh", "charge_w"))
    return _BATTERY in part.part or any(held)


def loses_function(before: Results, after: Results) -> bool:
    """Whether a part that was swapped does less: no finding tells what nobody asked for yet.

    A battery, the power of the same kind of output, the earth of a feed, the rate of the fastest
    port of a device. One that does not work on the voltage that the old one works on does nothing.
    """
    was = {(path, row.step): row for row in before.design.segments for path in row.path[:1]}
    for row in after.design.segments:
        old = was.get((row.path[0], row.step))
        if old is None or old.part == row.part or old.kind != row.kind:
            continue
        if row.kind in ("device", "feed"):
            family = getattr(after.context.catalog, KINDS[row.kind].families[0])
            if any(_less(after.context.catalog, family[row.part], family[old.part])):
                return True
            if any(_wants_other_volts(before, old, family[row.part], family[old.part])):
                return True
    return bool(_halves(after) - _halves(before))


def _halves(results: Results) -> Counter:
    """Rows of hybrid cables without the other row of their sheath: what is in it would lie unused."""
    rows: Counter = Counter()
    for row in results.design.segments:
        if row.part and results.context.catalog.is_hybrid(row.part):
            way = sheath(row.part, results.network.places[row.id], row.length_m, row.by)
            rows[way] += 1 if row.kind == "fiber" else -1
    halves: Counter = Counter()
    for (_, *way), count in rows.items():
        halves[tuple(way)] += abs(count)
    return halves


def _wants_other_volts(before: Results, row: Any, new: Any, old: Any) -> Iterator[bool]:
    """At each voltage that feeds a part, else on its nominal one: whether it alone works there.

    Nothing is found where a feed has no solution, or where no row feeds a device.
    """
    if getattr(old, "supply", None) != getattr(new, "supply", None):
        return
    fed = [
        line.values["nominal_v"]
        for lines in before.context.power.to_load.values()
        for line in lines
        if any(row.id in load.row_ids for load in line.equipment)
    ]
    for volts in fed or [site_volts(old, before.design.project.region)]:
        yield takes_volts(old, volts) and not takes_volts(new, volts)


def _less(catalog: Any, new: Any, old: Any) -> Iterator[bool]:
    if hasattr(old, "conductors"):
        yield None not in (new.conductors, old.conductors) and new.conductors < old.conductors
        return
    if new.output == old.output:
        yield stores(old) and not stores(new)
        yield None not in (new.output_w, old.output_w) and new.output_w < old.output_w
    yield _fastest(catalog, new.part) < _fastest(catalog, old.part)


def _fastest(catalog: Any, part: str) -> float:
    """Rate of the fastest port of a device [Mb/s], 0 where it has none."""
    ports = catalog.ports.get(part, ())
    return max((rate for port in ports for rate in port.rates_mbps), default=0.0)
