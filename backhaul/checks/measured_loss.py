"""Is a measured loss one that the cable can have: readings too low, too high, of another wave."""

from collections.abc import Iterator

import numpy as np

from backhaul.checks.context import Context, on_link
from backhaul.figures.optical_directions import Direction
from backhaul.figures.optical_items import attenuation
from backhaul.findings import THIN, Finding
from backhaul.physics.fiber import COLUMN_REACH_NM
from backhaul.physics.optics import PAIR_MAX_DB, SPLICE_MAX_DB, is_credible_reading
from backhaul.units import DECIMALS
from backhaul.wording import against

#: A splice beside each end of a cable and one between any two lengths of the shortest usual drum
#: [km]: common practice.
SPLICE_EVERY_KM = 2.0


def measured_loss(context: Context) -> Iterator[Finding]:
    """measured-loss: below what the glass loses, above a sound cable's, of another wavelength."""
    told = set()
    for direction, run, place in _measured_runs(context):
        if run.row.id in told:
            continue
        finding = _reading(context, direction, run, place)
        if finding is not None:
            told.add(run.row.id)
            yield finding


def _measured_runs(context: Context):
    runs = context.optical.runs
    for place, run in enumerate(runs["subjects"]):
        if run.is_measured:
            yield context.optical.directions[runs["direction"][place]], run, place


def _reading(context: Context, direction: Direction, run, place: int) -> Finding | None:
    row, runs = run.row, context.optical.runs
    nm, measured_nm = run.sender.tx_nominal_nm, getattr(row, "measured_nm", None)
    least = runs["attenuation_min_db_per_km"][place]
    length_km = runs["length_km"][place]

    def told(column: str, message: str, remedy: str, limit: float | None = None) -> Finding:
        return on_link(
            "measured-loss",
            THIN,
            direction.link,
            row,
            column,
            message,
            remedy=remedy,
            value=row.measured_db,
            limit=limit,
            unit="dB",
            source="common practice",
        )

    if (
        not np.isnan(least)
        and not np.isnan(length_km)
        and not is_credible_reading(
            measured_db=row.measured_db, length_km=length_km, least_db_per_km=least
        )
    ):
        read, alone = against(row.measured_db, length_km * least, 2)
        return told(
            "measured_db",
            f"{read} dB measured over {length_km:g} km, the fiber alone loses at least {alone} dB "
            f"at {nm:g} nm",
            "measure again, with the reference taken anew and the right strand",
            length_km * least,
        )
    if (too_much := _too_much(context, direction, run, place)) is not None:
        return too_much
    waves = {d.sender.tx_nominal_nm for d in context.optical.of(direction.link)}
    if measured_nm is None and len(waves) > 1:
        return told(
            "measured_db",
            "the loss was measured at a wavelength that is not stated, the link has "
            + " and ".join(f"{wave:g} nm" for wave in sorted(waves - {None})),
            "fill measured_nm; measure at the wavelength that loses more",
        )
    if measured_nm is None or nm is None or abs(nm - measured_nm) <= COLUMN_REACH_NM:
        return None
    if _loses_more(run, nm, measured_nm):
        return told(
            "measured_nm",
            f"measured at {measured_nm:g} nm; at {nm:g} nm this fiber loses more",
            f"measure at {nm:g} nm, too",
        )
    return None


def _too_much(context: Context, direction: Direction, run, place: int) -> Finding | None:
    """A reading that a sound cable of its class, its ends and its joints do not explain."""
    row, runs = run.row, context.optical.runs
    nm, measured_nm = run.sender.tx_nominal_nm, getattr(row, "measured_nm", None)
    length_km = runs["length_km"][place]
    most_db = length_km * runs["attenuation_max_db_per_km"][place]
    joints_db = 2 * PAIR_MAX_DB + SPLICE_MAX_DB * (2 + length_km / SPLICE_EVERY_KM)
    if measured_nm is not None and nm is not None and abs(nm - measured_nm) > COLUMN_REACH_NM:
        return None
    if not round(row.measured_db - most_db - joints_db, DECIMALS) > 0:
        return None
    read, sound = against(row.measured_db, most_db, 2)
    return on_link(
        "measured-loss",
        THIN,
        direction.link,
        row,
        "measured_db",
        f"{read} dB measured over {length_km:g} km, a sound cable of this class loses at most "
        f"{sound} dB at {nm:g} nm, its ends and joints {joints_db:.1f} dB more",
        remedy="find the bend, break or joint with a reflectometer (OTDR), repair it, measure again",
        value=row.measured_db,
        limit=most_db + joints_db,
        unit="dB",
        source="common practice; ISO/IEC 11801 attenuation of the class, TIA-568.3-D joints",
    )


def _loses_more(run, nm: float, measured_nm: float) -> bool:
    # a class may promise one figure for all waves: its usual and its least tell them apart
    pairs = [
        [attenuation(table, wave) for wave in (nm, measured_nm)]
        for table in (run.part.max_db_km, run.part.typical_db_km, run.part.min_db_km)
    ]
    known = [(here, there) for here, there in pairs if here is not None and there is not None]
    return not known or pairs[0][0] is None or any(here > there for here, there in known)
