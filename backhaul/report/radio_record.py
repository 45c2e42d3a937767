"""The hops of a design as plain data: columns of the budgets, converted once; modes as asked."""

from typing import Any

import numpy as np

from backhaul.checks.bands import judge_all, ruling
from backhaul.checks.results import Results
from backhaul.figures.arrays import number, numbers, plain
from backhaul.physics.geometry import magnetic_azimuth_deg
from backhaul.physics.multipath import METHOD_NAMES
from backhaul.units import PERCENT

#: Figures that differ by direction where a pair has two frequencies, shown once for the hop.
_OF_FIRST_WAY = (
    "frequency_ghz",
    "slant_km",
    "free_space_loss_db",
    "gas_loss_db",
    "rain_rate_mm_h",
    "rain_k",
    "rain_alpha",
    "rain_0_01_db",
)
#: Figures of a direction, as they are called in the budget.
_OF_DIRECTION = (
    "eirp_dbm",
    "received_dbm",
    "received_chain_dbm",
    "pointing_loss_db",
    "reflection_loss_db",
    "interference_dbm",
    "noise_rise_db",
)
#: Figures of a mode: key in the record, key in the budget.
_OF_MODE = {
    "rate_mbps": "rate_mbps",
    "sensitivity_dbm": "sensitivity_dbm",
    "margin_db": "margin_db",
    "clear_margin_db": "clear_margin_db",
    "rain_outage_percent": "rain_outage_percent",
    "multipath_outage_percent": "multipath_outage_percent",
    "reflection_outage_percent": "reflection_outage_percent",
    "availability_percent": "availability_percent",
    "outage_minutes_year": "outage_minutes",
}
#: Of the two ends, in both orders; and places that count from the first end.
_ENDS = ("azimuth_deg", "tilt_deg", "azimuth_magnetic_deg")
_PLACES = ("clearance_at_km", "reflection_at_km")


def hop_columns(radio: Any) -> dict[str, Any]:
    """Columns by hop.

    A site without a declination takes that of the far one.
    """
    hops, clear, reflection = radio.hops, radio.clearance, radio.reflection
    own, far = (
        numbers(getattr(pair[end].site, "declination_deg", None) for pair in hops.ends)
        for end in (0, 1)
    )
    magnetic = [
        np.asarray(
            magnetic_azimuth_deg(
                azimuth_deg=azimuth, declination_deg=np.where(np.isnan(one), other, one)
            )
        )
        for azimuth, one, other in (
            (hops.azimuth_deg, own, far),
            (hops.to_azimuth_deg, far, own),
        )
    ]
    return {
        "distance_km": hops.distance_km,
        "azimuth_deg": hops.azimuth_deg,
        "to_azimuth_deg": hops.to_azimuth_deg,
        **{
            key: radio.hop_values[key]
            for key in (
                "tilt_deg",
                "to_tilt_deg",
                "diffraction_loss_db",
                "earth_bulge_mid_m",
                "fresnel_mid_m",
            )
        },
        **clear.reported(radio.worst_k),
        "reflection_loss_db": reflection.loss_db,
        "reflection_at_water_m": reflection.at_water_m,
        "reflection_k": reflection.at_k,
        "clearance_ratio_median_k": clear.median.ratio,
        "clearance_ratio_worst_k": clear.worst.ratio,
        "worst_k_factor": radio.worst_k,
        "azimuth_magnetic_deg": magnetic[0],
        "to_azimuth_magnetic_deg": magnetic[1],
        "reflection_loss_waves_db": reflection.waves_loss_db,
        "reflection_at_km": reflection.at_km,
        "reflection_water": [
            hops.ground.bodies[body].name if body >= 0 else None for body in reflection.body
        ],
        "null_spacing_m": reflection.null_spacing_m,
        "diversity_spacing_m": radio.remedies.spacing_m[:, 1],
        "reflection_loss_0_3_m_off_db": radio.remedies.beside_db,
        "clearance_case": [str(case) or None for case in clear.case],
        "hub": [row.hub for row in hops.rows],
        "hub_azimuth_deg": hops.hubs.axis_deg,
        "off_axis_deg": np.where(hops.hubs.number >= 0, hops.hubs.off_axis_deg, np.nan),
        "snow_rain_0_01_db": radio.snow_0_01_db,
        "multipath_method": [METHOD_NAMES[method] for method in radio.multipath_method],
        "rain_polarization": [
            "vertical" if vertical else "horizontal" for vertical in radio.rain_vertical[::2]
        ],
    }


