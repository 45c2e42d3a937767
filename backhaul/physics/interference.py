"""What a receiver hears of other transmitters of the design, and what that costs it.

Free space and both antennas' envelopes; no terrain and no rain in between: a first check, which
errs on the side of caution. A licensed assignment is made by the authority's own method.
"""

from typing import NamedTuple

import numpy as np

from backhaul.methods import Figure, Method
from backhaul.physics.free_space import free_space_loss_db
from backhaul.physics.sectors import pattern_db

METHODS = (
    Method("interference", "ITU-R P.525 and F.699", "free space, envelopes of both antennas"),
    Method("noise rise", "sum of powers", "N + I over N"),
)
RANGES = {
    "overlap_share": (0.0, 1.0),
    "angle_deg": (0.0, 180.0),
    "cross_polar_db": (0.0, 40.0),
}
CELL_FORMULAS = (
    "overlap_share",
    "interference_dbm",
    "noise_rise_db",
)

# Cross-polar discrimination on the axes of two dishes; 25 to 35 dB, common practice.
CROSS_POLAR_DB = 25.0
NOISE_FIGURE_DB = 6.0  # of a receiver that states none; common practice
SHORTEST_KM = 0.001  # closer antennas are taken as that far apart
BESIDE_DEG = 90.0  # and as side by side: where on the mast each hangs is not known
# What a sender puts into a channel that touches its own, and a receiver lets in; 25 to 35 dB,
# common practice (the mask of IEEE 802.11 alone allows some 23 dB, from memory).
ADJACENT_DB = 30.0
_TOUCHING_MHZ = 1e-3  # channels are given to a kilohertz
SMALLEST_MW = 1e-30  # -300 dBm stands for silence
PAIRS_AT_ONCE = 1_000_000


def overlap_share(
    *, frequency_ghz: Figure, channel_mhz: Figure, victim_ghz: Figure, victim_mhz: Figure
) -> Figure:
    """Share of a sender's power that falls into a receiver's channel [0 to 1], spread evenly.

    What it sends beside its channel is not counted. channel_mhz above 0.
    Valid: widths above 0; a sender's width of 0 divides by zero. Channels apart give 0.
    Source: definition, power spread evenly.
    >>> print(overlap_share(frequency_ghz=5.8, channel_mhz=40, victim_ghz=5.81, victim_mhz=20))
    0.5
    """
    upper = np.minimum(frequency_ghz * 1000 + channel_mhz / 2, victim_ghz * 1000 + victim_mhz / 2)
    lower = np.maximum(frequency_ghz * 1000 - channel_mhz / 2, victim_ghz * 1000 - victim_mhz / 2)
    return np.maximum(upper - lower, 0) / channel_mhz


def interference_dbm(
    *,
    eirp_dbm: Figure,
    free_space_loss_db: Figure,
    tx_discrimination_db: Figure,
    rx_gain_dbi: Figure,
    rx_discrimination_db: Figure,
    cross_polar_db: Figure,
    overlap_share: Figure,
) -> Figure:
    """Level of one foreign sender in a receiver's channel [dBm]; -300 and less: silence.

    eirp_dbm: on its own axis. rx_gain_dbi: less the losses of the receiver's feed. cross_polar_db:
    0 with the same polarization. Source: sum of the terms.
    overlap_share: `overlap_share`.
    Valid: overlap_share 0 to 1, discriminations 0 or more; a share of 0 counts as 1e-30, that is
    silence.
    >>> print(interference_dbm(eirp_dbm=36.0, free_space_loss_db=130.0, tx_discrimination_db=30,
    ...     rx_gain_dbi=28, rx_discrimination_db=0, cross_polar_db=0, overlap_share=0.5))
    -99.01
    """
    return (
        eirp_dbm
        - free_space_loss_db
        - tx_discrimination_db
        + rx_gain_dbi
        - rx_discrimination_db
        - cross_polar_db
        + 10 * np.log10(np.maximum(overlap_share, SMALLEST_MW))
    )


def noise_rise_db(*, interference_dbm: Figure, noise_dbm: Figure) -> Figure:
    """How much interference lifts the noise of a receiver [dB]; both in its channel.

    Valid: any levels; far below the noise 0, from some 3000 dB above it overflows.
    Source: sum of powers.

    >>> print(noise_rise_db(interference_dbm=-95.0, noise_dbm=-95.0))
    3.0103
    """
    return 10 * np.log10(1 + 10 ** ((interference_dbm - noise_dbm) / 10))


