"""Is there enough light and not too much: margins and overload."""

from collections.abc import Iterator, Mapping
from itertools import islice
from typing import Any

import numpy as np

from backhaul.budgets.attenuators import link_sizes, two_to_fit
from backhaul.checks.context import Context, on_link
from backhaul.design.kinds import KINDS
from backhaul.figures.optical_directions import Direction
from backhaul.figures.optical_terms import CHANNEL, MARGIN, OVERLOAD, POWER
from backhaul.findings import FAIL, NOTE, PASS, THIN, Finding
from backhaul.path.links import Link
from backhaul.physics.optics import OVERLAP_NONE
from backhaul.units import DECIMALS
from backhaul.wording import against

DATA_SHEET = (
    "take the figures from the data sheet of the optic or cable to be bought, in a catalogue of "
    "your own"
)
_SOURCE = {
    POWER: "IEEE 802.3 Clauses 38, 59, ITU-T G.957: launch less sensitivity less penalty",
    CHANNEL: "published channel limit of IEEE 802.3, optic_reach.csv",
}


def optical_margin(context: Context) -> Iterator[Finding]:
    """optical-margin: worst-case loss against the power of the optics and the standard's limit."""
    values = context.optical.values
    margins = values["standing_margin_db"]
    words = MARGIN.words({**values, "margin_db": margins})
    short = values["healthy_margin_db"] - margins
    for link in context.optical.links:
        yield from islice(_unknown_margins(context, link), 1)
        failing = [d for d in context.optical.of(link) if words[d.place] != PASS]
        if failing:
            direction = max(failing, key=lambda d: (words[d.place] == FAIL, float(short[d.place])))
            yield _margin_finding(context, direction, str(words[direction.place]))


def _margin_finding(context: Context, direction: Direction, severity: str) -> Finding:
    """One finding a link, on the direction that misses most, with the limit that is tighter."""
    values = context.optical.values
    get = {key: column[direction.place] for key, column in values.items()}
    margin, healthy = get["standing_margin_db"], get["healthy_margin_db"]
    basis, limit, loss = str(get["margin_basis"]), "", f"loss {get['loss_max_db']:.2f} dB"
    if get["built_loss_db"] == get["built_loss_db"]:
        loss = (
            f"loss {get['built_loss_db']:.2f} dB by the reading, {get['loss_max_db']:.2f} dB and a "
            f"margin of {get['margin_db']:.2f} dB were designed"
        )
    if basis == CHANNEL:
        limit = f", the channel limit of this optic on this fiber is {get['channel_limit_db']:g} dB"
    held = get["repair_allowance_db"]
    least = 0.0 - held if severity == FAIL else healthy
    has, _ = against(margin, least, 2)
    return on_link(
        "optical-margin",
        severity,
        direction.link,
        direction.sender_row,
        "part",
        f"margin {has} dB at {get['wavelength_nm']:g} nm ({basis}), {healthy:g} dB wanted; "
        f"{loss}{limit}" + (f", {held:g} dB repair allowance" if held else ""),
        remedy=f"save {_up(healthy - margin)} dB: fewer or better joints, a shorter run, "
        "or an optic with more reach",
        value=margin,
        limit=least,
        unit="dB",
        source=_SOURCE[basis],
    )


def _unknown_margins(context: Context, link: Link) -> Iterator[Finding]:
    """Directions whose margin or lowest level cannot be had; no overlap is another finding's."""
    values = context.optical.values
    for direction in context.optical.of(link):
        place = direction.place
        if values["window_overlap"][place] == OVERLAP_NONE:
            continue
        no_margin = np.isnan(values["margin_db"][place])
        if not no_margin and not np.isnan(values["received_min_dbm"][place]):
            continue
        what = (
            "the margin cannot be calculated"
            if no_margin
            else "the lowest level cannot be calculated"
        )
        yield on_link(
            "optical-margin",
            THIN,
            link,
            direction.sender_row,
            "part",
            f"{what}: {_why_unknown(context, direction, 'loss_max_db')}",
            remedy=_cells_to_fill(link),
            unit="dB" if no_margin else "dBm",
        )


def _up(saving_db: float) -> str:
    """Rounded up, so that the saving suffices."""
    return f"{np.ceil(round(10 * saving_db, DECIMALS)) / 10:.1f}"


