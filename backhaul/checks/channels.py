"""Two hops at one site on overlapping channels, told apart only by their antennas."""

from collections import defaultdict
from collections.abc import Iterator

import numpy as np

from backhaul.checks.context import Context, on_link
from backhaul.findings import NOTE, THIN, Finding
from backhaul.path.links import Link
from backhaul.physics.antennas import discrimination_db
from backhaul.units import MHZ_PER_GHZ

#: Discrimination by pattern that keeps two hops on one channel apart [dB]: rules of the project.
WANTED_DB = 20.0
#: Frequencies are compared to a kilohertz: channels side by side touch and do not overlap.
DECIMALS = 6


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
    """One finding a hop: the hop before it at the site that its antennas tell apart worst."""
    hops = context.radio.hops
    index = np.array([hop for hop, _ in ends])
    end = np.array([end for _, end in ends])
    azimuth = np.where(end == 0, hops.azimuth_deg[index], hops.to_azimuth_deg[index])
    centre = hops.frequency_ghz[index]
    half = np.nan_to_num(hops.channel_mhz[index]) / 2 / MHZ_PER_GHZ
    # terminals alike in all that counts are judged once
    alike = np.column_stack([azimuth, hops.gain_dbi[index, end], centre, half])
    kinds, first, kind_of = np.unique(
        np.round(alike, 6), axis=0, return_index=True, return_inverse=True
    )
    kind_of = kind_of.ravel()
    apart = [_apart_db(kinds[kind], kinds) for kind in range(len(kinds))]
    for place, (hop, kind) in enumerate(zip(index.tolist(), kind_of.tolist(), strict=True)):
        earlier = (first < place) & (index[first] != hop)
        found = np.where(earlier, apart[kind], np.inf)
        unknown = np.flatnonzero(np.isnan(found))
        found = np.where(np.isnan(found), np.inf, found)
        worst = int(np.argmin(found))
        other = hops.links[hop]
        if not found[worst] < WANTED_DB:
            if len(unknown):
                yield _not_compared(site, other, hops.links[index[first[unknown[0]]]])
            continue
        one = hops.links[index[first[worst]]]
        angle = abs((kinds[kind][0] - kinds[worst][0] + 180) % 360 - 180)
        finding = on_link(
            "radio-channel",
            THIN,
            other,
            other.rows[0],
            "frequency_ghz",
            f"at {site} this hop and {_name(one)} are on overlapping channels {angle:.0f}° apart: "
            f"their antennas tell them apart by {found[worst]:.0f} dB",
            remedy="use another channel or antennas with narrower beams",
            value=found[worst],
            limit=WANTED_DB,
            unit="dB",
            source="envelope of ITU-R F.699 (to be confirmed)",
            paths=tuple(dict.fromkeys((*other.paths, *one.paths))),
        )
        # each hop hears the other
        yield finding._replace(rows=(other.rows[0].id, one.rows[0].id))


def _not_compared(site: str, other: Link, one: Link) -> Finding:
    return on_link(
        "assumption",
        NOTE,
        other,
        other.rows[0],
        "frequency_ghz",
        f"at {site} this hop and {_name(one)} are on overlapping channels; whether their antennas "
        "tell them apart is not known",
        remedy="give the coordinates of their sites and the gain of their antennas",
    )


def _name(link: Link) -> str:
    return link.rows[0].label or f"{link.paths[0]} step {link.first_step:g}"


def _apart_db(one: np.ndarray, others: np.ndarray) -> np.ndarray:
    """How far a terminal and each other are told apart by pattern [dB].

    Infinite where they share no channel, NaN where their directions or gains are not known.
    Columns: azimuth, gain, both centres, half the width.
    """
    azimuth, gain, half = others[:, 0], others[:, 1], others[:, 4]
    overlap = np.zeros(len(others), dtype=bool)
    for mine in (one[2], one[3]):
        for theirs in (others[:, 2], others[:, 3]):
            overlap |= np.round(np.abs(mine - theirs) - one[4] - half, DECIMALS) < 0
    angle = np.abs((one[0] - azimuth + 180) % 360 - 180)
    known = ~np.isnan(angle) & ~np.isnan(gain) & ~np.isnan(one[1])
    safe = np.where(known, angle, 0.0)
    db = np.minimum(
        discrimination_db(angle_deg=safe, gain_dbi=np.nan_to_num(one[1])),
        discrimination_db(angle_deg=safe, gain_dbi=np.nan_to_num(gain)),
    )
    return np.where(overlap, np.where(known, db, np.nan), np.inf)
