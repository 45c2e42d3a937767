"""Does light arrive undistorted: dispersion, published reach, attenuation at its wavelength."""

from collections.abc import Iterator

import numpy as np

from backhaul.checks.context import Context, on_link
from backhaul.checks.optical_levels import DATA_SHEET
from backhaul.design.kinds import KINDS
from backhaul.figures.judgements import not_passing
from backhaul.figures.optical_terms import DISPERSION, MARGIN
from backhaul.findings import FAIL, NOTE, PASS, THIN, Finding
from backhaul.path.links import Link
from backhaul.physics.optics import RANGES
from backhaul.units import DECIMALS
from backhaul.wording import against, lengths_against, rate_text

#: So many times its reach an optic may run whose margin holds and whose dispersion nobody published:
#: a reach is a round figure (common practice).
REACH_IS_ROUNDED_TO = 1.1


def dispersion_unknown(context: Context) -> Iterator[Finding]:
    """assumption: single-mode fiber whose dispersion the catalogue does not tell."""
    runs = context.optical.runs
    told = set()
    for item in np.flatnonzero(np.isnan(runs["dispersion_ps_per_nm_km"])):
        run, direction = runs["subjects"][item], context.optical.directions[runs["direction"][item]]
        part, link = run.part, direction.link
        if part.mode != "single" or (link.index, part.part) in told:
            continue
        told.add((link.index, part.part))
        what = "its zero-dispersion wavelength or slope is blank"
        if part.zero_dispersion_min_nm is not None and part.dispersion_slope_ps_nm2_km is not None:
            what = f"the wavelengths of {direction.sender.part} are not known"
        yield on_link(
            "assumption",
            NOTE,
            link,
            run.row,
            "part",
            f"the dispersion of {part.part} cannot be calculated: {what}; it was not judged",
            remedy=DATA_SHEET,
        )


def fiber_dispersion(context: Context) -> Iterator[Finding]:
    """fiber-dispersion: chromatic dispersion against what the optics tolerate."""
    values = context.optical.values
    have, limit = values["dispersion_ps_nm"], values["max_dispersion_ps_nm"]
    told = set()
    for place, severity in not_passing(DISPERSION, values):
        direction = context.optical.directions[place]
        pair = [d.place for d in context.optical.of(direction.link)]
        if direction.link.index in told or have[place] < np.nanmax(have[pair]):
            continue
        told.add(direction.link.index)
        collects, most = against(have[place], limit[place], 0)
        from_reach = severity == THIN
        yield on_link(
            "fiber-dispersion",
            severity,
            direction.link,
            direction.sender_row,
            "part",
            f"{collects} ps/nm of dispersion, the optics "
            + ("are specified over a reach of " if from_reach else "take at most ")
            + f"{most} ps/nm",
            remedy="have the maker confirm this dispersion, or fit an optic with a longer reach"
            if from_reach
            else "fit an optic near 1310 nm or one with a larger dispersion tolerance",
            value=have[place],
            limit=limit[place],
            unit="ps/nm",
            source="ITU-T G.652 (08/2024) Table 2; table of the optic",
        )


def fiber_reach(context: Context) -> Iterator[Finding]:
    """fiber-reach: length of glass against the published reach of optic and fiber class."""
    budget = context.optical
    for index, link in enumerate(budget.links):
        if np.isnan(budget.length_m[index]):
            yield from _reach_unknown(context, link, index)
            continue
        for row in (link.rows[0], link.rows[-1]):
            found = next(_reach(context, link, index, row), None)
            if found is not None:
                yield found
                break


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


def _reach(context: Context, link: Link, index: int, row) -> Iterator[Finding]:
    budget, optic = context.optical, context.catalog.optics[row.part]
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
        severity = THIN if not multi and _holds(budget, link, length_m / reach_m) else FAIL
        length, specified = lengths_against(length_m, reach_m)
        yield on_link(
            "fiber-reach",
            severity,
            link,
            row,
            "part",
            f"{length} of fiber, {optic.part} is specified to {specified} on {name}",
            remedy="margin and dispersion decide: have the maker confirm this length"
            if severity == THIN
            else _longer_class(context, optic, name, length_m),
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
        for part, other in catalog.optics.items()
        if (reach := catalog.optic_reach.get((part, fiber_class))) is not None
        and (reach.reach_m or 0.0) >= length_m
        and (other.rate_mbps, other.form, other.strands)
        == (optic.rate_mbps, optic.form, optic.strands)
    ]
    if not longer:
        lay = "" if optic.fiber_mode == "single" else " or lay single-mode"
        return (
            f"shorten the run{lay}: no {rate_text(optic.rate_mbps)} optic of the "
            f"catalogue is specified over it on {fiber_class}"
        )
    return f"shorten the run or fit {' or '.join(longer[:2])}"


def _holds(budget, link: Link, reaches: float) -> bool:
    """Whether margin and dispersion of a link are known and hold in both directions.

    reaches: its length as a multiple of the published reach. A dispersion limit that was only
    computed from the reach tells nothing beyond it, but a reach is a round figure.
    """
    pair = [direction.place for direction in budget.of(link)]
    values = {
        key: budget.values[key][pair] for key in (*MARGIN.of.values(), *DISPERSION.of.values())
    }
    known = not any(np.isnan(figures).any() for figures in values.values())
    dispersion = DISPERSION.words(values)
    rounded = (dispersion == PASS) | ((dispersion == THIN) & (reaches <= REACH_IS_ROUNDED_TO))
    return bool(known and (MARGIN.words(values) != FAIL).all() and rounded.all())


def _known(context: Context, optic, index: int) -> bool:
    return any(
        (optic.part, name) in context.catalog.optic_reach for name in context.optical.classes[index]
    )


def attenuation_range(context: Context) -> Iterator[Finding]:
    """out-of-range: no attenuation column near the wavelength, or none to read between."""
    runs = context.optical.runs
    unread = np.isnan(runs["attenuation_max_db_per_km"]) & np.isnan(runs["measured_db"])
    for item in np.flatnonzero(unread):
        direction = context.optical.directions[runs["direction"][item]]
        row, nm = runs["subjects"][item].row, direction.sender.tx_nominal_nm
        reach = "at a wavelength that is not known" if nm is None else f"within reach of {nm:g} nm"
        yield on_link(
            "out-of-range",
            NOTE,
            direction.link,
            row,
            "part",
            f"{row.part} has no attenuation {reach}",
            remedy="add the column to the cable in your catalogue, or type measured_db",
            value=nm,
            unit="nm",
        )


def statistics_range(context: Context) -> Iterator[Finding]:
    """out-of-range: the statistical budget of links with few joints is a hint only."""
    least = RANGES["statistical_joints"][0]
    joints = context.optical.joints
    counted = np.bincount(
        np.asarray(joints["direction"], dtype=int) // 2,
        weights=joints["count"] / 2,  # each stands once a direction
        minlength=len(context.optical.links),
    )
    few = [link for link in context.optical.links if counted[link.index] < least]
    if few:
        yield on_link(
            "out-of-range",
            NOTE,
            few[0],
            few[0].rows[0],
            "part",
            f"mean + 3 sigma says little with fewer than {least:g} joints, as on {len(few)} of the "
            f"{len(context.optical.links)} optical links; the worst case is what is judged",
            paths=tuple(dict.fromkeys(path for link in few for path in link.paths)),
            limit=least,
            source="common practice",
        )
