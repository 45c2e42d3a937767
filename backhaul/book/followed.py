"""Which typed figures the book follows all the way to its answer; the others want a new run.

A figure is followed where every verdict that hangs on it is live, or where it can only get better:
then the answer of the book is never better than that of a new evaluation. What is not named here
is not followed.
"""

from itertools import pairwise
from math import inf
from typing import Any, NamedTuple

import numpy as np

from backhaul.book.typed_limits import column_of, family_of
from backhaul.budgets.energy import energy_balances
from backhaul.budgets.hubs import OMNI_DEG, SECTOR_DEG
from backhaul.checks.bands import LICENCE, judge
from backhaul.design.kinds import KINDS, LIGHT
from backhaul.figures.delays import INDEX, RADIO_LATENCY
from backhaul.figures.radio_terms import ALONE, STILL


class Span(NamedTuple):
    """Figures between which the book follows."""

    least: float = -inf
    most: float = inf


ALL = Span()

_LIGHT = {
    "optics": "launch_min_dbm launch_max_dbm sensitivity_dbm overload_dbm penalty_db "
    "max_dispersion_ps_nm",
    "fibers": "attenuation_max_db_per_km attenuation_mean_db_per_km attenuation_min_db_per_km "
    "sigma_db_km dispersion_ps_per_nm_km",
    "joints": "max_db min_db typical_db sigma_db",
    "optic_reach": "channel_loss_max_db launch_min_dbm penalty_db",
}
#: Of copper and supply everything is live but the energy of batteries.
_WIRED = ("coppers", "copper_reach", "feeds", "ports", "protectors", "devices")
_ENERGY = ("battery_wh", "battery_use_percent", "solar_w")
#: Figures of a load or line that a battery carries: less is better, or more.
_LESS_LOAD = ("watts", "ohm_per_km", "reactance_ohm_per_km", "ohm", "charge_w")
_MORE_LOAD = ("efficiency", "power_factor", "volts", "output_min_volts", "output_volts")
_RADIO_SUPPLY = ("watts", "supply_min_volts", "supply_max_volts", "power_factor")
_PROJECT = (
    "optical_margin_db",
    "overload_margin_db",
    "repair_allowance_db",
    "feed_drop_percent",
    "supply_reserve_percent",
    "sun_rise_c",
    "spare_percent",
)
_OF_HOPS = ("radio_margin_db", "noise_rise_db", "availability_percent", "rate_headroom_percent")
#: Cards alone show what follows from these, and no verdict hangs on the delay of a path.
_OF_CARDS = ("declination_deg", "end_pair_db", "loss_uncertainty_db", "level_tolerance_db")
_OF_DELAY = (INDEX.key, RADIO_LATENCY.key)
_OF_ORDER = ("spare_percent",)


