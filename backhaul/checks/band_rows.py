"""Which rows of the band table take a channel of a radio: all of its width, by rules that agree."""

import re
from itertools import pairwise
from typing import Any

from backhaul.budgets.hubs import SECTOR_DEG
from backhaul.checks.context import Context
from backhaul.path.ends import FDD, HopDirection
from backhaul.units import MHZ_PER_GHZ

#: Paragraphs at the end of a rule, as in "47 CFR 15.407(a)(2)": the rule is the document before.
_PARAGRAPHS = re.compile(r"(\([0-9a-z]+\))+$")
#: Edges are compared to a hertz.
_DECIMALS = 9


def edges_ghz(ghz: float, width_mhz: float) -> tuple[float, float]:
    """Where a channel begins and ends [GHz]; of a width that is not known, its centre.

    >>> edges_ghz(5.6, 40), edges_ghz(5.6, float("nan"))
    ((5.58, 5.62), (5.6, 5.6))
    """
    half = 0.0 if width_mhz != width_mhz else width_mhz / 2 / MHZ_PER_GHZ
    return round(ghz - half, _DECIMALS), round(ghz + half, _DECIMALS)


def rows_of(context: Context) -> list[Any]:
    """Rows of the region of the design."""
    return [b for b in context.catalog.bands if b.region == context.design.project.region]


def rows_for(context: Context, way: HopDirection) -> list[Any]:
    """Rows of the region that are for a direction."""
    found = rows_of(context)
    if not_to_one_point(context, way) is None:
        return found
    return [band for band in found if not band.one_far_end]


def not_to_one_point(context: Context, way: HopDirection) -> str | None:
    """Why what an end sends is not point to point, None where it is.

    47 CFR 15.407(a)(3), from memory: point-to-multipoint systems and omnidirectional applications
    are not. What a far end sends through a directional antenna goes to its hub alone.
    """
    hops, end = context.radio.hops, way.sender
    if hops.beamwidth_deg[way.hop, end.number] >= SECTOR_DEG:
        return f"the antenna at {end.name} is not directional"
    if not end.is_far and hops.hubs.shared(way.hop) is not None:
        return f"{way.row.hub} serves several far ends"
    return None


def takes_licence(radio: Any) -> bool:
    """Whether a radio is made for bands under licence; blank: two frequencies are, one is not."""
    return radio.duplex == FDD if radio.licensed is None else radio.licensed


def is_open(context: Context, row: Any, radio: Any, ghz: float, width_mhz: float) -> bool:
    """Whether some rule takes a channel of a hop, whatever the power; yes where none is asked."""
    if context.design.project.region is None or row.eirp_limit_dbm is not None:
        return True
    return bool(ways_to_take(rows_of(context), ghz, width_mhz, takes_licence(radio)))


def ways_to_take(bands: list[Any], ghz: float, width_mhz: float, licensed: bool) -> list:
    """Ways to take the whole channel: each a list of pieces, each piece the rows that take it.

    Mostly one row takes it; where none does, rows of one document that meet inside it may, piece by
    piece: no hop is half under a licence. licensed: the radio is made for bands under licence.
    """
    low, high = edges_ghz(ghz, width_mhz)
    bands = [band for band in bands if licensed or not band.licensed]
    taking = [band for band in bands if _takes(band, low, high)]
    # where a band is both licensed and free, the licence is what eirp_limit_dbm says
    free = [band for band in taking if not band.licensed]
    if taking:
        return [[[band]] for band in free or taking]
    ways = (_pieces(alike, low, high) for alike in _by_document(bands, low, high))
    return [pieces for pieces in ways if all(pieces)]


def _by_document(bands, low: float, high: float) -> list[list[Any]]:
    """Rows that the channel touches, those of one document and kind together."""
    found: dict[tuple, list[Any]] = {}
    for band in bands:
        if band.frequency_min_ghz < high and low < band.frequency_max_ghz:
            found.setdefault((_document(band.rule), bool(band.licensed)), []).append(band)
    return list(found.values())


def _document(rule: str) -> str:
    """The document of a rule, without the paragraphs in it.

    >>> _document("47 CFR 15.407(a)(2)"), _document("ECC/DEC/(04)08; EN 301 893")
    ('47 CFR 15.407', 'ECC/DEC/(04)08; EN 301 893')
    """
    return _PARAGRAPHS.sub("", rule)


def _pieces(bands, low: float, high: float) -> list[list[Any]]:
    borders = {edge for b in bands for edge in (b.frequency_min_ghz, b.frequency_max_ghz)}
    edges = [low, *sorted(edge for edge in borders if low < edge < high), high]
    return [[band for band in bands if _takes(band, one, two)] for one, two in pairwise(edges)]


def _takes(band, low: float, high: float) -> bool:
    return band.frequency_min_ghz <= low and high <= band.frequency_max_ghz


def why_none_takes(context: Context, way: HopDirection, ghz: float, width_mhz: float) -> str:
    """Why no row takes the channel of a direction: of one far end, under licence, across two rules,
    or none there."""
    radio, region, bands = way.sender.radio, context.design.project.region, rows_of(context)
    low, high = edges_ghz(ghz, width_mhz)
    channel = f"a channel of {width_mhz:g} MHz at {ghz:g} GHz"
    to_one_point = ways_to_take(bands, ghz, width_mhz, takes_licence(radio))
    if to_one_point:
        return (
            f"{channel} lies in a band of {region} for fixed point to point alone "
            f"({to_one_point[0][0][0].rule}), {not_to_one_point(context, way)}"
        )
    others = ways_to_take(bands, ghz, width_mhz, True)
    if others and not takes_licence(radio):
        rule = others[0][0][0].rule
        return (
            f"{channel} lies in a band of {region} under licence ({rule}), {radio.part} is made for "
            "licence-exempt bands"
        )
    touched = [alike[0] for alike in _by_document(bands, low, high)]
    if len(touched) > 1:
        rules = " and ".join(dict.fromkeys(band.rule for band in touched))
        return (
            f"{channel}, {low:g} to {high:g} GHz, lies across bands of unlike rules of {region} "
            f"({rules}), and no one of them takes the whole of it"
        )
    return f"no band of {region} in the catalogue takes {channel}"