class Stations(NamedTuple):
    """Arrays over directions of hops: who sends from `from_m` and is meant to be heard at `to_m`.

    from_m, to_m: places [direction, 3] in metres, any straight axes (`places_m`).
    """

    from_m: np.ndarray
    to_m: np.ndarray
    frequency_ghz: np.ndarray
    channel_mhz: np.ndarray
    eirp_dbm: np.ndarray
    tx_gain_dbi: np.ndarray
    rx_gain_dbi: np.ndarray
    vertical: np.ndarray  # 1 vertical, 0 horizontal, 0.5 both or either
    from_terminal: np.ndarray  # numbers: a terminal does not disturb itself
    to_terminal: np.ndarray
    from_site: np.ndarray  # numbers: at one site touching channels count, too
    to_site: np.ndarray
    #: of hubs, NaN and -1 elsewhere: number, senders that take turns, axis [direction, 3], beam
    hub: np.ndarray | None = None
    turn: np.ndarray | None = None
    from_axis: np.ndarray | None = None
    to_axis: np.ndarray | None = None
    from_beam_deg: np.ndarray | None = None
    to_beam_deg: np.ndarray | None = None
    #: locked to one clock: those of one site send, and listen, at the same time
    in_step: np.ndarray | None = None
    #: half of the clock's frame in which the direction sends, 0 or 1; -1 where it keeps to none
    phase: np.ndarray | None = None


def _filled(stations: Stations) -> Stations:
    """Stations as arrays, those of hubs with what stands for none."""
    count = len(stations.from_m)
    blank = {
        **dict.fromkeys(("hub", "turn", "phase"), np.full(count, -1)),
        **dict.fromkeys(("from_axis", "to_axis"), np.full((count, 3), np.nan)),
        **dict.fromkeys(("from_beam_deg", "to_beam_deg"), np.full(count, np.nan)),
        "in_step": np.zeros(count, dtype=bool),
    }
    return Stations(
        *(
            blank[name] if part is None else np.asarray(part)
            for name, part in zip(Stations._fields, stations, strict=True)
        )
    )


def places_m(*, latitude: Figure, longitude: Figure, height_m: Figure) -> Figure:
    """Places [.., 3] in metres on straight axes, about their middle; heights above the ellipsoid.

    WGS 84. Heights above the sea will do: the difference is common to all places of a district.
    latitude, longitude: degrees, north and east positive.
    Valid: latitudes -90 to 90, any longitude, known everywhere but for NaN, which stays NaN and
    does not move the middle.
    Source: WGS 84 by definition.
    >>> p = places_m(latitude=[51.0, 51.0], longitude=[0.0, 0.01], height_m=[10.0, 10.0])
    >>> print(np.linalg.norm(p[1] - p[0]))
    701.98
    """
    major, flattening = 6_378_137.0, 1 / 298.257223563  # WGS 84 by definition
    phi, lam = np.radians(latitude), np.radians(longitude)
    squared = flattening * (2 - flattening)
    normal = major / np.sqrt(1 - squared * np.sin(phi) ** 2)
    height = np.asarray(height_m, dtype=float)
    places = np.stack(
        (
            (normal + height) * np.cos(phi) * np.cos(lam),
            (normal + height) * np.cos(phi) * np.sin(lam),
            (normal * (1 - squared) + height) * np.sin(phi),
        ),
        axis=-1,
    )
    return places - np.nanmean(places.reshape(-1, 3), axis=0)


class Heard(NamedTuple):
    """Arrays over directions. -300 dBm and -1 where nobody is heard."""

    interference_dbm: np.ndarray  # sum of all foreign senders in the channel
    strongest: np.ndarray  # direction whose sender is the loudest
    strongest_dbm: np.ndarray


