"""Which fixed attenuator of the catalogue settles the overload of a link, at both tolerances."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from itertools import combinations_with_replacement
from typing import Any, NamedTuple

import numpy as np

from backhaul.figures.optical_items import ATTENUATOR
from backhaul.path.links import Link
from backhaul.physics.attenuators import NONE_HELPS, NONE_NEEDED, choose_attenuator
from backhaul.units import DECIMALS


class Size(NamedTuple):
    """A nominal value of the catalogue, at the worst of what is sold under it [dB]."""

    nominal_db: float
    min_db: float
    max_db: float


def sizes_for(optic: Any, modes: Sequence[str], catalog: Any) -> tuple[Size, ...]:
    """Attenuators that go before this optic, by nominal value, so that any part of it will do."""
    groups: dict[float, list[Any]] = defaultdict(list)
    for part in catalog.joints.values():
        if part.kind == ATTENUATOR and _fits(part, optic, modes):
            nominal = part.max_db if part.typical_db is None else part.typical_db
            groups[nominal].append((nominal if part.min_db is None else part.min_db, part.max_db))
    return tuple(
        Size(nominal, min(low for low, _ in parts), max(high for _, high in parts))
        for nominal, parts in sorted(groups.items())
    )


def _fits(part: Any, optic: Any, modes: Sequence[str]) -> bool:
    mates = (optic.receptacle in (None, part.family)) and (optic.polish in (None, part.polish))
    return (part.family is None or mates) and part.mode in (None, *modes)


#: What a cell says where no attenuator settles it.
NONE_SETTLES = "none alone"


def fitted_attenuator(*, needed_db, most_needed_db, least_margin_db, sizes: Sequence[Size]):
    """The attenuator to fit in one direction [dB], 0 where it needs none, as a cell.

    needed_db: of this direction. most_needed_db, least_margin_db: of both, since it stands in
    both: cells. The same choice as `choose_attenuator`, over sizes in rising order.

    >>> from backhaul.spreadsheet.formula import Cell
    >>> needed = {"needed_db": Cell("B1"), "most_needed_db": Cell("B2")}
    >>> fitted_attenuator(**needed, least_margin_db=Cell("B3"), sizes=(Size(5, 4.5, 5.5),)).text
    'IF(B1<=0,0,IF(AND(ROUND(B2-4.5,6)<=0,ROUND(B3-5.5,6)>=0),5,"none alone"))'
    """
    found = NONE_SETTLES
    for size in reversed(sizes):
        reaches = np.round(most_needed_db - size.min_db, DECIMALS) <= 0
        leaves = np.round(least_margin_db - size.max_db, DECIMALS) >= 0
        found = np.where(np.logical_and(reaches, leaves), size.nominal_db, found)
    return np.where(needed_db <= 0, 0, found)


def overloaded_end(link: Link, needed_db: Sequence[float]) -> int:
    """The direction whose receiver gets too much light, of two the one that gets more."""
    return int(np.nanargmax(needed_db)) if not np.isnan(needed_db).all() else 0


def link_sizes(
    link: Link, modes: Sequence[str], needed_db: Sequence[float], catalog: Any
) -> tuple[Size, ...]:
    """Attenuators that can be fitted where a link has too much light."""
    way = overloaded_end(link, needed_db)
    receiver = catalog.optics[link.rows[-1 if way == 0 else 0].part]
    return sizes_for(receiver, modes, catalog)


def attenuators_to_fit(
    links: Sequence[Link], modes: Sequence[Sequence[str]], values: Mapping[str, Any], catalog: Any
) -> np.ndarray:
    """Attenuator by direction [dB]: 0 none needed, NaN where none helps or it is not known.

    One row stands in both directions of a link, so it must leave a margin in both.
    """
    needed = values["attenuation_needed_db"]
    no_limit = np.isnan(values["overload_dbm"]) & ~np.isnan(values["received_max_dbm"])
    found = np.where(no_limit | (needed <= 0), 0.0, np.nan)
    for direction in np.flatnonzero(needed > 0):
        link = links[direction // 2]
        sizes = _sizes_of(link, modes, values, catalog)
        place = _settling(link, values, sizes)
        if place is not None:
            found[direction] = sizes[place].nominal_db
    return found


def two_to_fit(
    link: Link, modes: Sequence[Sequence[str]], values: Mapping[str, Any], catalog: Any
) -> tuple[Size, Size] | None:
    """Two attenuators in series where none alone settles a link, the smallest sum; None if none."""
    sizes = _sizes_of(link, modes, values, catalog)
    if _settling(link, values, sizes) is not None:
        return None
    pairs = list(combinations_with_replacement(sizes, 2))
    place = _settling(link, values, [Size(*map(sum, zip(*pair, strict=True))) for pair in pairs])
    return None if place is None else pairs[place]


def _sizes_of(link: Link, modes, values, catalog) -> tuple[Size, ...]:
    needed = values["attenuation_needed_db"][2 * link.index : 2 * link.index + 2]
    return link_sizes(link, modes[link.index], needed, catalog)


def _settling(link: Link, values: Mapping[str, Any], sizes: Sequence[Size]) -> int | None:
    """Which of these settles a link in both directions, the smallest nominal value."""
    pair = slice(2 * link.index, 2 * link.index + 2)
    choice = choose_attenuator(
        margin_db=values["margin_db"][pair],
        overload_margin_db=values["overload_margin_db"][pair],
        wanted_overload_margin_db=values["wanted_overload_margin_db"][pair][0],
        nominal_db=[size.nominal_db for size in sizes],
        min_db=[size.min_db for size in sizes],
        max_db=[size.max_db for size in sizes],
    )
    return None if choice in (NONE_HELPS, NONE_NEEDED) else int(choice)