def receiver_overload(context: Context) -> Iterator[Finding]:
    """receiver-overload: the strongest light against what the receiver stands."""
    values = context.optical.values
    words = OVERLOAD.words({**values, "overload_margin_db": values["standing_overload_margin_db"]})
    for link in context.optical.links:
        over = [d for d in context.optical.of(link) if words[d.place] != PASS]
        if not over:
            continue
        direction = max(over, key=lambda d: values["attenuation_needed_db"][d.place])
        get = {key: column[direction.place] for key, column in values.items()}
        severity = str(words[direction.place])
        damage = get["received_max_dbm"] >= get["damage_dbm"]
        arrive, overload = against(_strongest_dbm(get), get["overload_dbm"], 2)
        wanted = ""
        if severity != FAIL:
            room = get["standing_overload_margin_db"]
            left, asked = against(room, get["wanted_overload_margin_db"], 2)
            wanted = f", {left} dB below it, {asked} dB wanted"
        yield on_link(
            "receiver-overload",
            severity,
            link,
            direction.receiver_row,
            "part",
            f"up to {arrive} dBm arrive at {direction.receiver.part}, overload at {overload} dBm"
            + wanted
            + (f"; from {get['damage_dbm']:g} dBm on the receiver is damaged" if damage else ""),
            remedy=_attenuator_remedy(context, direction, over),
            value=get["standing_overload_margin_db"],
            limit=0.0 if severity == FAIL else get["wanted_overload_margin_db"],
            unit="dB",
            source="receive table of the optic's standard",
        )


def _strongest_dbm(get: Mapping[str, Any]) -> float:
    """Highest level, by the reading where the loss was read."""
    return get["received_max_dbm"] + get["overload_margin_db"] - get["standing_overload_margin_db"]


def _attenuator_remedy(context: Context, direction: Direction, over) -> str:
    values, link = context.optical.values, direction.link
    size = values["attenuator_db"][direction.place]
    needed = values["attenuation_needed_db"]
    if not size > 0:
        two = two_to_fit(link, context.optical.modes, values, context.catalog)
        if two is not None:
            return (
                f"fit attenuators of {two[0].nominal_db:g} and {two[1].nominal_db:g} dB in series "
                "before this receiver: none alone leaves a margin"
            )
        return "no attenuator of the catalogue leaves a margin: fit optics of a shorter class"
    pair = needed[[d.place for d in context.optical.of(link)]]
    sizes = link_sizes(link, context.optical.modes[link.index], pair, context.catalog)
    least = next(s.min_db for s in sizes if s.nominal_db == size)
    where = "in both strands" if direction.sender.strands != 1 else "in the strand"
    return (
        f"fit a {size:g} dB attenuator before this receiver ({_up(needed[direction.place])} dB or "
        f"more; by its tolerance it takes at least {least:g} dB); one row stands {where} and "
        "counts in both directions"
    )


def receiver_unknown(context: Context) -> Iterator[Finding]:
    """receiver-overload: thin where the strongest level is not known; a note without a limit."""
    values = context.optical.values
    for direction in context.optical.directions:
        place, link = direction.place, direction.link
        if values["window_overlap"][place] == OVERLAP_NONE:
            continue
        if np.isnan(values["received_max_dbm"][place]):
            what = "the highest launch power is not published"
            if not np.isnan(values["launch_max_dbm"][place]):
                what = _why_unknown(context, direction, "loss_min_db")
            yield on_link(
                "receiver-overload",
                THIN,
                link,
                direction.sender_row,
                "part",
                f"the highest level cannot be calculated: {what}",
                remedy=_cells_to_fill(link),
                unit="dBm",
            )
        elif np.isnan(values["overload_dbm"][place]):
            yield on_link(
                "assumption",
                NOTE,
                link,
                direction.receiver_row,
                "part",
                f"no overload is published for {direction.receiver.part}: up to "
                f"{values['received_max_dbm'][place]:.2f} dBm arrive unjudged",
                remedy=DATA_SHEET,
            )


def _why_unknown(context: Context, direction: Direction, loss: str) -> str:
    """Which figure is missing for a level or a margin."""
    values, place = context.optical.values, direction.place
    nm = direction.sender.tx_nominal_nm
    if np.isnan(values[loss][place]):
        if nm is None:
            return "the nominal wavelength is not known"
        if (row := _without_length(direction.link)) is not None:
            return f"the length of {row.label or row.part} is not given"
        return f"no attenuation is known at {nm:g} nm for a part of the link"
    if np.isnan(values["launch_min_dbm"][place]):
        return "the lowest launch power is not published"
    if np.isnan(values["sensitivity_dbm"][place]):
        return "the sensitivity is not published"
    return "the penalty is not published"


def _without_length(link: Link):
    """A run of the link that has neither a length nor a measured loss."""
    return next(
        (
            row
            for row in link.rows[1:-1]
            if KINDS[row.kind].is_run and row.length_m is None and row.measured_db is None
        ),
        None,
    )


def _cells_to_fill(link: Link) -> str:
    row = _without_length(link)
    return DATA_SHEET if row is None else f"fill length_m of step {row.step:g}"
