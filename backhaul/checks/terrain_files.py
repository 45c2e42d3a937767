"""Hops whose ground is from elevation files: where from, and whether that is good enough."""

from collections.abc import Iterator

import numpy as np

from backhaul.budgets.terrain_accuracy import Unsure, unsure_clearances
from backhaul.checks.clearance import clearance_words
from backhaul.checks.context import Context, on_link
from backhaul.checks.hops import from_first
from backhaul.findings import NOTE, PASS, THIN, Finding
from backhaul.path.links import Link
from backhaul.path.terrain import ground_source, terrain_of

_AN_ERROR = ("an error", "an assumed error")
_STATE_IT = "; or state the error of the file, where its maker does, with terrain --error-m"


def terrain_accuracy(context: Context) -> Iterator[Finding]:
    """terrain-accuracy: clear by less than the file's error, where that exceeds the Fresnel zone."""
    radio = context.radio
    words = clearance_words(radio)
    unsure = unsure_clearances(radio.hops, radio.clearance, radio.worst_k, context.design)
    for index, found in unsure.items():
        if words[index] != PASS:  # which is said already
            continue
        link = radio.links[index]
        yield on_link(
            "terrain-accuracy",
            THIN,
            link,
            link.rows[0],
            "to_height_m",
            _what_is_unsure(found, link),
            remedy=f"survey the ground there, or raise both antennas by {_up(-found.spare_m)} m"
            + (_STATE_IT if found.origin.is_assumed else ""),
            value=found.clear_m,
            limit=found.error_m + found.wanted_m,
            unit="m",
            source="rules of the project; the file's vertical error, 90 %",
        )


def _what_is_unsure(found: Unsure, link: Link) -> str:
    return (
        f"{found.clear_m:.1f} m are clear over the ground {from_first(link, found.at_km)}, "
        f"and that ground is from {' and '.join(found.origin.files)} with {_AN_ERROR[found.origin.is_assumed]} of "
        f"{found.error_m:g} m; the first Fresnel zone is only {found.largest_f1_m:.1f} m wide, so "
        f"whether its {found.wanted_m:.1f} m are free there is not known"
    )


def ground_from_files(context: Context) -> Iterator[Finding]:
    """assumption: the ground of a hop is from a file, not from a survey."""
    radio = context.radio
    for link in radio.links:
        row = link.rows[0]
        source = ground_source(terrain_of(link, row, context.design))
        if not source:
            continue
        yield on_link(
            "assumption",
            NOTE,
            link,
            row,
            "part",
            f"the ground is from {source}, not surveyed",
            remedy="look at the tightest place on site",
        )


def _up(metres: float) -> str:
    """Rounded up, so that the raise suffices."""
    return f"{np.ceil(round(metres * 10, 6)) / 10:.1f}"
