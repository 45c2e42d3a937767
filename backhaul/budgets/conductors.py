"""Resistance and temperature of copper links and feeds, row by row."""

from typing import Any

from backhaul.design.columns import DEFAULT_CABLE_C
from backhaul.design.kinds import KINDS
from backhaul.design.model import Design, Segment
from backhaul.figures.arrays import number
from backhaul.path.links import Link
from backhaul.path.network import Network
from backhaul.physics import copper, supply


def cable_temperature_c(row: Segment, network: Network, design: Design) -> float:
    """Temperature that a run is judged at: typed, else the warmer site's, else 20 °C."""
    if row.cable_temperature_c is not None:
        return row.cable_temperature_c
    warmest = [
        site.ambient_max_c
        for name in network.places[row.id]
        if (site := design.sites.get(name)) is not None and site.ambient_max_c is not None
    ]
    return max(warmest, default=DEFAULT_CABLE_C)


def poe_pairs(line: Any) -> int:
    """Pairs that carry the power of a PoE line: as both ports say, else as the class implies."""
    named = [p.poe_pairs for p in (line.source_port, line.load_port) if p.poe_pairs]
    if named:
        return int(min(named))
    poe_class = supply.POE_CLASSES.get(line.load_port.poe_class)
    return poe_class.pairs if poe_class else 2


def row_resistance(
    row: Segment, network: Network, catalog: Any, design: Design, *, pairs: int | None
) -> tuple[float, float]:
    """Loop resistance and reactance of one row [ohm].

    pairs: those of twisted pairs that carry the power, None for a feed.
    """
    kind = KINDS[row.kind]
    part = getattr(catalog, kind.families[0])[row.part]
    if not kind.is_run:
        return part.ohm or 0.0, 0.0
    warm_c = cable_temperature_c(row, network, design)
    length_m = number(row.length_m)
    ohm_per_km = float("nan") if part.ohm_per_km is None else part.ohm_per_km
    if pairs is not None:
        ohm = copper.pairs_loop_ohm(
            ohm_per_km=ohm_per_km, length_m=length_m, pairs=pairs, temperature_c=warm_c
        )
        return ohm, 0.0
    ohm = supply.feed_loop_ohm(length_m=length_m, ohm_per_km=ohm_per_km, temperature_c=warm_c)
    reactance = supply.feed_loop_reactance_ohm(
        length_m=length_m, reactance_ohm_per_km=part.reactance_ohm_per_km or 0.0
    )
    return ohm, reactance


def link_resistance(
    link: Link, network: Network, catalog: Any, design: Design, *, pairs: int | None
) -> tuple[float, float]:
    """Loop resistance and reactance of a whole link [ohm], protectors in line counted."""
    ohm = reactance = 0.0
    for row in link.rows:
        row_ohm, row_reactance = row_resistance(row, network, catalog, design, pairs=pairs)
        ohm += row_ohm
        reactance += row_reactance
    return ohm, reactance