def heard(
    stations: Figure, *, cross_polar_db: Figure = CROSS_POLAR_DB, victims: Figure = None
) -> Figure:
    """What the receiver of every direction hears of the senders of all others [dBm].

    Left out: its own terminal and far terminal, those of its site that send in step with it, those
    that send in the other phase of one clock, and channels that do not overlap; at the receiver's
    own site a channel that touches its own counts ADJACENT_DB lower. Patterns by `antennas.discrimination_db`; polarizations that differ count
    cross_polar_db on both axes, less off them: never more than the envelopes leave.
    A direction with an unknown figure (NaN) neither hears nor is heard. victims: True where the
    receiver is asked for, all if None.
    stations: `Stations`, a direction an entry.
    Valid: angles, shares and polarizations as RANGES; closer than SHORTEST_KM antennas count as
    that far apart and BESIDE_DEG off both axes, and a figure that is NaN keeps a direction out on both sides.
    Source: ITU-R P.525 and F.699, free space and envelopes.
    >>> ends = np.array([[0.0, 0, 0], [7000.0, 0, 0]])
    >>> alone = Stations(ends, ends[::-1], *(np.full(2, x) for x in (5.8, 40.0, 36.0, 28.0, 28.0, 1.0)),
    ...     *(np.array(pair) for pair in ((0, 1), (1, 0), (0, 1), (1, 0))))
    >>> print(heard(alone).strongest)
    [-1 -1]
    """
    s = _filled(stations)
    known = np.isfinite(s.from_m).all(axis=1) & np.isfinite(s.to_m).all(axis=1)
    for part in (s.frequency_ghz, s.channel_mhz, s.eirp_dbm, s.tx_gain_dbi, s.rx_gain_dbi):
        known = known & np.isfinite(part)
    count = known.size
    total, loudest = np.zeros(count), np.full(count, SMALLEST_MW)
    who = np.full(count, -1)
    order = np.flatnonzero(known)
    order = order[np.argsort(s.frequency_ghz[order], kind="stable")]
    asked = order if victims is None else order[np.asarray(victims, dtype=bool)[order]]
    ghz, half = s.frequency_ghz[order], s.channel_mhz[order] / 2000
    reach = half.max() if order.size else 0.0
    own_ghz, own_half = s.frequency_ghz[asked], s.channel_mhz[asked] / 2000
    wide = own_half + reach + _TOUCHING_MHZ / 1000
    first = np.searchsorted(ghz, own_ghz - wide)
    last = np.searchsorted(ghz, own_ghz + wide, side="right")
    begin = 0
    while begin < asked.size:
        end = begin + 1
        while end < asked.size and (end + 1 - begin) * (last[end] - first[begin]) < PAIRS_AT_ONCE:
            end += 1
        hearing, senders = asked[begin:end], order[first[begin] : last[end - 1]]
        power = _powers_mw(s, hearing, senders, cross_polar_db)
        total[hearing] = power.sum(axis=1)
        best = power.argmax(axis=1)
        loudest[hearing] = np.maximum(power[np.arange(len(hearing)), best], SMALLEST_MW)
        who[hearing] = np.where(loudest[hearing] > SMALLEST_MW, senders[best], -1)
        begin = end
    return Heard(10 * np.log10(np.maximum(total, SMALLEST_MW)), who, 10 * np.log10(loudest))


def _powers_mw(s, victims, senders, cross_polar_db):
    """Power of every sender in every victim's channel [mW], 0 where it is not counted."""
    at, origin = s.to_m[victims], s.from_m[senders]
    away = origin[None] - at[:, None]
    distance = np.sqrt((away**2).sum(axis=2))
    safe_m = np.maximum(distance, 1000 * SHORTEST_KM)
    look_rx = _look(s.from_m[victims] - at, s.to_axis[victims])
    look_tx = _look(s.to_m[senders] - origin, s.from_axis[senders])
    is_close = distance < 1000 * SHORTEST_KM
    rx_angle, tx_angle = (
        np.where(is_close, BESIDE_DEG, _angle_deg(vector, distance, look))
        for vector, look in ((away, look_rx[:, None]), (-away, look_tx[None]))
    )
    rx = pattern_db(
        angle_deg=rx_angle,
        gain_dbi=s.rx_gain_dbi[victims][:, None],
        beam_deg=s.to_beam_deg[victims][:, None],
    )
    tx = pattern_db(
        angle_deg=tx_angle,
        gain_dbi=s.tx_gain_dbi[senders][None],
        beam_deg=s.from_beam_deg[senders][None],
    )
    one_site = s.to_site[victims][:, None] == s.from_site[senders][None]
    crossed = np.abs(s.vertical[victims][:, None] - s.vertical[senders][None]) > 0.75
    level = interference_dbm(
        eirp_dbm=s.eirp_dbm[senders][None],
        free_space_loss_db=free_space_loss_db(
            distance_km=safe_m / 1000, frequency_ghz=s.frequency_ghz[senders][None]
        ),
        tx_discrimination_db=tx,
        rx_gain_dbi=s.rx_gain_dbi[victims][:, None],
        rx_discrimination_db=rx,
        # off the axes a dish tells polarizations apart less and less
        cross_polar_db=np.where(crossed, np.maximum(cross_polar_db - rx - tx, 0), 0),
        overlap_share=_share(s, victims, senders, one_site),
    )
    own = (s.from_terminal[victims][:, None] == s.from_terminal[senders][None]) | (
        s.to_terminal[victims][:, None] == s.from_terminal[senders][None]
    )
    hub = s.hub[victims][:, None]
    own |= (hub >= 0) & (hub == s.hub[senders][None])
    own |= one_site & s.in_step[victims][:, None] & s.in_step[senders][None]
    listens, sends = s.phase[victims][:, None], s.phase[senders][None]
    own |= (listens >= 0) & (sends >= 0) & (listens != sends)
    power = 10 ** (level / 10)
    return _in_turn(np.where(own | (power < SMALLEST_MW * 10), 0.0, power), s.turn[senders])


