"""Is there enough light and not too much, and does it arrive undistorted."""

from collections.abc import Iterator

import numpy as np

from backhaul.budgets.optical import CHANNEL
from backhaul.checks.context import Context, on_link
from backhaul.design.kinds import KINDS
from backhaul.findings import FAIL, NOTE, THIN, Finding
from backhaul.path.links import Link
from backhaul.physics.optics import OVERLAP_NONE
from backhaul.units import DECIMALS
from backhaul.wording import length_text, rate_text

_DATA_SHEET = (
    "take the figures from the data sheet of the optic or cable to be bought, in a catalogue of "
    "your own"
)


def optical_margin(context: Context) -> Iterator[Finding]:
    """optical-margin: worst-case light against what the receiver, and the standard, ask for."""
    budget = context.optical
    values = budget.values
    margin = np.round(values["margin_db"], DECIMALS)
    over = np.round(values["loss_max_db"] - values["channel_limit_db"], DECIMALS) > 0
    over &= values["margin_basis"] != CHANNEL
    doubtful = ~(margin >= np.round(values["healthy_margin_db"], DECIMALS)) | over
    doubtful |= np.isnan(values["received_min_dbm"])
    for direction in np.flatnonzero(doubtful):
        link = budget.links[direction // 2]
        row = sender_row(link, direction)
        get = {key: column[direction] for key, column in values.items()}
        if np.isnan(get["margin_db"]):
            if get["window_overlap"] != OVERLAP_NONE:
                yield on_link(
                    "optical-margin",
                    THIN,
                    link,
                    row,
                    "part",
                    f"no margin can be had: {_why_no_margin(context, direction)}",
                    remedy=_cells_to_fill(context, direction),
                    unit="dB",
                )
            continue
        if np.isnan(get["received_min_dbm"]):
            yield on_link(
                "optical-margin",
                THIN,
                link,
                row,
                "part",
                f"the lowest level cannot be had: {_why_no_level(context, direction)}",
                remedy=_cells_to_fill(context, direction),
                unit="dBm",
            )
        healthy = get["healthy_margin_db"]
        if margin[direction] < round(healthy, DECIMALS):
            severity = FAIL if margin[direction] < 0 else THIN
            yield on_link(
                "optical-margin",
                severity,
                link,
                row,
                "part",
                f"margin {get['margin_db']:.2f} dB at {get['wavelength_nm']:g} nm "
                f"({get['margin_basis']}), {healthy:g} dB wanted; loss {get['loss_max_db']:.2f} dB",
                remedy=f"save {_up(healthy - get['margin_db'])} dB: fewer or better joints, a "
                "shorter run, or an optic with more reach",
                value=get["margin_db"],
                limit=0.0 if severity == FAIL else healthy,
                unit="dB",
                source="IEEE 802.3 budget, form " + str(get["budget_form"]),
            )
        if over[direction]:
            yield on_link(
                "optical-margin",
                FAIL,
                link,
                row,
                "part",
                f"loss {get['loss_max_db']:.2f} dB is above the channel limit "
                f"{get['channel_limit_db']:g} dB of this optic on this fiber",
                remedy=f"save {_up(get['loss_max_db'] - get['channel_limit_db'])} dB, or fit an "
                "optic with a larger channel limit",
                value=get["loss_max_db"],
                limit=get["channel_limit_db"],
                unit="dB",
                source="published channel limit, optic_reach.csv",
            )


def _up(saving_db: float) -> str:
    """Rounded up, so that the saving suffices."""
    return f"{np.ceil(round(10 * saving_db, DECIMALS)) / 10:.1f}"


def receiver_overload(context: Context) -> Iterator[Finding]:
    """receiver-overload: the strongest light against what the receiver stands."""
    budget = context.optical
    values = budget.values
    room = np.round(values["overload_margin_db"], DECIMALS)
    for direction in np.flatnonzero(room < np.round(values["wanted_overload_margin_db"], DECIMALS)):
        link = budget.links[direction // 2]
        get = {key: column[direction] for key, column in values.items()}
        severity = FAIL if room[direction] < 0 else THIN
        receiver = link.rows[-1] if direction % 2 == 0 else link.rows[0]
        attenuator = get["attenuator_db"]
        remedy = (
            f"fit a {attenuator:g} dB attenuator before this receiver "
            f"({_up(get['attenuation_needed_db'])} dB or more)"
            if attenuator > 0
            else "no standard attenuator leaves a margin: fit optics of a shorter class"
        )
        damage = get["received_max_dbm"] > get["damage_dbm"]
        yield on_link(
            "receiver-overload",
            severity,
            link,
            receiver,
            "part",
            f"up to {get['received_max_dbm']:.2f} dBm arrive at {receiver.part}, overload at "
            f"{get['overload_dbm']:g} dBm"
            + (f"; above {get['damage_dbm']:g} dBm the receiver is damaged" if damage else ""),
            remedy=remedy,
            value=get["overload_margin_db"],
            limit=0.0 if severity == FAIL else get["wanted_overload_margin_db"],
            unit="dB",
            source="receive table of the optic's standard",
        )


def receiver_unknown(context: Context) -> Iterator[Finding]:
    """receiver-overload: thin where the strongest level is not known; a note without a limit."""
    values = context.optical.values
    unknown = np.isnan(values["received_max_dbm"]) & (values["window_overlap"] != OVERLAP_NONE)
    unlimited = np.isnan(values["overload_dbm"]) & ~unknown
    for direction in np.flatnonzero(unknown | unlimited):
        link = context.optical.links[direction // 2]
        sender, receiver = sender_row(link, direction), sender_row(link, direction + 1)
        if unknown[direction]:
            what = "the highest launch power is not published"
            if not np.isnan(values["launch_max_dbm"][direction]):
                what = _why_no_loss(context, direction)
            yield on_link(
                "receiver-overload",
                THIN,
                link,
                sender,
                "part",
                f"the highest level cannot be had: {what}",
                remedy=_cells_to_fill(context, direction),
                unit="dBm",
            )
        elif values["window_overlap"][direction] != OVERLAP_NONE:
            yield on_link(
                "assumption",
                NOTE,
                link,
                receiver,
                "part",
                f"no overload is published for {receiver.part}: up to "
                f"{values['received_max_dbm'][direction]:.2f} dBm arrive unjudged",
                remedy=_DATA_SHEET,
            )


def dispersion_unknown(context: Context) -> Iterator[Finding]:
    """assumption: single-mode fiber whose dispersion the catalogue does not tell."""
    runs = context.optical.runs
    if "dispersion_ps_per_nm_km" not in runs:
        return
    told = set()
    for item in np.flatnonzero(np.isnan(runs["dispersion_ps_per_nm_km"])):
        part, direction = runs["subjects"][item].part, runs["direction"][item]
        link = context.optical.links[direction // 2]
        if part.mode != "single" or (link.index, part.part) in told:
            continue
        told.add((link.index, part.part))
        what = "its zero-dispersion wavelength or slope is blank"
        if part.zero_dispersion_min_nm is not None and part.dispersion_slope_ps_nm2_km is not None:
            what = f"the wavelengths of {sender_row(link, direction).part} are not known"
        yield on_link(
            "assumption",
            NOTE,
            link,
            runs["subjects"][item].row,
            "part",
            f"the dispersion of {part.part} cannot be had: {what}; it was not judged",
            remedy=_DATA_SHEET,
        )


def fiber_dispersion(context: Context) -> Iterator[Finding]:
    """fiber-dispersion: chromatic dispersion against what the optic tolerates."""
    values = context.optical.values
    limit = values["max_dispersion_ps_nm"]
    for direction in np.flatnonzero(np.round(values["dispersion_ps_nm"] - limit, DECIMALS) > 0):
        link = context.optical.links[direction // 2]
        row = sender_row(link, direction)
        have, most = values["dispersion_ps_nm"][direction], limit[direction]
        yield on_link(
            "fiber-dispersion",
            FAIL,
            link,
            row,
            "part",
            f"{have:.0f} ps/nm of dispersion, the optic stands {most:g} ps/nm",
            remedy="fit an optic near 1310 nm or one with a larger dispersion tolerance",
            value=have,
            limit=most,
            unit="ps/nm",
            source="ITU-T G.652 (11/2016); table of the optic",
        )


def fiber_reach(context: Context) -> Iterator[Finding]:
    """fiber-reach: length of glass against the published reach of optic and fiber class."""
    budget = context.optical
    for index, link in enumerate(budget.links):
        if np.isnan(budget.length_m[index]):
            yield from _reach_unknown(context, link, index)
            continue
        for end, row in ((0, link.rows[0]), (1, link.rows[-1])):
            optic = context.catalog.optics[row.part]
            if end and row.part == link.rows[0].part:
                continue
            yield from _reach(context, link, index, row, optic)


def _reach_unknown(context: Context, link: Link, index: int) -> Iterator[Finding]:
    """A link with a run of no length; where no loss stands in, optical-margin says it."""
    run = next(row for row in link.rows if KINDS[row.kind].is_run and row.length_m is None)
    if run.measured_db is None:
        return
    text = f"the length of {run.label or run.part} is not given: "
    if "multi" in context.optical.modes[index]:
        yield on_link(
            "fiber-reach",
            THIN,
            link,
            run,
            "length_m",
            text + "the reach was not judged",
            remedy="fill length_m",
        )
    else:
        yield on_link(
            "assumption",
            NOTE,
            link,
            run,
            "length_m",
            text + "reach and dispersion were not judged",
            remedy="fill length_m",
        )


def _reach(context: Context, link: Link, index: int, row, optic) -> Iterator[Finding]:
    budget = context.optical
    multi = "multi" in budget.modes[index]
    if multi and optic.fiber_mode != "multi" and not _known(context, optic, index):
        return  # fiber-mode says it
    reaches = []
    for name in budget.classes[index]:
        reach = context.catalog.optic_reach.get((optic.part, name))
        if reach is None and multi and optic.fiber_mode == "multi":
            known = [c for part, c in context.catalog.optic_reach if part == optic.part]
            yield on_link(
                "fiber-reach",
                FAIL,
                link,
                row,
                "part",
                f"{optic.part} is not specified on {name}",
                remedy="use a fiber class that it is specified on: "
                + (", ".join(known) or "none in the catalogue"),
                source="optic_reach.csv",
            )
            return
        if reach is not None and reach.reach_m is not None:
            reaches.append((reach.reach_m, name))
    if not reaches:
        return
    reach_m, name = min(reaches)
    length_m = budget.length_m[index]
    if round(length_m, DECIMALS) > reach_m:
        if not multi and not _holds(budget, index):
            return  # optical-margin or fiber-dispersion says it
        severity = FAIL if multi else THIN
        yield on_link(
            "fiber-reach",
            severity,
            link,
            row,
            "part",
            f"{length_text(length_m)} of glass, {optic.part} is specified to "
            f"{length_text(reach_m)} on {name}",
            remedy=_longer_class(context, optic, name, length_m)
            if severity == FAIL
            else "margin and dispersion decide: have the maker confirm this length",
            value=length_m,
            limit=reach_m,
            unit="m",
            source="IEEE 802.3 reach, optic_reach.csv",
        )


def _longer_class(context: Context, optic, fiber_class: str, length_m: float) -> str:
    """Optics of the same rate and form that are specified over the length on this class."""
    catalog = context.catalog
    longer = [
        part
        for (part, name), reach in catalog.optic_reach.items()
        if name == fiber_class
        and (reach.reach_m or 0.0) >= length_m
        and (other := catalog.optics.get(part)) is not None
        and (other.rate_mbps, other.form) == (optic.rate_mbps, optic.form)
    ]
    if not longer:
        return (
            f"shorten the run or lay single-mode: no {rate_text(optic.rate_mbps)} optic of the "
            f"catalogue is specified over it on {fiber_class}"
        )
    return f"shorten the run or fit {' or '.join(longer[:2])}"


def _holds(budget, index: int) -> bool:
    """Whether margin and dispersion of a link hold in both directions, as far as they are known."""
    pair = slice(2 * index, 2 * index + 2)
    margin = np.round(budget.values["margin_db"][pair], DECIMALS)
    dispersion = budget.values["dispersion_ps_nm"] - budget.values["max_dispersion_ps_nm"]
    return not (margin < 0).any() and not (np.round(dispersion[pair], DECIMALS) > 0).any()


def _known(context: Context, optic, index: int) -> bool:
    return any(
        (optic.part, name) in context.catalog.optic_reach for name in context.optical.classes[index]
    )


def _why_no_margin(context: Context, direction: int) -> str:
    values = context.optical.values
    if np.isnan(values["loss_max_db"][direction]):
        return _why_no_loss(context, direction)
    if np.isnan(values["launch_min_dbm"][direction]):
        return "the lowest launch power is not published"
    return "the sensitivity is not published"


def _why_no_level(context: Context, direction: int) -> str:
    if np.isnan(context.optical.values["launch_min_dbm"][direction]):
        return "the lowest launch power is not published"
    return _why_no_loss(context, direction)


def _why_no_loss(context: Context, direction: int) -> str:
    nm = context.optical.values["wavelength_nm"][direction]
    if np.isnan(nm):
        return "the nominal wavelength is not known"
    if (row := _without_length(context, direction)) is not None:
        return f"the length of {row.label or row.part} is not given"
    return f"no attenuation is known at {nm:g} nm for a part of the link"


def _without_length(context: Context, direction: int):
    """A run of the link that has neither a length nor a measured loss."""
    return next(
        (
            row
            for row in context.optical.links[direction // 2].rows[1:-1]
            if KINDS[row.kind].is_run and row.length_m is None and row.measured_db is None
        ),
        None,
    )


def _cells_to_fill(context: Context, direction: int) -> str:
    row = _without_length(context, direction)
    return _DATA_SHEET if row is None else f"fill length_m of step {row.step:g}"


def attenuation_range(context: Context) -> Iterator[Finding]:
    """out-of-range: no attenuation column near the wavelength, or none to read between."""
    runs = context.optical.runs
    if "attenuation_max_db_per_km" not in runs:
        return
    unread = np.isnan(runs["attenuation_max_db_per_km"]) & np.isnan(runs["measured_db"])
    for item in np.flatnonzero(unread):
        link = context.optical.links[runs["direction"][item] // 2]
        row = runs["subjects"][item].row
        nm = context.optical.values["wavelength_nm"][runs["direction"][item]]
        reach = f"within reach of {nm:g} nm"
        if np.isnan(nm):
            reach = "at a wavelength that is not known"
        yield on_link(
            "out-of-range",
            NOTE,
            link,
            row,
            "part",
            f"{row.part} has no attenuation {reach}",
            remedy="add the column to the cable in your catalogue, or type measured_db",
            value=nm,
            unit="nm",
        )


def sender_row(link: Link, direction: int):
    """Row of the optic that sends in this direction."""
    return link.rows[0] if direction % 2 == 0 else link.rows[-1]
