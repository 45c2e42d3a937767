"""The order list of two revisions as plus and minus, with prices where a catalogue has them."""

from collections.abc import Iterable
from typing import NamedTuple

from backhaul.budgets.order_lines import SECTIONS, OrderLine
from backhaul.budgets.order_list import order_list
from backhaul.checks.results import Results

_DUST = 1e-6


class OrderChange(NamedTuple):
    """How much more or less of a part is ordered; price: each, None where no catalogue has one."""

    section: str
    part: str
    pack: str
    unit: str
    before: float
    after: float
    price_before: float | None
    price_after: float | None

    @property
    def more(self) -> float:
        return round(self.after - self.before, 6)

    @property
    def is_priced(self) -> bool:
        """Whether what it costs more or less can be told."""
        return not (
            (self.before and self.price_before is None) or (self.after and self.price_after is None)
        )

    @property
    def cost(self) -> float | None:
        """What it costs more, less than nothing where it is saved."""
        if not self.is_priced:
            return None
        was = self.before * (self.price_before or 0.0)
        return self.after * (self.price_after or 0.0) - was


class Orders(NamedTuple):
    """All that changed of an order, and which parts are ordered for the first or the last time."""

    lines: tuple[OrderChange, ...]
    newly: tuple[str, ...]
    no_longer: tuple[str, ...]

    @property
    def cost(self) -> float | None:
        """Sum of the lines with a price, None where none has one."""
        costs = [line.cost for line in self.lines if line.cost is not None]
        return sum(costs) if costs else None

    @property
    def unpriced(self) -> int:
        return sum(not line.is_priced for line in self.lines)


def order_changes(old: Results, new: Results) -> Orders:
    """Plus and minus of what is to be ordered."""
    before, after = _ordered(old), _ordered(new)
    changes = []
    for key in {**before, **after}:
        was, now = before.get(key), after.get(key)
        change = OrderChange(
            *key,
            sum(line.to_order for line in was or ()),
            sum(line.to_order for line in now or ()),
            _price(old, was),
            _price(new, now),
        )
        if abs(change.more) > _DUST or (was and now and change.price_before != change.price_after):
            changes.append(change)
    changes.sort(key=lambda line: (SECTIONS.index(line.section), line.part, line.pack))
    parts = [{key[1] for key in lines} for lines in (before, after)]
    return Orders(
        tuple(changes), tuple(sorted(parts[1] - parts[0])), tuple(sorted(parts[0] - parts[1]))
    )


def _ordered(results: Results) -> dict[tuple[str, str, str, str], list[OrderLine]]:
    found: dict[tuple[str, str, str, str], list[OrderLine]] = {}
    for line in order_list(results).lines_by(""):
        length = f"of {line.length_m:g} m" if line.length_m is not None else ""
        what = line.part or line.description
        found.setdefault((line.section, what, length, line.unit), []).append(line)
    return found


def _price(results: Results, lines: Iterable[OrderLine] | None) -> float | None:
    for line in lines or ():
        record = getattr(results.catalog, line.family, {}).get(line.part) if line.family else None
        price = getattr(record, "price", None)
        if price is not None:
            return float(price)
    return None
