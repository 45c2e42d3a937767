"""What equivalents of optics, cables and joints must meet, from the budgets of light."""

from collections import defaultdict
from collections.abc import Iterator
from typing import Any

import numpy as np

from backhaul.budgets.optical_shares import Shares
from backhaul.budgets.requirement import (
    AT_LEAST,
    COVERS,
    IS,
    WITHIN,
    Demand,
    Need,
    limit_of,
    settle_first,
    stated,
)
from backhaul.design.kinds import KINDS
from backhaul.figures.optical_directions import Direction
from backhaul.path.links import Link
from backhaul.physics.fiber import COLUMN_REACH_NM
from backhaul.wording import window_text

SHARED = "its share of what the healthy margin leaves, all lines of the link at their limits"
OVERLOAD = "its share of the distance to overload"


def optic_ends(evaluation: Any, part: str, by: str) -> Iterator[Direction]:
    """The directions in which an optic sends; it hears in the opposite one."""
    for direction in evaluation.optical.directions:
        if direction.sender.part == part and (direction.sender_row.by or "") == by:
            yield direction


def optic_demands(evaluation: Any, part: str, by: str = "") -> list[Demand]:
    """What an equivalent of an optic must meet, all other lines at their limits."""
    record = evaluation.catalog.optics[part]
    sends = list(optic_ends(evaluation, part, by))
    found: list[Demand] = []
    found += stated(
        "rate",
        IS,
        record.rate_mbps / 1000,
        "Gb/s",
        record.rate_mbps / 1000,
        "the far optic and both ports run at it",
        "rate_mbps",
    )
    ports = [_port(direction.link, direction.sender_row) for direction in sends]
    cages = sorted({port.form for port in ports if port is not None and port.form})
    found += stated(
        "form",
        IS,
        record.form,
        "",
        record.form,
        f"goes into {', '.join(cages)}" if cages else "",
        "form",
    )
    termination = f"{record.receptacle or ''}/{record.polish or ''}".strip("/")
    found += stated(
        "receptacle", IS, termination, "", termination, "mates with its cord", "receptacle"
    )
    found += stated("strands", IS, record.strands, "", record.strands, "", "strands")
    found += stated(
        "fiber", IS, f"{record.fiber_mode}-mode", "", f"{record.fiber_mode}-mode", "", "fiber_mode"
    )
    found += _windows(record, sends, evaluation)
    found += _levels(evaluation, record, by, sends)
    return found


def _port(link: Link, row: Any) -> Any:
    return link.near_port if row is link.rows[0] else link.far_port


def _windows(record: Any, sends: list[Direction], evaluation: Any) -> list[Demand]:
    """Where it may send and must hear: its budget holds at our own wavelengths only."""
    found: list[Demand] = []
    partners = [direction.receiver for direction in sends]
    low = max(_known([record.tx_min_nm, *(p.rx_min_nm for p in partners)]), default=None)
    high = min(_known([record.tx_max_nm, *(p.rx_max_nm for p in partners)]), default=None)
    if low is not None and high is not None and low > high:
        found += settle_first(
            "range that it transmits in"
        )  # what it meets hears nothing that it sends
    elif low is not None and high is not None:
        found += stated(
            "transmits",
            WITHIN,
            window_text(low, high),
            "",
            window_text(record.tx_min_nm, record.tx_max_nm),
            "its partner receives it; loss and dispersion are read there",
            "tx_min_nm",
        )
    if record.tx_nominal_nm is not None:
        near = _nominal_reach_nm(record.tx_nominal_nm, sends, evaluation)
        limit = f"{record.tx_nominal_nm:g} nm" + (f" ± {near:g} nm" if near else "")
        found += stated(
            "nominal wavelength",
            IS,
            limit,
            "",
            f"{record.tx_nominal_nm:g} nm",
            "attenuation is read at it",
            "tx_nominal_nm",
        )
    low = min(_known(p.tx_min_nm for p in partners), default=None)
    high = max(_known(p.tx_max_nm for p in partners), default=None)
    if low is not None and high is not None:
        found += stated(
            "receive range",
            COVERS,
            window_text(low, high),
            "",
            window_text(record.rx_min_nm, record.rx_max_nm),
            "what its partner transmits",
            "rx_min_nm",
        )
    return found


