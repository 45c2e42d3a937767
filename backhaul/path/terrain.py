"""Which terrain lies under which hop, and whether it fits."""

from typing import NamedTuple

import numpy as np

from backhaul.design.model import Design, Segment, Terrain
from backhaul.errors import InputError, Problem
from backhaul.path.links import RADIO, Link
from backhaul.path.network import Network
from backhaul.path.waters import bodies_of
from backhaul.physics.geometry import geodesic
from backhaul.units import M_PER_KM

#: Terrain may differ from the hop by this much and is then scaled: rules of the project.
LENGTH_TOLERANCE = 0.01


def terrain_of(link: Link, row: Segment, design: Design) -> Terrain | None:
    """Terrain of a hop, by its label or by a path and step that it stands in."""
    if row.label and (terrain := design.terrain.get(("label", row.label))) is not None:
        return terrain
    for use in link.uses:
        if (terrain := design.terrain.get((use.path, use.first_step))) is not None:
            return terrain
    return None


#: Vertical error (90 %) taken where neither the file nor the user states one [m]: models from space
#: measure 6 to 10 m by continent (from memory). The cell tells nothing: a coarse model resampled to
#: small cells is as wrong as it was.
ASSUMED_ERROR_M = 10.0
#: Ends the name of a file whose error nobody stated; one that is typed over in the table stands.
ERROR_ASSUMED = ", error assumed"


class Origin(NamedTuple):
    """Where a profile is from: files, and how wrong the worst of them may be."""

    files: tuple[str, ...]
    error_m: float | None
    #: nobody states that error
    is_assumed: bool

    @property
    def error_words(self) -> str:
        """`error 2 m`; "" where none is known."""
        if self.error_m is None:
            return ""
        return f"error {self.error_m:g} m" + (" assumed" if self.is_assumed else "")


def origin_of(terrain: Terrain) -> Origin:
    """The files of a profile.

    >>> from math import nan
    >>> found = origin_of(Terrain([0, 9, 18], [1, 1, 1], [0, 0, 0], ["land"] * 3,
    ...     source=("a.tif, error assumed", "b.tif", None), error_m=np.array([10.0, 2.5, nan])))
    >>> found.files, found.error_words
    (('a.tif', 'b.tif'), 'error 10 m assumed')
    """
    files = tuple(dict.fromkeys(name.removesuffix(ERROR_ASSUMED) for name in terrain.sources))
    if terrain.error_m is None:
        return Origin(files, None, False)
    error_m = float(np.nanmax(terrain.error_m))
    if error_m != ASSUMED_ERROR_M:
        return Origin(files, error_m, False)
    worst = {name for name, error in zip(terrain.source, terrain.error_m) if error == error_m}
    return Origin(files, error_m, any((name or "").endswith(ERROR_ASSUMED) for name in worst))


def ground_source(terrain: Terrain | None) -> str:
    """The files that a profile is from, with their error; "" where it was typed.

    >>> from math import nan
    >>> ground_source(Terrain([0, 9], [1, 1], [0, 0], ["land"] * 2, source=("a.tif", None),
    ...     error_m=np.array([2.5, nan])))
    'a.tif, error 2.5 m'
    """
    if terrain is None or not terrain.sources:
        return ""
    origin = origin_of(terrain)
    return ", ".join(filter(None, (" and ".join(origin.files), origin.error_words)))


def hop_length_km(row: Segment, design: Design) -> float | None:
    """Length of a hop: typed, else the geodesic; None if neither can be had."""
    if row.length_m:
        return row.length_m / M_PER_KM
    ends = [design.sites.get(name) for name in (row.site, row.to_site) if name]
    figures = [
        figure for site in ends if site is not None for figure in (site.latitude, site.longitude)
    ]
    if len(figures) < 4 or None in figures:
        return None
    latitude, longitude, to_latitude, to_longitude = figures
    found = geodesic(
        latitude1=latitude, longitude1=longitude, latitude2=to_latitude, longitude2=to_longitude
    )
    return float(found.distance_km[0])


def refuse_bad_terrain(network: Network, design: Design) -> None:
    """Raise InputError where a terrain table does not reach from end to end of its hop."""
    if not design.terrain:
        return
    problems = []
    for link in network.links[RADIO]:
        row = link.rows[0]
        terrain = terrain_of(link, row, design)
        if terrain is None or not (length := hop_length_km(row, design)):
            continue
        last = float(terrain.distance_m[-1])
        if abs(last - length * M_PER_KM) > LENGTH_TOLERANCE * length * M_PER_KM:
            problems.append(
                Problem(
                    terrain.at("distance_m", -1),
                    f"terrain that ends at {last:g} m",
                    f"terrain over the whole hop of {length * M_PER_KM:.0f} m, within 1 %",
                    "add the points up to the far end, or correct the coordinates",
                )
            )
    problems += beds_above_water(network, design)
    if problems:
        raise InputError(problems)


def beds_above_water(network: Network, design: Design) -> list[Problem]:
    """Rows of water whose ground_m, the bed, stands above the highest level of that water."""
    bodies, problems = bodies_of(design), []
    for link in network.links[RADIO]:
        terrain = terrain_of(link, link.rows[0], design)
        if terrain is None:
            continue
        begins = list(zip(terrain.surface, terrain.ground_m.tolist(), strict=True))[:-1]
        for place, (surface, bed_m) in enumerate(begins):
            body = bodies.get(surface)
            if body is None or body.high_m is None or not bed_m > body.high_m:
                continue
            problems.append(
                Problem(
                    terrain.at("ground_m", place),
                    f"a bed at {bed_m:g} m, {float(terrain.distance_m[place]):g} m along the hop, "
                    f"above the highest level of {body.title} at {body.high_m:g} m",
                    "in water ground_m is the bed, below the water",
                    "lower the bed or leave it blank, give that water its own level in waters, "
                    "or say land",
                )
            )
    return problems
