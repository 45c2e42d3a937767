"""What stands where: every physical thing once, with its part and its sites."""

from typing import Any, NamedTuple

from backhaul.design.kinds import KINDS
from backhaul.design.model import Design, Segment
from backhaul.path.equipment import row_key
from backhaul.path.links import OPTICAL
from backhaul.path.network import Network
from backhaul.physics.environment import OUTDOOR_IP, case_temperature_c, ip_meets


class Placed(NamedTuple):
    """A physical thing with its part, the sites that it stands at, and what it counts for."""

    row: Segment
    record: Any
    sites: tuple[Any, ...]
    paths: tuple[str, ...]
    row_ids: tuple[int, ...]
    column: str = "part"
    #: the device that an optic is in: its air is the optic's
    host: Any = None
    #: of an optic: its case above the air around that device
    cage_rise_c: float = 0.0

    def case_rise_c(self, site: Any) -> float:
        """Rise over ambient of what its limits hold for: an optic's case, else the air [K]."""
        return case_temperature_c(air_c=self.rise_c(site), cage_rise_c=self.cage_rise_c)

    def rise_c(self, site: Any) -> float:
        """Rise over ambient of the air around it at a site [K].

        A sealed housing is the enclosure of the optics in it: its own watts and the sun warm them.
        """
        if self.host is not None:
            return site.rise_c
        return rise_c_of(self.record, site, enclosed=KINDS[self.row.kind].enclosed)


def rise_c_of(record: Any, site: Any, *, enclosed: bool) -> float:
    """Rise over ambient that equipment stands in [K]: none where it is IP54 or better, which
    stands in the open.

    enclosed: of a kind that stands in an enclosure. Source: rules of the project, IEC 60529.
    """
    code = getattr(record, "ip_code", None)
    in_the_open = code and ip_meets(rated=code, needed=OUTDOOR_IP)
    return site.rise_c if enclosed and not in_the_open else 0.0


def place_equipment(network: Network, design: Design, catalog: Any) -> tuple[Placed, ...]:
    """Equipment at its site, runs and joints at both of theirs; nothing whose site is unknown."""
    sites = design.sites
    if not sites:
        return ()
    found = []
    for equipment in network.all_equipment.values():
        if equipment.site and equipment.site in sites:
            column = "to_part" if equipment.end == "far" and equipment.segment.to_part else "part"
            found.append(
                Placed(
                    equipment.segment,
                    equipment.record,
                    (sites[equipment.site],),
                    tuple(equipment.paths),
                    tuple(equipment.row_ids),
                    column,
                )
            )
    records = {
        name: getattr(catalog, kind.families[0])
        for name, kind in KINDS.items()
        if not kind.has_ports
    }
    seen = set()
    hosts = {
        row.id: equipment
        for link in network.links[OPTICAL]
        for row, equipment in ((link.rows[0], link.near), (link.rows[-1], link.far))
    }
    for row in design.segments:
        if row.kind not in records:
            continue
        if row.label:
            if row_key(row) in seen:
                continue
            seen.add(row_key(row))
        start, end = network.places[row.id]
        places = tuple(
            sites[name]
            for name in ((start,) if start == end else (start, end))
            if name and name in sites
        )
        if places:
            found.append(
                Placed(
                    row,
                    records[row.kind][row.part],
                    places,
                    network.paths_of(row),
                    (row.id,),
                    host=hosts.get(row.id),
                    cage_rise_c=design.project.cage_rise_c if KINDS[row.kind].ends_light else 0.0,
                )
            )
    return tuple(found)
