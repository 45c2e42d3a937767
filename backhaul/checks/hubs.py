"""Terminals that several hops share: one channel for all, and far ends inside the beam."""

from collections.abc import Iterator

import numpy as np

from backhaul.budgets.hubs import OMNI_DEG, Hub
from backhaul.checks.context import Context, on_link
from backhaul.design.hubs import OF_CHANNEL
from backhaul.findings import FAIL, NOTE, THIN, Finding
from backhaul.path.ends import FDD
from backhaul.physics.antennas import outside_main_lobe
from backhaul.units import DECIMALS
from backhaul.wording import against

#: Half of a beam, at whose edge an antenna is 3 dB down; and its main lobe (`outside_main_lobe`).
HALF_BEAM, MAIN_LOBE = 0.5, 1 / 1.2


def hub_channel(context: Context) -> Iterator[Finding]:
    """radio-pair: hops of one hub on unlike channels or settings; a terminal has one of each."""
    hops = context.radio.hops
    for hub in hops.hubs.all:
        first = hops.links[hub.hops[0]]
        radio = hops.ends[hub.hops[0]][0].radio
        if radio.duplex == FDD and len(hub.hops) > 1:
            yield on_link(
                "radio-pair",
                FAIL,
                first,
                first.rows[0],
                "hub",
                f"the hub {hub.label} serves {len(hub.hops)} far ends, {radio.part} sends and "
                "receives at once, to one far end",
                remedy="a terminal for each hop, or a time-division radio at the hub and its ends",
                value=float(len(hub.hops)),
                limit=1.0,
            )
            continue
        for place in hub.hops[1:]:
            found = _unlike(context, hub.hops[0], place)
            if found is None:
                continue
            column, own, other, unit, value, limit = found
            link = hops.links[place]
            finding = on_link(
                "radio-pair",
                FAIL,
                link,
                link.rows[0],
                column,
                f"the hub {hub.label} is one terminal {_ONE_OF[column]}: {own}{unit} here, "
                f"{other}{unit} at {first.rows[0].at(column)}",
                remedy=f"the same {column} in all hops of the hub, or a second hub",
                value=value,
                limit=limit,
                unit=unit.strip(),
            )
            yield finding._replace(rows=(link.rows[0].id, first.rows[0].id))


#: What a terminal has one of, by the column that says so.
_ONE_OF = {
    **dict.fromkeys(OF_CHANNEL, "on one channel"),
    "tx_power_dbm": "of one power",
    "up_share_percent": "with one share of its time for up",
}


def _unlike(context: Context, first: int, other: int):
    """In what two hops of a hub differ: column, both figures in words, unit, both figures."""
    hops = context.radio.hops
    for column, figures, unit in (
        ("frequency_ghz", hops.frequency_ghz[:, 0], " GHz"),
        ("to_frequency_ghz", hops.frequency_ghz[:, 1], " GHz"),
        ("channel_mhz", hops.channel_mhz, " MHz"),
    ):
        one, two = float(figures[first]), float(figures[other])
        if round(abs(one - two), DECIMALS) > 0:
            return column, f"{two:.9g}", f"{one:.9g}", unit, two, one
    one, two = (hops.rows[place].polarization for place in (first, other))
    if one and two and one != two:
        return "polarization", two, one, "", None, None
    for column, unit in (("tx_power_dbm", " dBm"), ("up_share_percent", " %")):
        one, two = (getattr(hops.rows[place], column) for place in (first, other))
        if None not in (one, two) and round(abs(one - two), DECIMALS) > 0:
            return column, f"{two:g}", f"{one:g}", unit, two, one
    return None


def hub_pointing(context: Context) -> Iterator[Finding]:
    """radio-pointing: a far end at the edge of its hub's beam, or outside its main lobe."""
    hops = context.radio.hops
    for hub in hops.hubs.all:
        for place in hub.hops:
            beam = float(context.radio.values["beam_deg"][2 * place])
            angle = float(hops.hubs.off_axis_deg[place])
            if not beam < OMNI_DEG or not round(angle - HALF_BEAM * beam, DECIMALS) > 0:
                continue
            is_lost = bool(outside_main_lobe(angle_deg=angle, beamwidth_deg=beam))
            share = MAIN_LOBE if is_lost else HALF_BEAM
            angles, most = against(angle, share * beam)
            row = hops.rows[place]
            yield on_link(
                "radio-pointing",
                FAIL if is_lost else THIN,
                hops.links[place],
                row,
                "antenna",
                f"{row.to_site or 'the far end'} lies {angles}° beside the axis of {hub.label} "
                f"({hops.hubs.axis_deg[place]:.0f}°), {most}° "
                f"{'is the edge of the main lobe' if is_lost else 'is half'} of its beam of "
                f"{beam:g}°: {context.radio.values['off_axis_loss_db'][2 * place]:.1f} dB less",
                remedy="another hub_azimuth_deg, an antenna with a wider beam, or a second hub for "
                "the far ends beside it",
                value=angle,
                limit=share * beam,
                unit="degrees",
                source="ITU-R F.1336 rec. 3.1, from memory",
            )


def hub_notes(context: Context) -> Iterator[Finding]:
    """assumption: where the antenna of a hub was taken to point."""
    hops = context.radio.hops
    for hub in hops.hubs.all:
        link = hops.links[hub.hops[0]]
        if hub.is_unplaced:
            message = (
                f"how far the far ends of {hub.label} lie beside the axis of its antenna is not "
                "known: none is taken to lie beside it"
            )
            remedy = "give the coordinates of the sites"
        elif hub.assumed_deg is not None and len(hub.hops) > 1:
            message = (
                f"the antenna of {hub.label} is taken to point to {hub.assumed_deg:.0f}° from "
                f"north, the middle of its far ends{_widest(context, hub)}"
            )
            remedy = "type where it is to point into hub_azimuth_deg"
        else:
            continue
        finding = on_link(
            "assumption", NOTE, link, link.rows[0], "hub_azimuth_deg", message, remedy=remedy
        )
        rows = tuple(hops.rows[place].id for place in hub.hops)
        paths = tuple(dict.fromkeys(path for place in hub.hops for path in hops.links[place].paths))
        yield finding._replace(rows=rows, paths=paths)


def _widest(context: Context, hub: Hub) -> str:
    """The far end that lies most beside the axis."""
    hops = context.radio.hops
    angles = hops.hubs.off_axis_deg[np.array(hub.hops)]
    place = hub.hops[int(np.argmax(angles))]
    loss = float(context.radio.values["off_axis_loss_db"][2 * place])
    return f"; {hops.rows[place].to_site} lies {angles.max():.0f}° beside it, {loss:.1f} dB less"
