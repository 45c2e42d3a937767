"""What is said of hops beside their profiles, by hop and metre."""

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from backhaul.design.model import Terrain
from backhaul.elevation.hops import Hop
from backhaul.findings import FAIL, NOTE, THIN

#: A typed level may differ so far from the file's [m]: rules of the project.
AGREES_M = 2.0
#: Typed rows that are named one by one.
_NAMED = 3


class Remark(NamedTuple):
    """One thing to be said: how grave it is, where, and what."""

    severity: str
    where: str
    text: str
    remedy: str = ""


def unplaced(hop: Hop) -> Remark:
    """A hop without coordinates."""
    lacking = [
        name
        for name, site in zip((hop.row.site, hop.row.to_site), hop.sites, strict=True)
        if site is None or site.latitude is None or site.longitude is None
    ]
    if not lacking:
        return Remark(FAIL, hop.title, "both ends stand at one place", "correct the coordinates")
    places = " and ".join(str(name) for name in lacking)
    return Remark(FAIL, hop.title, f"no coordinates of {places}", "give latitude and longitude")


def of_stretches(
    hop: Hop, distance_m: np.ndarray, is_so: np.ndarray, what: str, severity: str = FAIL
) -> Iterator[Remark]:
    """A remark for every stretch of a hop of which something holds."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], is_so, [False])).astype(int)))
    for first, after in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        start, end = distance_m[first], distance_m[after - 1]
        place = f"{start:.0f} m" if first == after - 1 else f"{start:.0f} to {end:.0f} m"
        yield Remark(severity, hop.title, f"{place}: {what}")


def of_ends(hop: Hop, level_m: np.ndarray) -> Iterator[Remark]:
    """The levels of both sites against the file's."""
    for end, site in zip((0, -1), hop.sites, strict=True):
        level = float(level_m[end])
        if site is None or level != level:
            continue
        where = site.at("ground_m")
        if site.ground_m is None:
            text = f"blank; the file has {level:.1f} m at {site.site}"
            yield Remark(NOTE, where, text)
        elif round(abs(site.ground_m - level), 6) > AGREES_M:
            text = f"{site.ground_m:g} m at {site.site}, the file has {level:.1f} m"
            yield Remark(THIN, where, text, "take both from one datum; of a roof, measure it")


def of_typed(hop: Hop, typed: Terrain, distance_m, level_m) -> Iterator[Remark]:
    """Typed rows against the file's levels."""
    at_m = np.asarray(typed.distance_m, dtype=float)
    at_m = at_m * (distance_m[-1] / at_m[-1])
    known = ~np.isnan(level_m)
    near = np.searchsorted(distance_m, at_m).clip(1, len(distance_m) - 1)
    judged = known[near] & known[near - 1]
    file_m = np.interp(at_m, distance_m, np.nan_to_num(level_m))
    off = np.abs(np.asarray(typed.ground_m, dtype=float) - file_m)
    off = np.where(judged & (np.asarray(typed.surface) == "land"), np.nan_to_num(off), 0.0)
    wrong = np.flatnonzero(np.round(off, 6) > AGREES_M)
    if not len(wrong):
        return
    worst = sorted(wrong.tolist(), key=lambda place: -off[place])[:_NAMED]
    places = ", ".join(
        f"{typed.distance_m[n]:g} m: {typed.ground_m[n]:g} m against {file_m[n]:.1f} m"
        for n in worst
    )
    rest = "" if len(wrong) <= _NAMED else f" and {len(wrong) - _NAMED} more"
    yield Remark(
        THIN,
        typed.at("ground_m", worst[0]),
        f"{hop.title}, typed against the file, {places}{rest}",
        "survey it, or take the file's with --replace",
    )
