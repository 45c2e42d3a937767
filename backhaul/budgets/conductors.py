"""Temperature and route of copper links and feeds, row by row."""

from typing import Any

from backhaul.design.columns import DEFAULT_CABLE_C
from backhaul.design.kinds import KINDS
from backhaul.design.model import Design, Segment
from backhaul.figures.power_terms import LineRow
from backhaul.path.ends import PowerEnd
from backhaul.path.network import Network
from backhaul.path.routes import is_in_the_sun
from backhaul.physics import copper
from backhaul.physics.poe import POE_CLASSES
from backhaul.tables.gauges import gauge_of

#: Pairs that carry power where no class tells (IEEE 802.3 Clause 33).
DEFAULT_PAIRS = 2


def is_by_gauge(part: Any) -> bool:
    """Whether a conductor is of a size of the American wire gauge, whatever its name says.

    Its capacity is then that of NFPA 70, and one of its own system is offered for it.
    """
    area_mm2 = getattr(part, "area_mm2", None)
    return area_mm2 is not None and gauge_of(area_mm2) is not None


def cable_temperature_c(row: Segment, network: Network, design: Design) -> float:
    """Temperature that a run is judged at: typed, else the warmer site's and the sun's, else 20 °C."""
    if row.cable_temperature_c is not None:
        return row.cable_temperature_c
    warmest = [
        site.ambient_max_c
        for name in network.places[row.id]
        if (site := design.sites.get(name)) is not None and site.ambient_max_c is not None
    ]
    if not warmest:
        return DEFAULT_CABLE_C
    rise_k = design.project.sun_rise_c if is_in_the_sun(row, network, design.sites) else 0.0
    return copper.cable_temperature_c(air_c=max(warmest), rise_k=rise_k)


def poe_pairs(source: PowerEnd, load: PowerEnd) -> int:
    """Pairs that carry the power of a PoE line: as both ports say, else as the class implies."""
    named = [end.port.poe_pairs for end in (source, load) if end.port.poe_pairs]
    if named:
        return int(min(named))
    poe_class = POE_CLASSES.get(load.port.poe_class)
    return poe_class.pairs if poe_class else DEFAULT_PAIRS


def line_rows(
    line: Any, network: Network, catalog: Any, design: Design, *, part: str = ""
) -> tuple[LineRow, ...]:
    """Rows of a line of power; with a `part`, its runs of that part in place of theirs."""
    pairs = poe_pairs(line.source, line.load) if line.is_poe else None
    rows = []
    for row in line.link.rows:
        kind = KINDS[row.kind]
        name = part if part and kind.is_run else row.part
        record = getattr(catalog, kind.families[0])[name]
        warm_c = cable_temperature_c(row, network, design) if kind.is_run else float("nan")
        rows.append(LineRow(row, record, warm_c, pairs if kind.is_run else None))
    return tuple(rows)