class RadioColumns:
    """All figures of the hops of a design, as lists."""

    def __init__(self, evaluation: Results):
        radio, performance = evaluation.radio, evaluation.performance.hops
        by_hop = hop_columns(radio)
        self._hop_keys = tuple(by_hop)
        self._by_hop = list(zip(*(plain(column) for column in by_hop.values()), strict=True))
        self._first_way = list(
            zip(*(plain(radio.values[key]) for key in _OF_FIRST_WAY), strict=True)
        )
        self._ways = list(zip(*(plain(radio.values[key]) for key in _OF_DIRECTION), strict=True))
        self._names = radio.modes["name"]
        modes = {key: radio.modes[column] for key, column in _OF_MODE.items()}
        self._modes = modes | {"user_rate_mbps": performance.mode_user_rate_mbps}
        self._start = radio.mode_start.tolist()
        self._rules = [ruling(rules) for rules in judge_all(evaluation.context)]
        self._at_target = plain(performance.user_rate_mbps)
        self._in_use = performance.mode.tolist()
        self._target = plain(performance.target_percent)
        has_hub = np.repeat(radio.hops.hubs.number >= 0, 2)
        beside = np.where(has_hub, radio.values["off_axis_loss_db"], np.nan)
        self._off_axis_db = plain(beside)
        self._hub_percent = plain(np.where(has_hub, PERCENT * performance.hub_share, np.nan))
        self._built = evaluation.context.built
        self._rows = [link.rows[0].id for link in radio.links]

    def hop(self, index: int, *, is_reversed: bool) -> dict[str, Any]:
        """Figures of a hop, seen from the end at which its path meets it."""
        body = dict(zip(self._hop_keys, self._by_hop[index], strict=True))
        body.update(zip(_OF_FIRST_WAY, self._first_way[2 * index + is_reversed], strict=True))
        if is_reversed:
            for key in _ENDS:
                body[key], body[f"to_{key}"] = body[f"to_{key}"], body[key]
            for key in _PLACES:
                if body[key] is not None:
                    body[key] = body["distance_km"] - body[key]
        return body

    def direction(self, direction: int, site: str | None) -> dict[str, Any]:
        """Figures of one direction and of its modes."""
        start, stop = self._start[direction : direction + 2]
        mode, rule = self._in_use[direction], self._rules[direction]
        limit = None if rule is None else number(rule.limit_dbm)
        return {
            "from_site": site,
            **dict(zip(_OF_DIRECTION, self._ways[direction], strict=True)),
            "modes": self._modes_of(slice(start, stop)),
            "mode_at_target": self._names[mode] if mode >= 0 else None,
            "rate_at_target_mbps": self._at_target[direction],
            "off_axis_loss_db": self._off_axis_db[direction],
            "hub_time_percent": self._hub_percent[direction],
            "target_percent": self._target[direction],
            "band_rule": rule.rule if rule else None,
            "eirp_limit_dbm": None if limit is None or not np.isfinite(limit) else float(limit),
            "designed_margin_db": self._designed_margin_db(direction),
        }

    def _modes_of(self, own: slice) -> list[dict[str, Any]]:
        """Figures of the modes of one direction: of all, they would fill the memory."""
        columns = [plain(column[own]) for column in self._modes.values()]
        return [
            dict(zip(("mode", *self._modes), row, strict=True))
            for row in zip(self._names[own], *columns, strict=True)
        ]

    def _designed_margin_db(self, direction: int) -> float | None:
        """Margin of the mode in use before levels were read; None where none was."""
        built = self._built
        if built is None or self._rows[direction // 2] not in built.fixed_loss_db:
            return None
        mode = int(built.designed.performance.hops.mode[direction])
        return None if mode < 0 else number(built.designed.radio.modes["margin_db"][mode])
