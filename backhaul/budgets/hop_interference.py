"""What the receivers of a design hear of its other hops."""

from typing import NamedTuple

import numpy as np

from backhaul.budgets.hops import Hops
from backhaul.path.ends import FDD, TDD
from backhaul.path.equipment import terminal_key
from backhaul.physics.interference import Heard, Stations, axes, heard, places_m

#: Interference so far below the noise counts as none [dBm]: no receiver has so little noise.
SILENCE_DBM = -150.0
#: Farther senders lie beyond the horizon of any but mountain tops: 4.1 (sqrt(600) + sqrt(600)) km.
REACH_KM = 200.0
#: Polarizations as the sum takes them: both or either stand between.
HORIZONTAL, BOTH, VERTICAL = 0.0, 0.5, 1.0


class Interference(NamedTuple):
    """Arrays over directions: what the receiver hears of other senders; NaN and -1 without."""

    interference_dbm: np.ndarray
    #: direction whose sender is the loudest, and its level
    strongest: np.ndarray
    strongest_dbm: np.ndarray


def hop_interference(hops: Hops, tx_power_dbm: np.ndarray) -> Interference:
    """Every receiver against every other sender on overlapping channels, in free space.

    tx_power_dbm: of each direction, strongest mode.
    """
    count = len(hops.directions)
    placed = ~np.isnan(hops.azimuth_deg)
    if np.count_nonzero(placed) < 2:
        none = np.full(count, np.nan)
        return Interference(none, np.full(count, -1), none)
    frequency = hops.frequency_ghz.reshape(-1)
    stations = _stations(hops, frequency, np.asarray(tx_power_dbm))
    found = _heard_near(stations)
    level = np.where(found.interference_dbm > SILENCE_DBM, found.interference_dbm, np.nan)
    silent = np.isnan(level)
    return Interference(
        level,
        np.where(silent, -1, found.strongest),
        np.where(silent, np.nan, found.strongest_dbm),
    )


def _heard_near(stations: Stations) -> Heard:
    """The same as all senders together, without those that the earth hides anyway."""
    cell = np.floor(np.nan_to_num(stations.to_m) / (1000 * REACH_KM)).astype(int)
    origin = np.floor(np.nan_to_num(stations.from_m) / (1000 * REACH_KM)).astype(int)
    cells = np.unique(cell, axis=0)
    if len(cells) == 1:
        return heard(stations)
    found = Heard(*(np.full(len(cell), blank) for blank in (SILENCE_DBM - 1, -1, SILENCE_DBM)))
    for own in cells:
        victims = (cell == own).all(axis=1)
        near = (np.abs(origin - own) <= 1).all(axis=1) | victims
        place = np.flatnonzero(near)
        part = heard(
            Stations(*(None if column is None else column[place] for column in stations)),
            victims=victims[place],
        )
        mine = victims[place]
        found.interference_dbm[place[mine]] = part.interference_dbm[mine]
        strongest = part.strongest[mine]
        found.strongest[place[mine]] = np.where(strongest >= 0, place[strongest], -1)
        found.strongest_dbm[place[mine]] = part.strongest_dbm[mine]
    return found


def _stations(hops: Hops, frequency, power) -> Stations:
    sites = [[end.site for end in pair] for pair in hops.ends]
    place = np.array(
        [
            [(_figure(site, "latitude"), _figure(site, "longitude")) for site in pair]
            for pair in sites
        ],
        dtype=float,
    )
    # a height that is not known moves nothing that counts between distant masts
    height = np.nan_to_num(hops.height_m)
    at = places_m(latitude=place[..., 0], longitude=place[..., 1], height_m=height)
    gain = hops.gain_dbi
    terminal, site = _numbers(hops)
    half_loss = np.array([(row.extra_loss_db or 0.0) / 2 for row in hops.rows])
    polarization = np.where(hops.is_either, BOTH, np.where(hops.is_vertical, VERTICAL, HORIZONTAL))
    in_step = np.array([_in_step(way) for way in hops.directions], dtype=bool)

    def both(values, *, back: bool = False):
        columns = values[:, ::-1] if back else values
        return columns.reshape(-1, *values.shape[2:])

    return Stations(
        from_m=both(at),
        to_m=both(at, back=True),
        frequency_ghz=frequency,
        channel_mhz=np.repeat(hops.channel_mhz, 2),
        eirp_dbm=power + gain.reshape(-1) - np.repeat(half_loss, 2),
        tx_gain_dbi=gain.reshape(-1),
        rx_gain_dbi=both(gain, back=True),
        vertical=np.repeat(polarization, 2),
        from_terminal=both(terminal),
        to_terminal=both(terminal, back=True),
        from_site=both(site),
        to_site=both(site, back=True),
        in_step=in_step,
        phase=_phases(hops, site, in_step),
        **_hubs(hops, place),
    )


