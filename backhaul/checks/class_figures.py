"""Verdicts that stand on the figures of a class, not on those of a part that was chosen."""

from collections.abc import Iterator

import numpy as np

from backhaul.checks.context import Context, on_link
from backhaul.checks.hops import best_of_modes, fading_of
from backhaul.findings import NOTE, Finding
from backhaul.physics import availability
from backhaul.units import DECIMALS
from backhaul.wording import shares_against

#: By so much a real radio is better or worse in its threshold than its class [dB]: common
#: practice, stated in the catalogue.
CLASS_TOLERANCE_DB = 3.0
_OWN_FIGURES = "data sheet"


def class_thresholds(context: Context) -> Iterator[Finding]:
    """assumption: margin or availability of a hop hang on the class of its radio; once a hop."""
    radio = context.radio
    if not radio.links:
        return
    best, healthy = best_of_modes(radio, "margin_db"), radio.values["healthy_margin_db"]
    has, target = best_of_modes(radio, "availability_percent"), context.performance.hops
    hanging = _hanging_on_target(radio, best, target.target_percent)
    told = set()
    for way in radio.hops.directions:
        place, part = way.place, way.receiver.radio.part
        near = [limit for limit in (0.0, float(healthy[place])) if _is_near(best[place], limit)]
        if not (near or hanging[place]) or way.hop in told or not _of_class(context, part):
            continue
        told.add(way.hop)
        if near:
            value, limit, unit = float(best[place]), near[-1], "dB"
            what = f"margin {value:.1f} dB{way.from_site}, limit {limit:g} dB"
        else:
            value, limit, unit = float(has[place]), float(target.target_percent[place]), "%"
            held, share = shares_against(value, limit)
            what = f"{held} of the year{way.from_site}, its share of the target is {share}"
        yield on_link(
            "assumption",
            NOTE,
            way.link,
            way.row,
            "part",
            f"{what}: the sensitivity is generic, a {part} as bought may be {CLASS_TOLERANCE_DB:g} dB "
            "better or worse",
            remedy="confirm the threshold with the data sheet, in a catalogue of your own",
            value=value,
            limit=limit,
            unit=unit,
            source="common practice",
        )


def _is_near(margin_db: float, limit_db: float) -> bool:
    return bool(round(abs(float(margin_db) - limit_db), DECIMALS) <= CLASS_TOLERANCE_DB)


def _hanging_on_target(radio, margin_db: np.ndarray, target_percent: np.ndarray) -> np.ndarray:
    """Directions that reach their share of the target with a better radio and not with a worse."""
    fading = fading_of(radio, slice(None))
    worse, better = (
        availability.outage(margin_db=margin_db + change, fading=fading).availability_percent
        >= target_percent
        for change in (-CLASS_TOLERANCE_DB, CLASS_TOLERANCE_DB)
    )
    return np.isfinite(margin_db) & (better != worse)


def _of_class(context: Context, part: str) -> bool:
    """No threshold of the radio is from a data sheet."""
    modes = context.catalog.radio_modes.get(part, ())
    return all(mode.basis != _OWN_FIGURES for mode in modes)
