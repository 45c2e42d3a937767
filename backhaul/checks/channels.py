"""Hops that hear each other: at one site, and from one site to another."""

from collections import defaultdict
from collections.abc import Iterator

import numpy as np

from backhaul.budgets.hubs import OMNI_DEG
from backhaul.checks.context import Context, on_link
from backhaul.checks.hops import best_of_modes
from backhaul.findings import FAIL, NOTE, THIN, Finding
from backhaul.path.ends import FDD
from backhaul.path.links import Link
from backhaul.physics.sectors import pattern_db
from backhaul.units import MHZ_PER_GHZ
from backhaul.wording import against

#: Discrimination by pattern that keeps two hops on one channel apart [dB]: rules of the project.
WANTED_DB = 20.0
#: Others that lift the noise by so much are named [dB]: rules of the project.
RISE_DB = 3.0
#: Of the distance of the halves of a band, the least between the two frequencies of a pair: plans
#: differ by some channels from the halves that a class of radios covers (common practice).
LEAST_SPACING = 0.95
#: Frequencies are compared to a kilohertz: channels side by side touch and do not overlap.
DECIMALS = 6


def radio_channel(context: Context) -> Iterator[Finding]:
    """radio-channel: hops of one site on one channel, or sending in both halves of a band."""
    yield from _spacings(context)
    hops = context.radio.hops
    at_site: dict[str, list[tuple[int, int]]] = defaultdict(list)
    for index, pair in enumerate(hops.ends):
        for end in pair:
            if end.site_name:
                at_site[end.site_name].append((index, end.number))
    for site, ends in at_site.items():
        if len(ends) > 1:
            yield from _pairs(context, site, ends)
            yield from _halves(context, site, ends)


def _spacings(context: Context) -> Iterator[Finding]:
    """A pair whose two frequencies lie closer than the halves that its filters part."""
    hops = context.radio.hops
    for index, link in enumerate(hops.links):
        radio = hops.ends[index][0].radio
        sends, hears = radio.tx_min_ghz, radio.rx_min_ghz
        if radio.duplex != FDD or sends is None or hears is None:
            continue
        plan = abs(hears - sends) * MHZ_PER_GHZ
        spacing = abs(float(np.diff(hops.frequency_ghz[index])[0])) * MHZ_PER_GHZ
        if not 0 < spacing < LEAST_SPACING * plan:
            continue
        yield on_link(
            "radio-channel",
            THIN,
            link,
            link.rows[0],
            "to_frequency_ghz",
            f"the two frequencies lie {spacing:g} MHz apart, the halves of {radio.part} "
            f"{plan:g} MHz: its filters part a sender from its receiver at that spacing, and plans "
            "give channels in such pairs",
            remedy=f"a far frequency {plan:g} MHz away, or a radio whose data sheet states the spacing",
            value=spacing,
            limit=LEAST_SPACING * plan,
            unit="MHz",
            source="channel plans in pairs, common practice",
        )


def _halves(context: Context, site: str, ends: list[tuple[int, int]]) -> Iterator[Finding]:
    """At one site all frequency-division terminals of a band send in the same half of it."""
    hops = context.radio.hops
    seen: list[tuple[int, float, float, bool]] = []
    for index, end in ends:
        sent, heard = hops.frequency_ghz[index, end], hops.frequency_ghz[index, 1 - end]
        if hops.ends[index][end].radio.duplex != FDD or not sent - heard:
            continue
        if sent != sent or heard != heard:
            continue
        low, high, is_high = min(sent, heard), max(sent, heard), bool(sent > heard)
        other = next(
            (o for o in seen if o[0] != index and o[3] != is_high and low <= o[2] and o[1] <= high),
            None,
        )
        seen.append((index, low, high, is_high))
        if other is None:
            continue
        link, one = hops.links[index], hops.links[other[0]]
        finding = on_link(
            "radio-channel",
            THIN,
            link,
            link.rows[0],
            "frequency_ghz",
            f"at {site} this hop transmits in the {'upper' if is_high else 'lower'} half of the "
            f"band at {sent:g} GHz, and {_name(one)} in the other: each receiver is beside a "
            "transmitter in its own half",
            remedy="turn one of the hops round, its two terminals and their frequencies, so that "
            "all terminals of the site transmit in one half",
            value=sent,
            limit=heard,
            unit="GHz",
            source="high/low rule, common practice",
            shared=f"halves at {site}",
            paths=tuple(dict.fromkeys((*link.paths, *one.paths))),
        )
        yield finding._replace(rows=(link.rows[0].id, one.rows[0].id))