def _in_step(way) -> bool:
    """Whether a sender and its receiver are of the radios that one clock holds in step."""
    radios = (way.sender.radio, way.receiver.radio)
    return way.project.tdd_in_step is True and all(radio.duplex == TDD for radio in radios)


def _phases(hops: Hops, site: np.ndarray, in_step: np.ndarray) -> np.ndarray:
    """Half of the frame in which each direction sends, -1 where no clock tells.

    All terminals of a site send at once, and those they send to in the other half; first those of
    hubs and of first ends. A ring of an odd number of hops has no such order.
    """
    found = np.full(len(in_step), -1)
    timed = np.flatnonzero(in_step[::2])
    neighbours: dict[int, list[int]] = {}
    for one, other in site[timed].tolist():
        neighbours.setdefault(one, []).append(other)
        neighbours.setdefault(other, []).append(one)
    half: dict[int, int] = {}
    for hop in timed[np.argsort(hops.hubs.number[timed] < 0, kind="stable")].tolist():
        start = int(site[hop, 0])
        if start not in half:
            half.update(_halves(neighbours, start))
    for hop in timed.tolist():
        found[2 * hop : 2 * hop + 2] = [half[end] for end in site[hop].tolist()]
    return found


def _halves(neighbours: dict[int, list[int]], start: int) -> dict[int, int]:
    """Halves in which the sites that hang together send, -1 for all where they fit into none."""
    half, waiting, fits = {start: 0}, [start], True
    while waiting:
        one = waiting.pop()
        for other in neighbours[one]:
            if other not in half:
                half[other] = 1 - half[one]
                waiting.append(other)
            fits &= half[other] != half[one]
    return half if fits else dict.fromkeys(half, -1)


def _hubs(hops: Hops, place: np.ndarray) -> dict[str, np.ndarray]:
    """Hubs as their axis and beam tell: the near end of their hops. Hops of one take turns."""
    number = hops.hubs.number
    if not hops.hubs.all:
        return {}
    axis = axes(latitude=place[:, 0, 0], longitude=place[:, 0, 1], azimuth_deg=hops.hubs.axis_deg)
    has_hub = number >= 0
    beam = np.where(has_hub, hops.beamwidth_deg[:, 0], np.nan)
    at_once = np.array([near.radio.duplex == FDD for near, _ in hops.ends], dtype=bool)
    turn = np.where(has_hub, 2 * number, -1)
    none, nowhere = np.full(len(number), np.nan), np.full((len(number), 3), np.nan)

    def pair(there: np.ndarray, back: np.ndarray) -> np.ndarray:
        return np.stack((there, back), axis=1).reshape(-1, *there.shape[1:])

    return {
        "hub": np.repeat(number, 2),
        "turn": pair(turn, np.where(has_hub & at_once, turn + 1, turn)),
        "from_axis": pair(axis, nowhere),
        "to_axis": pair(nowhere, axis),
        "from_beam_deg": pair(beam, none),
        "to_beam_deg": pair(none, beam),
    }


def _figure(site, name: str) -> float:
    value = None if site is None else getattr(site, name)
    return np.nan if value is None else value


def _numbers(hops: Hops) -> tuple[np.ndarray, np.ndarray]:
    """Numbers of the terminals and of the sites, a column an end."""
    terminals: dict[tuple, int] = {}
    sites: dict[tuple, int] = {}
    found = []
    for index, pair in enumerate(hops.ends):
        for end in pair:
            side = "far" if end.is_far else "near"
            key = terminal_key(end.row, site=end.site_name, end=side)
            place = (end.site_name,) if end.site_name else (index, side)
            found.append(
                (terminals.setdefault(key, len(terminals)), sites.setdefault(place, len(sites)))
            )
    table = np.array(found).reshape(-1, 2, 2)
    return table[..., 0], table[..., 1]
