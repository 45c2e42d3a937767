"""Cautions of light: classes of lasers that harm the eye, optical power in explosive air."""

from collections import defaultdict
from collections.abc import Iterator

from backhaul.checks.context import Context, on_link
from backhaul.checks.safety import DEFERS
from backhaul.figures.optical_directions import Direction
from backhaul.findings import CAUTION, Finding
from backhaul.physics.environment import (
    EYE_HARM_FROM,
    harms_the_eye,
    laser_rank,
    optical_mw,
    optical_threshold,
)

_GATHERING = ("1M", "2M")


def laser_class(context: Context) -> Iterator[Finding]:
    """safety: optics of a class that needs more than the usual care, each part once."""
    places: dict[str, list[Direction]] = defaultdict(list)
    for direction in context.optical.directions:
        places[direction.sender.part].append(direction)
    for part, directions in places.items():
        words = _words(directions[0].sender.laser_class)
        if words:
            first = directions[0]
            paths = dict.fromkeys(path for d in directions for path in d.link.paths)
            yield on_link(
                "safety",
                CAUTION,
                first.link,
                first.sender_row,
                "part",
                f"{part}: {words}",
                remedy=f"a laser safety officer sets the hazard level of every open end; {DEFERS}",
                source="IEC 60825-1:2014, IEC 60825-2",
                paths=tuple(paths),
            )


def _words(name: str | None) -> str:
    """What a class asks for beyond the usual caution, "" where that is enough."""
    if not name:
        return "its laser class is not stated; take it as one that harms the eye"
    if harms_the_eye(name):
        return (
            f"laser class {name}, its open beam harms the eye: switch it off and lock it before a "
            "connector is opened, eye protection for its wavelength, trained persons only"
        )
    if any(laser_rank(name) == laser_rank(other) for other in _GATHERING):
        return f"laser class {name}, harmful through a magnifier or fiber microscope"
    if laser_rank(name) is None and name.upper() != "LED":
        return f"laser class {name} is none that is known; take it as {EYE_HARM_FROM} or above"
    return ""


def light_in_explosive_air(context: Context) -> Iterator[Finding]:
    """safety: optical power where the air may explode, as information only."""
    values = context.optical.values
    for link in context.optical.links:
        for direction in context.optical.of(link):
            row = direction.sender_row
            site = context.site_of(row)
            threshold = site and site.hazardous_area and optical_threshold(site.hazardous_area)
            if not threshold:
                continue
            levels = (
                values["stated_launch_max_dbm"][direction.place],
                values["received_max_dbm"][direction.opposite],
            )
            dbm = max((float(level) for level in levels if level == level), default=None)
            if dbm is None:
                continue
            power = float(optical_mw(power_dbm=dbm))
            relation = "above" if power > threshold.value else "not above"
            yield on_link(
                "safety",
                CAUTION,
                link,
                row,
                "site",
                f"{site.site} is {site.hazardous_area}: up to {power:.2g} mW of light at an open or "
                f"broken fiber there, {relation} the {threshold.value:g} mW that do not ignite it",
                remedy="whether the link may be there is for the licensed assessment of the area",
                value=power,
                limit=threshold.value,
                unit="mW",
                source="IEC 60079-28:2015 Table 2",
            )
