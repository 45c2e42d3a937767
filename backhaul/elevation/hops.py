"""The hops of a design as lines on the ground."""

from typing import Any, NamedTuple

import numpy as np

from backhaul.design.kinds import AIR, KINDS
from backhaul.design.model import Design, Segment, Site, Terrain
from backhaul.path.terrain import LENGTH_TOLERANCE, hop_length_km
from backhaul.physics.geometry import geodesic, geodesic_points
from backhaul.units import M_PER_KM


class Hop(NamedTuple):
    """One hop; `key` is as the terrain table names it."""

    row: Segment
    key: tuple[str, Any]
    sites: tuple[Site | None, Site | None]
    #: along the geodesic [m], NaN where a coordinate is missing
    length_m: float

    @property
    def title(self) -> str:
        """How a message calls it.

        >>> Hop(Segment(("tower",), 15, "radio"), ("tower", 15), (None, None), 0.0).title
        'tower step 15'
        """
        return self.row.label or f"{self.key[0]} step {self.row.step:g}"

    @property
    def names(self) -> dict[str, Any]:
        """The cells by which a row of the terrain table names it."""
        if self.row.label is not None:
            return {"label": self.row.label}
        step = self.row.step
        return {"path": self.key[0], "step": int(step) if step == int(step) else step}

    def terrain(self, design: Design) -> Terrain | None:
        """Its rows in the design."""
        keys = [self.key, *((path, self.row.step) for path in self.row.path)]
        return next((design.terrain[key] for key in keys if key in design.terrain), None)

    @property
    def ends(self) -> list[tuple[float, float]]:
        """Latitude and longitude of both sites [degrees]."""
        return [(site.latitude, site.longitude) for site in self.sites if site is not None]

    @property
    def tiles(self) -> list[str]:
        """Names of the one-degree tiles that its ends lie in, each once."""
        return list(dict.fromkeys(tile_name(*end) for end in self.ends))

    def places(self, share: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Latitudes and longitudes [degrees] at shares of its length."""
        (latitude1, longitude1), (latitude2, longitude2) = self.ends
        return geodesic_points(
            latitude1=latitude1,
            longitude1=longitude1,
            latitude2=latitude2,
            longitude2=longitude2,
            share=share,
        )

    def scale(self, design: Design) -> float:
        """Written metres of one metre along the geodesic: a typed length may say otherwise."""
        length_m = (hop_length_km(self.row, design) or 0.0) * M_PER_KM
        off = abs(length_m - self.length_m)
        return length_m / self.length_m if off > LENGTH_TOLERANCE * length_m else 1.0


def tile_name(latitude: float, longitude: float) -> str:
    """Name of the one-degree tile that holds a place [degrees].

    >>> tile_name(51.2, -20.3)
    'N51W021.hgt'
    """
    south, west = int(np.floor(latitude)), int(np.floor(longitude))
    return f"{'SN'[south >= 0]}{abs(south):02}{'WE'[west >= 0]}{abs(west):03}.hgt"


def hops_of(design: Design) -> list[Hop]:
    """Every hop of the design once, in the order of its rows."""
    found: dict[tuple[str, Any], Hop] = {}
    for row in design.segments:
        if KINDS[row.kind].medium != AIR or row.to_site is None:
            continue
        key = ("label", row.label) if row.label is not None else (row.path[0], row.step)
        sites = (design.sites.get(row.site), design.sites.get(row.to_site))
        found.setdefault(key, Hop(row, key, sites, _length_m(*sites)))
    return list(found.values())


def _length_m(first: Site | None, last: Site | None) -> float:
    if first is None or last is None:
        return np.nan
    figures = (first.latitude, first.longitude, last.latitude, last.longitude)
    if None in figures:
        return np.nan
    line = geodesic(
        latitude1=figures[0], longitude1=figures[1], latitude2=figures[2], longitude2=figures[3]
    )
    return float(line.distance_km[0]) * M_PER_KM
