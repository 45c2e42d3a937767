"""Terminals that several hops share: which hops, where the antenna points, who lies beside it."""

from typing import NamedTuple

import numpy as np

from backhaul.physics.sectors import angle_between_deg, middle_azimuth_deg

OMNI_DEG = 360.0
#: From this beam on an antenna is a sector and not directional; common practice.
SECTOR_DEG = 60.0


class Hubs(NamedTuple):
    """Arrays over hops; -1 and NaN where a hop has no hub of its own."""

    #: number of the hub
    number: np.ndarray
    #: where its antenna points, NaN of an omnidirectional one and where no far end is placed
    axis_deg: np.ndarray
    #: how far the far end lies beside that, 0 where it is not known
    off_axis_deg: np.ndarray
    #: hub, site and hops of each
    all: tuple["Hub", ...]

    def shared(self, hop: int) -> "Hub | None":
        """The hub of a hop, None where no other hop shares its terminal."""
        number = int(self.number[hop])
        hub = self.all[number] if number >= 0 else None
        return hub if hub is not None and len(hub.hops) > 1 else None


class Hub(NamedTuple):
    """One hub: its label and site, and the places of its hops."""

    label: str
    site: str | None
    hops: tuple[int, ...]
    #: azimuth that was taken because none is typed, None otherwise
    assumed_deg: float | None = None
    #: far ends have no coordinates: how far they lie beside the axis is not known
    is_unplaced: bool = False


def gather_hubs(rows, azimuth_deg: np.ndarray, beamwidth_deg: np.ndarray) -> Hubs:
    """The hubs of all hops. beamwidth_deg: of the antenna at the first end."""
    count = len(rows)
    number, axis = np.full(count, -1), np.full(count, np.nan)
    off = np.zeros(count)
    members: dict[tuple, list[int]] = {}
    for place, row in enumerate(rows):
        if row.hub:
            members.setdefault((row.hub, row.site), []).append(place)
    found = []
    for (label, site), hops in members.items():
        place = np.array(hops)
        number[place] = len(found)
        placed = azimuth_deg[place]
        typed = rows[hops[0]].hub_azimuth_deg
        assumed = None
        is_omni = beamwidth_deg[hops[0]] >= OMNI_DEG
        if not is_omni:
            pointed = middle_azimuth_deg(placed[~np.isnan(placed)]) if typed is None else typed
            axis[place] = pointed
            assumed = pointed if typed is None and pointed == pointed else None
            angle = angle_between_deg(azimuth_deg=placed, other_deg=pointed)
            off[place] = np.nan_to_num(angle)
        unplaced = not is_omni and bool(np.isnan(placed).any()) and (len(hops) > 1 or typed)
        found.append(Hub(label, site, tuple(hops), assumed, bool(unplaced)))
    return Hubs(number, axis, off, tuple(found))
