"""Cautions where someone can be hurt; each defers to local codes and licensed practice."""

from collections.abc import Iterator
from typing import Any, NamedTuple

import numpy as np

from backhaul.checks.context import Context, on_link
from backhaul.findings import CAUTION, FAIL, Finding
from backhaul.path.ends import HopDirection
from backhaul.physics import exposure
from backhaul.physics.environment import RF_THRESHOLD_W, gas_group
from backhaul.wording import against

_THRESHOLDS = "IEC 60079-0:2017 Table 5"
DEFERS = "local codes and licensed practice decide"
CAUTIONS = {
    "laser": "Invisible laser light: never look into a fiber end or port, no magnifiers; treat "
    "every fiber as live, cap open ports (IEC 60825-1, IEC 60825-2).",
    "height": "Work at height: fall protection, rescue plan and trained riggers; mast and fixings "
    "are for a structural engineer.",
    "mains": "Mains voltage: isolate, lock off, prove dead; connections by a licensed electrician. "
    "A mains feed has an earth conductor; outdoors and to a socket a residual-current device of "
    "30 mA is usual (IEC 60364-4-41), as the electrician decides.",
    "lightning": "Lightning: no work outdoors in a storm; protectors and metal bonded to one earth "
    "(IEC 62305).",
    "radio": "Radio exposure: switch the terminal off before working in front of its antenna; keep "
    "the distances given.",
    "explosive": "Explosive air: nothing is brought in, opened or switched on without the area's "
    "permit and a licensed assessment.",
}

#: The same in a few words, for where all of them stand in two lines.
BRIEF = {
    CAUTIONS["laser"]: "never look into a fiber (laser)",
    CAUTIONS["height"]: "fall protection at height",
    CAUTIONS["mains"]: "isolate mains, prove dead",
    CAUTIONS["lightning"]: "no work in storms",
    CAUTIONS["radio"]: "radio off before work in front of it",
    CAUTIONS["explosive"]: "explosive air: by the area's permit only",
}


def cautions_of(context: Context) -> dict[str, bool]:
    """Which cautions a design gives cause for."""
    sites = context.design.sites.values()
    outdoors = any(site.outdoor for site in sites)
    all_equipment = context.network.all_equipment.values()
    wired = (*context.network.links["copper"], *context.network.links["feed"])
    return {
        "laser": bool(context.optical.links),
        "height": bool(context.radio.links),
        "mains": any(
            "AC" in (equipment.record.supply, getattr(equipment.record, "output", None))
            for equipment in all_equipment
        ),
        "lightning": outdoors and bool(wired or context.radio.links),
        "radio": bool(context.radio.links),
        "explosive": any(site.hazardous_area for site in sites),
    }


def safety(context: Context) -> Iterator[Finding]:
    """safety: the usual cautions of the design, and those of a place with its figures."""
    for name, applies in cautions_of(context).items():
        if applies:
            yield Finding("safety", CAUTION, CAUTIONS[name], remedy=DEFERS)
    yield from _exposure(context)
    yield from _explosive_air(context)


def _exposure(context: Context) -> Iterator[Finding]:
    """Distance at which the level of the public is met, in front of each antenna."""
    radio = context.radio
    eirp = radio.values["eirp_dbm"]
    frequency = np.nan_to_num(radio.values["frequency_ghz"], nan=5.0)
    met = np.asarray(exposure.public_distance_m(eirp_dbm=eirp, frequency_ghz=frequency))
    distance = np.asarray(exposure.keep_away_m(eirp_dbm=eirp, frequency_ghz=frequency))
    known = np.where(np.isnan(distance), -1.0, distance).reshape(-1, 2)
    way = known.argmax(axis=1).tolist()
    for index in np.flatnonzero(known.max(axis=1, initial=-1.0) >= 0).tolist():
        link, worst = radio.links[index], 2 * index + way[index]
        yield on_link(
            "safety",
            CAUTION,
            link,
            link.rows[0],
            "tx_power_dbm",
            f"stay {distance[worst]:.1f} m away in front of the antennas: the "
            f"limit for the public at {eirp[worst]:.1f} dBm EIRP",
            remedy=DEFERS,
            value=met[worst],
            unit="m",
            source="ICNIRP 2020; 47 CFR 1.1310 (far field)",
        )


class _InExplosiveAir(NamedTuple):
    """A sender at a site in explosive air, and the threshold of its gas group."""

    way: HopDirection
    site: Any
    eirp_dbm: float
    threshold_w: float

    @property
    def watts(self) -> float:
        return float(exposure.eirp_w(eirp_dbm=self.eirp_dbm))

    @property
    def is_above(self) -> bool:
        return self.watts > self.threshold_w

    @property
    def words(self) -> str:
        watts = against(self.watts, self.threshold_w)[0]
        relation = "above" if self.is_above else "below"
        return (
            f"{self.site.site} is {self.site.hazardous_area}: EIRP {watts} W is {relation} the "
            f"threshold of {self.threshold_w:g} W for its gas group"
        )


def _in_explosive_air(context: Context) -> Iterator[_InExplosiveAir]:
    radio = context.radio
    for way in radio.hops.directions:
        site, eirp_dbm = way.sender.site, float(radio.values["eirp_dbm"][way.place])
        if site is None or not site.hazardous_area or eirp_dbm != eirp_dbm:
            continue
        threshold = RF_THRESHOLD_W.get(gas_group(site.hazardous_area) or "IIC")
        if threshold is not None:
            yield _InExplosiveAir(way, site, eirp_dbm, threshold.value)


def _explosive_air(context: Context) -> Iterator[Finding]:
    """Radio power against the threshold of the gas group, for those who work there."""
    for one in _in_explosive_air(context):
        yield on_link(
            "safety",
            CAUTION,
            one.way.link,
            one.way.row,
            "site",
            one.words,
            remedy="whether equipment may be there is for the licensed assessment of the area",
            value=one.watts,
            limit=one.threshold_w,
            unit="W",
            source=_THRESHOLDS,
        )


def explosive_air(context: Context) -> Iterator[Finding]:
    """explosive-air: a terminal sends more than may ignite the gas of its site."""
    above: dict[int, list[_InExplosiveAir]] = {}
    for one in _in_explosive_air(context):
        if one.is_above:
            above.setdefault(one.way.hop, []).append(one)
    for ends in above.values():
        worst = max(ends, key=lambda one: one.watts / one.threshold_w)
        limit_dbm = 30 + 10 * float(np.log10(worst.threshold_w))
        yield on_link(
            "explosive-air",
            FAIL,
            worst.way.link,
            worst.way.row,
            "tx_power_dbm",
            "; ".join(one.words for one in ends) + f", that is {limit_dbm:.1f} dBm",
            remedy="less power, a smaller antenna, or the antenna outside the area, at a site of "
            "its own; the licensed assessment of the area decides",
            value=worst.eirp_dbm,
            limit=limit_dbm,
            unit="dBm",
            source=_THRESHOLDS,
        )
