"""How the margins of hops move with their figures: levels, rain, the ground below."""

from collections.abc import Iterator
from typing import Any

import numpy as np

from backhaul.budgets.climate import TYPED
from backhaul.budgets.moves import Figure, Margin, Move
from backhaul.budgets.needed_modes import Needed, needed_mode
from backhaul.figures.spreads import RAIN_PERCENT, TERRAIN_M, WATER_M, spread_of
from backhaul.path.links import RADIO
from backhaul.physics import geometry
from backhaul.units import PERCENT
from backhaul.wording import along_text

_OFFER = "data sheet of the offer"


def radio_moves(evaluation: Any) -> Iterator[Move]:
    """Every figure of every direction of every hop, and the clearance of each hop."""
    radio = evaluation.radio
    for way in radio.hops.directions if len(radio.links) else ():
        needed = needed_mode(evaluation, way.place)
        if needed is not None:
            yield from _of_direction(evaluation, way, needed)
    for link in evaluation.network.links[RADIO]:
        yield from _clearance(evaluation, link)


def _part(family: str, record: Any, column: str, label: str, value: float, unit: str) -> Figure:
    return Figure(
        family,
        record.part,
        column,
        f"{record.part}: {label}",
        value,
        unit,
        record.basis,
        spread_of(record.basis, unit, value),
        _OFFER,
    )


def _of_direction(evaluation: Any, way: Any, needed: Needed) -> Iterator[Move]:
    radio = evaluation.radio
    number = needed.mode - int(radio.mode_start[way.place])
    margin = Margin(
        ("air", way.hop, way.sender.letter, number, needed.needed_db),
        f"{', '.join(way.link.paths[:2])}: hop to {way.receiver.name}",
        needed.margin_db,
        (needed.needed_db,),
    )
    name = radio.modes["name"][needed.mode]
    heard = float(radio.modes["sensitivity_dbm"][needed.mode])
    label = f"sensitivity, {name}"
    receiver = way.receiver.radio
    yield Move(_part("radios", receiver, "sensitivity_dbm", label, heard, "dBm"), margin, -1.0)
    if way.row.tx_power_dbm is None:
        sent = float(radio.modes["mode_power_dbm"][needed.mode])
        figure = _part("radios", way.sender.radio, "tx_power_dbm", f"power, {name}", sent, "dBm")
        yield Move(figure, margin, 1.0)
    for end in (way.sender, way.receiver):
        if end.antenna is not None:
            record, family, column = end.antenna, "antennas", "gain_dbi"
        else:
            record, family, column = end.radio, "radios", "antenna_dbi"
        gain = getattr(record, column)
        if gain is not None:
            yield Move(_part(family, record, column, "antenna gain", gain, "dBi"), margin, 1.0)
    yield from _rain(evaluation, way, needed, margin)


def _rain(evaluation: Any, way: Any, needed: Needed, margin: Margin) -> Iterator[Move]:
    """Where the availability sets what margin is needed, that grows with the rain's fade."""
    radio = evaluation.radio
    values, place = radio.values, way.place
    rate = float(values["rain_rate_mm_h"][place])
    healthy = float(values["healthy_margin_db"][place])
    if not rate > 0 or needed.needed_db <= healthy:
        return
    typed = str(radio.climate.basis["rain_rate_mm_h"][way.hop]) == TYPED
    percent = RAIN_PERCENT if typed else 2 * RAIN_PERCENT
    figure = Figure(
        "climate",
        way.link.paths[0],
        "rain_rate_mm_h",
        f"{way.link.paths[0]}: rain rate, 0.01 % of the year",
        rate,
        "mm/h",
        "climate of the sites" if typed else "default",
        rate * percent / PERCENT,
        "a climate record or map of the place",
    )
    alpha = float(np.nan_to_num(values["rain_alpha"][place], nan=1.0))
    yield Move(figure, margin, -alpha * needed.needed_db / rate)


def _clearance(evaluation: Any, link: Any) -> Iterator[Move]:
    """The ground under a hop: a metre there is so much of the first Fresnel zone."""
    radio, hop = evaluation.radio, link.index
    clear = radio.clearance
    for case, tightest, edge in (
        ("median", clear.median, geometry.FREE_SPACE_CLEARANCE_F1),
        ("worst", clear.worst, 0.0),
    ):
        ratio, at_km = float(tightest.ratio[hop]), float(tightest.at_km[hop])
        distance = float(radio.hops.distance_km[hop])
        if not np.isfinite([ratio, at_km, distance]).all() or not 0 < at_km < distance:
            continue
        radius = float(
            geometry.fresnel_radius_m(
                distance1_km=at_km,
                distance2_km=distance - at_km,
                frequency_ghz=float(np.nanmin(radio.hops.frequency_ghz[hop])),
            )
        )
        wet = bool(radio.reflection.unknown[hop]) or float(radio.reflection.loss_db[hop]) > 0
        figure = Figure(
            "terrain",
            f"{hop}",
            "top_m",
            f"{', '.join(link.paths[:2])}: level {along_text(at_km)} along the hop",
            float(tightest.top_m[hop]),
            "m",
            "levels as typed",
            WATER_M if wet else TERRAIN_M,
            "a survey of the path",
        )
        cell = ("clear", hop, case, edge)
        margin = Margin(cell, f"{', '.join(link.paths[:2])}: clearance", ratio, (edge,))
        yield Move(figure, margin, -1 / radius)
