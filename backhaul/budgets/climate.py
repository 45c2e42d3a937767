"""Climate of every hop: typed at its sites, else looked up, else a cautious default.

A hop takes the mean of its two sites. The look-up reads the digital maps of an installed `itur`
(the optional package `backhaul[climate]`); the maps are not ours to copy.
"""

import importlib
import importlib.util
import warnings
from collections.abc import Mapping
from typing import Any, NamedTuple

import numpy as np

from backhaul.figures.arrays import numbers
from backhaul.methods import Method
from backhaul.physics import gas

#: Stand-ins where nothing is typed and nothing can be looked up.
#: Rain and gradient: the severe end of twenty places of the ITU-R maps (P.837-7 up to 103 mm/h;
#: P.453 lowest 65 m, all but one desert coast above -393 N/km). Vapour and pressure: ITU-R P.835
#: and P.676 standard; the warm moist case is the cautious one below 50 GHz. So much vapour does
#: not occur at 15 °C: each figure is the worse where it counts, water lines below 50 GHz and
#: oxygen near 60 GHz. Where the temperature is known, no more stands in than such air can hold.
DEFAULTS = {
    "rain_rate_mm_h": 100.0,
    "dn1": -400.0,
    "vapour_g_m3": 20.0,
    "temperature_c": 15.0,
    "pressure_hpa": 1013.25,
}
#: Looked up only, or left blank: without them the quick method of P.530-17 serves.
OPTIONAL = ("roughness_m", "log_k", "dn75")
CLIMATE_LABELS = {
    "rain_rate_mm_h": "rain rate [mm/h]",
    "dn1": "dN1 [N/km]",
    "vapour_g_m3": "vapour [g/m3]",
    "temperature_c": "temperature [°C]",
    "pressure_hpa": "pressure [hPa]",
}
TYPED, LOOKED_UP, DEFAULT = "typed", "looked up", "default"

MAP_METHODS = (
    Method("rain rate map", "ITU-R P.837", "7 (06/2017), by itur"),
    Method("refractivity gradient map", "ITU-R P.453", "13 (12/2017), lowest 65 m, by itur"),
    Method("water vapour map", "ITU-R P.836", "6 (12/2017), by itur"),
    Method("temperature map", "ITU-R P.1510", "1 (06/2017), by itur"),
)


class Climate(NamedTuple):
    """Arrays over hops, and how each figure was had."""

    values: Mapping[str, np.ndarray]
    basis: Mapping[str, np.ndarray]


def hop_climate(site_pairs: list[tuple[Any, Any]]) -> Climate:
    """Climate of hops between pairs of sites (None where a site is not known)."""
    values, basis = {}, {}
    for name in (*DEFAULTS, *OPTIONAL):
        ends = np.array(
            [
                [
                    np.nan if site is None or getattr(site, name) is None else getattr(site, name)
                    for site in pair
                ]
                for pair in site_pairs
            ],
            dtype=float,
        ).reshape(-1, 2)
        known = ~np.isnan(ends)
        total = np.where(known, ends, 0.0).sum(axis=1)
        values[name] = np.where(known.any(axis=1), total / np.maximum(known.sum(axis=1), 1), np.nan)
        basis[name] = np.where(known.any(axis=1), TYPED, DEFAULT)
    blank = {name: np.isnan(values[name]) for name in MAPS if np.isnan(values[name]).any()}
    if blank:
        _look_up(site_pairs, blank, values, basis)
    holds = gas.saturation_vapour_g_m3(temperature_c=values["temperature_c"])
    vapour = np.fmin(DEFAULTS["vapour_g_m3"], holds)
    for name, default in (DEFAULTS | {"vapour_g_m3": vapour}).items():
        values[name] = np.where(np.isnan(values[name]), default, values[name])
    return Climate(values, basis)


def climate_package_is_installed() -> bool:
    """True where the optional maps can be read."""
    return importlib.util.find_spec("itur") is not None


def _look_up(site_pairs, blank, values, basis) -> None:
    from backhaul.physics.geometry import geodesic

    known = np.array(
        [
            all(
                site is not None and site.latitude is not None and site.longitude is not None
                for site in pair
            )
            for pair in site_pairs
        ],
        dtype=bool,
    )
    wanted = np.flatnonzero(np.logical_or.reduce(list(blank.values())) & known)
    if not len(wanted) or not climate_package_is_installed():
        return
    pairs = [site_pairs[i] for i in wanted]
    middle = geodesic(
        latitude1=numbers(a.latitude for a, _ in pairs),
        longitude1=numbers(a.longitude for a, _ in pairs),
        latitude2=numbers(b.latitude for _, b in pairs),
        longitude2=numbers(b.longitude for _, b in pairs),
    )
    found = read_maps(middle.middle_latitude, middle.middle_longitude, tuple(blank))
    for name, column in found.items():
        empty = blank[name][wanted]
        values[name][wanted[empty]] = column[empty]
        basis[name] = basis[name].astype(object)
        basis[name][wanted[empty]] = LOOKED_UP


#: Module and function of `itur` for each map, and its arguments beside the place.
MAPS: dict[str, tuple[Any, ...]] = {
    "rain_rate_mm_h": ("itu837", "rainfall_rate", 0.01),
    "dn1": ("itu453", "DN65", 1),
    "vapour_g_m3": ("itu836", "surface_water_vapour_density", 50, 0.0),
    "temperature_c": ("itu1510", "surface_mean_temperature"),
}
KELVIN_AT_0_C = 273.15
#: Figures of places that are kept at most: designs that differ in little ask for the same.
_MOST_KEPT = 1 << 18
_KEPT: dict[tuple[str, tuple[float, float]], float] = {}


def read_maps(
    latitude: np.ndarray, longitude: np.ndarray, names: tuple[str, ...] = tuple(MAPS)
) -> dict[str, np.ndarray]:
    """Climate at places from the ITU-R maps of the installed package; latitude north [degrees].

    names: the maps that are read, each of up to 50 MB and half a second.
    """
    places = list(zip(np.asarray(latitude).tolist(), np.asarray(longitude).tolist(), strict=True))
    if len(_KEPT) > _MOST_KEPT:
        _KEPT.clear()
    for name in names:
        unread = [place for place in dict.fromkeys(places) if (name, place) not in _KEPT]
        if unread:
            read = _from_map(name, *np.array(unread, dtype=float).T)
            _KEPT.update(
                ((name, place), figure) for place, figure in zip(unread, read, strict=True)
            )
    return {name: np.array([_KEPT[name, place] for place in places], dtype=float) for name in names}


def _from_map(name: str, latitude: np.ndarray, longitude: np.ndarray) -> list[float]:
    module, function, *more = MAPS[name]
    state = np.geterr()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        read = getattr(importlib.import_module(f"itur.models.{module}"), function)
        figures = _plain(read(latitude, longitude, *more))
    np.seterr(**state)
    return (figures - KELVIN_AT_0_C if name == "temperature_c" else figures).tolist()


def _plain(values: Any) -> np.ndarray:
    return np.atleast_1d(np.asarray(getattr(values, "value", values), dtype=float))