def _share(s, victims, senders, one_site):
    """Share of each sender's power that falls into each victim's channel, at one site beside it."""
    share = overlap_share(
        frequency_ghz=s.frequency_ghz[senders][None],
        channel_mhz=s.channel_mhz[senders][None],
        victim_ghz=s.frequency_ghz[victims][:, None],
        victim_mhz=s.channel_mhz[victims][:, None],
    )
    apart_mhz = 1000 * np.abs(s.frequency_ghz[victims][:, None] - s.frequency_ghz[senders][None])
    widths_mhz = s.channel_mhz[victims][:, None] + s.channel_mhz[senders][None]
    touching = one_site & (apart_mhz <= widths_mhz / 2 + _TOUCHING_MHZ)
    return np.maximum(share, np.where(touching, 10 ** (-ADJACENT_DB / 10), 0.0))


def _in_turn(power_mw, turn):
    """Power of senders that take turns: of each set the loudest alone."""
    for one in np.unique(turn[turn >= 0]).tolist():
        columns = np.flatnonzero(turn == one)
        if len(columns) < 2:
            continue
        rest = power_mw[:, columns]
        loudest = rest.argmax(axis=1)[:, None]
        power_mw[:, columns] = np.where(np.arange(len(columns)) == loudest, rest, 0.0)
    return power_mw


def _look(vector, axis):
    """Where an antenna looks: along its axis where that is known, else at its far end."""
    return np.where(np.isnan(axis), _unit(vector), axis)


def axes(*, latitude: Figure, longitude: Figure, azimuth_deg: Figure) -> Figure:
    """Unit vectors [.., 3] that point level to an azimuth, on the axes of `places_m`.

    latitude, longitude: degrees, north and east positive. azimuth_deg: from north, eastwards.
    Valid: any angles; NaN stays NaN.
    Source: WGS 84, east and north of a place by definition.
    >>> print(axes(latitude=0.0, longitude=0.0, azimuth_deg=90.0).round(6))
    [-0.  1.  0.]
    """
    phi, lam, turn = (np.radians(angle) for angle in (latitude, longitude, azimuth_deg))
    east = np.stack((-np.sin(lam), np.cos(lam), 0 * lam), axis=-1)
    north = np.stack((-np.sin(phi) * np.cos(lam), -np.sin(phi) * np.sin(lam), np.cos(phi)), axis=-1)
    return np.sin(turn)[..., None] * east + np.cos(turn)[..., None] * north


def _unit(vector):
    length = np.sqrt((vector**2).sum(axis=-1, keepdims=True))
    return vector / np.where(length > 0, length, 1.0)


def _angle_deg(vector, length, look):
    """Angle between vectors and unit vectors [degree], by the half chord."""
    unit = vector / np.where(length > 0, length, 1.0)[..., None]
    half = np.sqrt(((unit - look) ** 2).sum(axis=2)) / 2
    return np.degrees(2 * np.arcsin(np.minimum(half, 1.0)))