def radio_interference(context: Context) -> Iterator[Finding]:
    """radio-interference: a receiver hears other senders of the design above its noise."""
    radio = context.radio
    values, heard = radio.values, radio.interference
    rise = rise_by_others(radio)
    best = best_of_modes(radio, "margin_db")
    for place in np.flatnonzero(np.round(rise, DECIMALS) >= RISE_DB).tolist():
        way = radio.hops.directions[place]
        loudest = radio.hops.directions[int(heard.strongest[place])]
        level = float(values["interference_dbm"][place])
        left = float(best[place])
        lost = left < 0 <= left + rise[place]
        carrier = float(values["received_dbm"][place]) - level
        yield on_link(
            "radio-interference",
            FAIL if lost else THIN,
            way.link,
            way.row,
            way.sender.column("frequency_ghz"),
            f"{way.receiver.name} receives other transmitters of the design at {level:.1f} dBm, "
            f"the strongest {loudest.sender.name} of {_name(loudest.link)}: {abs(carrier):.1f} dB "
            f"{'below' if carrier >= 0 else 'above'} its own hop, the noise rises by {against(rise[place], RISE_DB)[0]} dB"
            + ("; no mode is left" if lost else ""),
            remedy="use another channel or the other polarization for one of them, antennas with "
            "narrower beams, or less power; at one site time-division radios in step "
            "(tdd_in_step) do not hear each other",
            value=rise[place],
            limit=RISE_DB,
            unit="dB",
            source="free space, patterns of ITU-R F.699; all transmitters at once",
            shared=f"hops {sorted((way.link.index, loudest.link.index))}",
        )


def rise_by_others(radio) -> np.ndarray:
    """Noise rise of each direction by the other senders of the design alone [dB]."""
    return radio.values["noise_rise_db"] - radio.values["typed_noise_rise_db"]


def _pairs(context: Context, site: str, ends: list[tuple[int, int]]) -> Iterator[Finding]:
    """One finding a hop: the hop before it at the site that its antennas tell apart worst."""
    hops = context.radio.hops
    index = np.array([hop for hop, _ in ends])
    end = np.array([end for _, end in ends])
    # a hub points where its antenna does; its own hops take turns, at it and at their far ends
    owner = hops.hubs.number[index]
    hub = np.where(end == 0, hops.hubs.number[index], -1)
    azimuth = np.where(end == 0, hops.azimuth_deg[index], hops.to_azimuth_deg[index])
    beam = np.where(hub >= 0, np.nan_to_num(hops.beamwidth_deg[index, end]), 0.0)
    azimuth = np.where(
        hub >= 0,
        np.where(beam >= OMNI_DEG, 0.0, hops.hubs.axis_deg[index]),
        azimuth,
    )
    centre = hops.frequency_ghz[index]
    half = np.nan_to_num(hops.channel_mhz[index]) / 2 / MHZ_PER_GHZ
    # terminals alike in all that counts are judged once
    alike = np.column_stack([azimuth, hops.gain_dbi[index, end], centre, half, hub, beam, owner])
    kinds, first, kind_of = np.unique(
        np.round(alike, 6), axis=0, return_index=True, return_inverse=True
    )
    kind_of = kind_of.ravel()
    apart = [_apart_db(kinds[kind], kinds) for kind in range(len(kinds))]
    for place, (hop, kind) in enumerate(zip(index.tolist(), kind_of.tolist(), strict=True)):
        own = int(hub[place])
        if own >= 0 and (hub[:place] == own).any():
            continue  # said of the first hop of the hub
        earlier = (first < place) & (index[first] != hop)
        if owner[place] >= 0:
            earlier &= owner[first] != owner[place]
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
        apart_db, wanted_db = against(found[worst], WANTED_DB, 0)
        angle = abs((kinds[kind][0] - kinds[worst][0] + 180) % 360 - 180)
        finding = on_link(
            "radio-channel",
            THIN,
            other,
            other.rows[0],
            "frequency_ghz",
            f"at {site} this hop and {_name(one)} are on overlapping channels {angle:.0f}° apart: "
            f"their antennas separate them by {apart_db} dB, {wanted_db} dB are wanted",
            remedy="use another channel or antennas with narrower beams",
            value=found[worst],
            limit=WANTED_DB,
            unit="dB",
            source="envelope of ITU-R F.699 (to be confirmed)",
            paths=tuple(dict.fromkeys((*other.paths, *one.paths))),
            shared=f"channels at {site}",
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
        "separate them is not known",
        remedy="give the coordinates of their sites and the gain of their antennas",
    )


def _name(link: Link) -> str:
    return link.rows[0].label or f"{link.paths[0]} step {link.first_step:g}"


def _apart_db(one: np.ndarray, others: np.ndarray) -> np.ndarray:
    """How far a terminal and each other are told apart by pattern [dB].

    Infinite where they share no channel, NaN where their directions or gains are not known.
    Columns: azimuth, gain, both centres, half the width, number and beam of a hub, hub of the hop.
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
        pattern_db(angle_deg=safe, gain_dbi=np.nan_to_num(one[1]), beam_deg=one[6]),
        pattern_db(angle_deg=safe, gain_dbi=np.nan_to_num(gain), beam_deg=others[:, 6]),
    )
    return np.where(overlap, np.where(known, db, np.nan), np.inf)