class Followed:
    """Asks of one evaluation's inputs, by their keys, how far the book follows each."""

    def __init__(self, evaluation: Any):
        self.evaluation = evaluation
        radio = evaluation.radio
        self.rows = {row.id: row for row in evaluation.design.segments}
        self.labels = {row.label: row for row in evaluation.design.segments if row.label}
        sources = evaluation.context.sources
        self.has_energy = bool(energy_balances(sources, evaluation.design, evaluation.power))
        modes = radio.modes.get("snow_factor", np.array([]))
        snows = bool(np.any(np.nan_to_num(np.asarray(modes, float), nan=1.0) != 1.0))
        backed = any(path.backs_up for path in evaluation.design.paths.values())
        hub = any(row.hub for row in evaluation.design.segments)
        #: hops whose outage and rate are live in the whole
        self.plain_hops = not (snows or backed or hub)
        self.shared = backed or hub
        self.alone = all(basis == ALONE for basis in np.asarray(radio.values["noise_basis"]).flat)
        self.sways = not any(
            basis == STILL for basis in np.asarray(radio.values["sway_basis"]).flat
        )
        #: the wind on an antenna is judged
        self.windy = any(site.wind_m_s is not None for site in evaluation.design.sites.values())
        #: a wider beam meets more of the water
        reflection = radio.reflection
        self.mirrored = bool(np.any(reflection.mirrored) or any(reflection.unknown))
        #: second antennas stand at least a diameter apart
        self.doubled = any(
            end.typed("diversity_m") is not None for ends in radio.hops.ends for end in ends
        )
        self.licensed = all(
            rule.rule == LICENCE
            for way in range(2 * len(radio.links))
            for rule in judge(evaluation.context, way)
        )

    @staticmethod
    def reaches_all(key: str) -> bool:
        """Whether everything that hangs on an input is live: words, limits and counts too."""
        name = column_of(key)
        return name in (*_OF_CARDS, *_OF_DELAY, *_OF_ORDER)

    def span(self, key: str, value: float) -> Span | None:
        """Figures over which the book follows an input that is `value` now; None: nowhere else."""
        family, name = family_of(key), column_of(key)
        if name in (*_OF_CARDS, *_OF_DELAY):
            return ALL
        if family in _LIGHT:
            if family == "optics" and name == "watts":
                return self._load(name, value)
            return ALL if name in _LIGHT[family].split() else None
        if family in _WIRED:
            return None if name in _ENERGY else self._load(name, value)
        if family in ("radios", "radio_modes", "antennas"):
            return self._radio(family, name, value)
        return self._of_design(family, name, key, value)

    def _load(self, name: str, value: float) -> Span:
        """A figure of the supply: with a battery somewhere only where its load gets no larger."""
        if not self.has_energy:
            return ALL
        if name in _LESS_LOAD:
            return Span(most=value)
        return Span(least=value) if name in _MORE_LOAD else ALL

    def _radio(self, family: str, name: str, value: float) -> Span | None:
        if family == "radios" and name in _RADIO_SUPPLY:
            return self._load(name, value)
        # rules of bands that hang on the gain are values; a beam may be that of the gain
        of_gain = self.alone and self.licensed and not self.sways
        holds = {
            "max_input_dbm": True,
            "mac_efficiency": True,
            "sensitivity_dbm": True,
            "rate_mbps": True,
            "noise_figure_db": self.alone,
            "tx_power_dbm": self.alone,
            "chains": self.alone,
            "gain_dbi": of_gain,
            "antenna_dbi": of_gain,
            "diameter_m": not self.windy and not self.doubled,
        }
        if name == "beamwidth_deg" and self.alone and self.plain_hops:
            return self._beam(value)
        return ALL if self.plain_hops and holds.get(name) else None

    def _beam(self, value: float) -> Span:
        """A beam that stays directional, a sector or all round: rules of bands hang on it."""
        bounds = (-inf, SECTOR_DEG, OMNI_DEG, inf)
        least, above = next(pair for pair in pairwise(bounds) if value < pair[1])
        return Span(least, value if self.mirrored else float(np.nextafter(above, -inf)))

    def _of_design(self, family: str, name: str, key: str, value: float) -> Span | None:
        if family in ("project", "rule"):
            if name in _PROJECT:
                return ALL
            if name in _OF_HOPS:
                return ALL if self.plain_hops else None
            return Span(most=value) if name in ("cable_slack_percent", "loop_m") else None
        if family in ("demand", "path"):
            return None if self.shared else ALL
        if family == "site":
            return self._site(name, value)
        row = self._row(family, key)
        return None if row is None else self._segment(row, name, value)

    def _site(self, name: str, value: float) -> Span | None:
        if name == "ambient_max_c":
            return Span(most=value)
        if name == "rain_rate_mm_h":
            return ALL if self.plain_hops else None
        if name == "sway_deg":
            return ALL if self.sways and self.plain_hops else None
        return None

    def _row(self, family: str, key: str) -> Any:
        name = key.split(".", 2)[2].rpartition(".")[0]
        if family == "label":
            return self.labels.get(name)
        return self.rows.get(int(name)) if family == "row" and name.isdigit() else None

    def _segment(self, row: Any, name: str, value: float) -> Span | None:
        kind = KINDS[row.kind]
        if name == "length_m":
            return self._length(row, kind, value)
        if name == "count":
            return Span(least=value) if kind.divides_run else ALL
        if name == "extra_loss_db":
            return ALL if kind.medium == LIGHT or (self.alone and self.plain_hops) else None
        if name == "cable_temperature_c":
            return ALL
        if name in ("eirp_limit_dbm", "radio_margin_db", "up_share_percent"):
            return ALL if self.plain_hops else None
        if name in ("tx_power_dbm", "noise_rise_db"):
            return ALL if self.alone and self.plain_hops else None
        return None

    def _length(self, row: Any, kind: Any, value: float) -> Span | None:
        """Lengths have bounds that no cell judges: the way between two sites, order lengths."""
        start, end = self.evaluation.network.places[row.id]
        if not kind.is_run:
            return None
        inside = start == end
        if kind.medium == LIGHT:
            return Span(most=value) if inside else None
        if self.has_energy:
            return Span(most=value) if inside else None
        return ALL if inside else Span(least=value)