def _known(values: Any) -> list[float]:
    return [value for value in values if value is not None]


def _nominal_reach_nm(nominal_nm: float, sends: list[Direction], evaluation: Any) -> float:
    """How far a nominal wavelength may lie from ours with the same attenuation of all glass."""
    reach = COLUMN_REACH_NM
    for direction in sends:
        for row in direction.link.rows[1:-1]:
            if KINDS[row.kind].is_run and row.measured_db is None:
                columns = evaluation.catalog.fibers[row.part].max_db_km
                nearest = min((abs(nominal_nm - nm) for nm in columns), default=reach)
                reach = min(reach, max(COLUMN_REACH_NM - nearest, 0.0))
    return reach


#: Figures of an optic: key of the budget, words, unit, which of our figures counts where they
#: differ by fiber, reason, digits.
_FIGURES = (
    ("launch_min_dbm", "launch, lowest", "dBm", min, SHARED),
    ("launch_max_dbm", "launch, highest", "dBm", max, OVERLOAD),
    ("sensitivity_dbm", "sensitivity", "dBm", max, SHARED),
    ("overload_dbm", "overload", "dBm", min, OVERLOAD),
    ("penalty_db", "penalty", "dB", max, SHARED),
    ("channel_limit_db", "channel limit, where the maker states one", "dB", min, SHARED),
)
_COLUMNS = {"channel_limit_db": "channel_loss_max_db"}


def _levels(evaluation: Any, record: Any, by: str, sends: list[Direction]) -> list[Demand]:
    """Launch, sensitivity and the rest, each with its share of the margins that it moves."""
    needs: dict[str, list[Need]] = defaultdict(list)
    ours: dict[str, list[float]] = defaultdict(list)
    for _, need in shares_of(evaluation).needs("optics", record.part, by):
        key = need.influence.input
        needs[key].append(need)
        ours[key].append(need.values[key])
    found: list[Demand] = []
    for key, what, unit, pick, why in _FIGURES:
        if needs[key]:
            found += limit_of(
                what,
                needs[key][0].influence.sense,
                needs[key],
                unit=unit,
                ours=pick(ours[key]),
                field=_COLUMNS.get(key, key),
                why=why,
                least=0.0 if unit == "dB" else None,
            )
    return [*found, *_dispersion(evaluation, record, sends)]


def _dispersion(evaluation: Any, record: Any, sends: list[Direction]) -> list[Demand]:
    """Dispersion that it must stand where it sends and where it hears; a blank is no limit."""
    values, directions = (
        evaluation.optical.values["dispersion_ps_nm"],
        evaluation.optical.directions,
    )
    places = {d.place for d in sends}
    places |= {d.opposite for d in sends if directions[d.opposite].spread is not None}
    known = [float(values[place]) for place in places if not np.isnan(values[place])]
    if not known or not max(known):
        return []
    stands = record.max_dispersion_ps_nm
    return stated(
        "dispersion tolerance",
        AT_LEAST,
        float(np.ceil(round(max(known) * 10, 6)) / 10),
        "ps/nm",
        stands,
        "worst over its wavelength range; a part without a stated limit: ask",
        "max_dispersion_ps_nm",
        digits=1,
    )


#: The shares of the design that was asked for last.
_KEPT: dict[str, Shares] = {}


def shares_of(evaluation: Any) -> Shares:
    """The shares of a design, worked out once."""
    kept = _KEPT.get("optical")
    if kept is None or kept.optical is not evaluation.optical:
        kept = _KEPT["optical"] = Shares(evaluation.optical)
    return kept
