"""Two hops at one site on overlapping channels, told apart only by their antennas."""

from collections import defaultdict
from collections.abc import Iterator

import numpy as np

from backhaul.checks.context import Context, on_link
from backhaul.findings import THIN, Finding
from backhaul.physics.antennas import discrimination_db
from backhaul.units import MHZ_PER_GHZ

#: Discrimination by pattern that keeps two hops on one channel apart [dB]: rules of the project.
WANTED_DB = 20.0


def radio_channel(context: Context) -> Iterator[Finding]:
    """radio-channel: a hop hears another of the same site less than 20 dB down by pattern."""
    hops = context.radio.hops
    at_site: dict[str, list[tuple[int, int]]] = defaultdict(list)
    for index, row in enumerate(hops.rows):
        for end, site in enumerate((row.site, row.to_site)):
            if site:
                at_site[site].append((index, end))
    for site, ends in at_site.items():
        if len(ends) > 1:
            yield from _pairs(context, site, ends)


def _pairs(context: Context, site: str, ends: list[tuple[int, int]]) -> Iterator[Finding]:
    hops = context.radio.hops
    index = np.array([hop for hop, _ in ends])
    end = np.array([end for _, end in ends])
    azimuth = np.where(end == 0, hops.azimuth_deg[index], hops.to_azimuth_deg[index])
    low, high = _channels(hops, index)
    first, second = np.triu_indices(len(ends), 1)
    overlap = (low[first] < high[second]) & (low[second] < high[first])
    angle = np.abs((azimuth[first] - azimuth[second] + 180) % 360 - 180)
    close = overlap.any(axis=1) & ~np.isnan(angle) & (index[first] != index[second])
    if not close.any():
        return
    first, second, angle = first[close], second[close], angle[close]
    apart = np.minimum(*(
        discrimination_db(angle_deg=angle, gain_dbi=hops.gain_dbi[index[which], end[which]])
        for which in (first, second)
    ))  # fmt: skip
    for place in np.flatnonzero(apart < WANTED_DB):
        one, other = (hops.links[index[which[place]]] for which in (first, second))
        row = other.rows[0]
        name = one.rows[0].label or f"{one.paths[0]} step {one.first_step:g}"
        yield on_link(
            "radio-channel", THIN, other, row, "frequency_ghz",
            f"at {site} this hop and {name} are on overlapping channels {angle[place]:.0f}° apart: "
            f"their antennas tell them apart by {apart[place]:.0f} dB",
            remedy="use another channel or antennas with narrower beams", value=apart[place],
            limit=WANTED_DB, unit="dB", source="envelope of ITU-R F.699 (from memory)",
        )  # fmt: skip


def _channels(hops, index) -> tuple[np.ndarray, np.ndarray]:
    """Lower and upper edges of both channels of each hop [GHz]."""
    centre = hops.frequency_ghz[index]
    half = (np.nan_to_num(hops.channel_mhz[index]) / 2 / MHZ_PER_GHZ)[:, None]
    return centre - half, centre + half
