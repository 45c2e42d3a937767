"""What equivalents of optics, cables and joints must meet, from the budgets of light."""

from collections import defaultdict
from collections.abc import Iterator
from typing import Any

import numpy as np

from backhaul.budgets.optical import CHANNEL
from backhaul.budgets.orders import is_factory_made
from backhaul.budgets.requirement import (
    AT_LEAST,
    AT_MOST,
    COVERS,
    IS,
    WITHIN,
    Demand,
    Figure,
    Need,
    limit_of,
    stated,
)
from backhaul.design.kinds import KINDS
from backhaul.figures.terms import arguments
from backhaul.path.equipment import row_key
from backhaul.path.links import Link
from backhaul.wording import window_text

POWER_FORM = "P"
_HELD = "other figures as in the book, healthy margin kept"


def launch_needed_dbm(
    *, sensitivity_dbm, penalty_db, loss_max_db, repair_allowance_db, healthy_margin_db
):
    """Lowest launch that keeps the healthy margin [dBm].

    >>> launch_needed_dbm(sensitivity_dbm=-19.5, penalty_db=3.5, loss_max_db=5.0,
    ...                   repair_allowance_db=1.0, healthy_margin_db=2.0)
    -8.0
    """
    return sensitivity_dbm + penalty_db + loss_max_db + repair_allowance_db + healthy_margin_db


def sensitivity_allowed_dbm(
    *, launch_min_dbm, penalty_db, loss_max_db, repair_allowance_db, healthy_margin_db
):
    """Poorest sensitivity that keeps the healthy margin [dBm].

    >>> sensitivity_allowed_dbm(launch_min_dbm=-8.0, penalty_db=3.5, loss_max_db=5.0,
    ...                         repair_allowance_db=1.0, healthy_margin_db=2.0)
    -19.5
    """
    return launch_min_dbm - penalty_db - loss_max_db - repair_allowance_db - healthy_margin_db


def penalty_allowed_db(
    *, launch_min_dbm, sensitivity_dbm, loss_max_db, repair_allowance_db, healthy_margin_db
):
    """Highest penalty that keeps the healthy margin [dB]."""
    held = loss_max_db + repair_allowance_db + healthy_margin_db
    return launch_min_dbm - sensitivity_dbm - held


def channel_limit_needed_db(*, loss_max_db, repair_allowance_db, healthy_margin_db):
    """Lowest channel limit that keeps the healthy margin, budget form C [dB]."""
    return loss_max_db + repair_allowance_db + healthy_margin_db


def channel_limit_to_hold_db(*, loss_max_db):
    """Lowest channel limit that the loss stays within, budget form P [dB]."""
    return loss_max_db + 0


def launch_allowed_dbm(*, overload_dbm, wanted_overload_margin_db, loss_min_db):
    """Highest launch that the far receiver stands [dBm]."""
    return overload_dbm - wanted_overload_margin_db + loss_min_db


def overload_needed_dbm(*, launch_max_dbm, wanted_overload_margin_db, loss_min_db):
    """Lowest overload that stands the far launch [dBm]."""
    return launch_max_dbm + wanted_overload_margin_db - loss_min_db


def dispersion_needed_ps_nm(*, dispersion_ps_nm):
    """Dispersion that the optic must stand [ps/nm]."""
    return dispersion_ps_nm + 0


def attenuation_allowed_db_per_km(
    *, attenuation_max_db_per_km, margin_db, healthy_margin_db, length_km
):
    """Highest attenuation of a cable that keeps the healthy margin [dB/km].

    length_km: all of this cable on the link.

    >>> attenuation_allowed_db_per_km(attenuation_max_db_per_km=0.5, margin_db=3.0,
    ...                               healthy_margin_db=2.0, length_km=4.0)
    0.75
    """
    return attenuation_max_db_per_km + (margin_db - healthy_margin_db) / length_km


def attenuation_in_limit_db_per_km(
    *, attenuation_max_db_per_km, channel_limit_db, loss_max_db, length_km
):
    """Highest attenuation of a cable that stays within the channel limit [dB/km]."""
    return attenuation_max_db_per_km + (channel_limit_db - loss_max_db) / length_km


def joint_allowed_db(*, each_max_db, margin_db, healthy_margin_db, count):
    """Highest loss of a joint that keeps the healthy margin [dB]; all its like alike."""
    return each_max_db + (margin_db - healthy_margin_db) / count


def joint_in_limit_db(*, each_max_db, channel_limit_db, loss_max_db, count):
    """Highest loss of a joint that stays within the channel limit [dB]."""
    return each_max_db + (channel_limit_db - loss_max_db) / count


def need_of(optical: Any, direction: int, formula) -> list[Need]:
    """A need over the terms of one direction; nothing where a figure is missing."""
    names = arguments(formula)
    values = {name: float(optical.values[name][direction]) for name in names}
    if any(np.isnan(value) for value in values.values()):
        return []
    return [Need(formula, {name: (Figure(direction, name),) for name in names}, values)]


def optic_ends(evaluation: Any, part: str, by: str) -> Iterator[tuple[int, Any, Any, Any]]:
    """Ends of links at which an optic stands: the direction it sends in, row, partner, link."""
    catalog = evaluation.catalog
    for index, link in enumerate(evaluation.optical.links):
        for way, (row, other) in enumerate(
            ((link.rows[0], link.rows[-1]), (link.rows[-1], link.rows[0]))
        ):
            if row.part == part and (row.by or "") == by:
                yield 2 * index + way, row, catalog.optics[other.part], link


def optic_demands(evaluation: Any, part: str, by: str = "") -> list[Demand]:
    """What an equivalent of an optic must meet, other figures as they stand."""
    record, optical = evaluation.catalog.optics[part], evaluation.optical
    ends = list(optic_ends(evaluation, part, by))
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
    cages = sorted(
        {port.form for _, row, _, link in ends if (port := _port(link, row)) is not None}
    )
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
    found += _windows(record, [partner for _, _, partner, _ in ends])
    found += _levels(optical, record, [direction for direction, *_ in ends])
    return found


def _port(link: Link, row: Any) -> Any:
    return link.near_port if row is link.rows[0] else link.far_port


def _windows(record: Any, partners: list[Any]) -> list[Demand]:
    found: list[Demand] = []
    low = max((p.rx_min_nm for p in partners if p.rx_min_nm is not None), default=None)
    high = min((p.rx_max_nm for p in partners if p.rx_max_nm is not None), default=None)
    if low is not None and high is not None:
        nominal = f"; loss is read at {record.tx_nominal_nm:g} nm" if record.tx_nominal_nm else ""
        found += stated(
            "sends",
            WITHIN,
            window_text(low, high),
            "",
            window_text(record.tx_min_nm, record.tx_max_nm),
            f"what its partner hears{nominal}",
            "tx_min_nm",
        )
    low = min((p.tx_min_nm for p in partners if p.tx_min_nm is not None), default=None)
    high = max((p.tx_max_nm for p in partners if p.tx_max_nm is not None), default=None)
    if low is not None and high is not None:
        found += stated(
            "hears",
            COVERS,
            window_text(low, high),
            "",
            window_text(record.rx_min_nm, record.rx_max_nm),
            "what its partner sends",
            "rx_min_nm",
        )
    return found


def _levels(optical: Any, record: Any, sends: list[int]) -> list[Demand]:
    """Launch, sensitivity and the rest; a part hears in the direction opposite to its own."""
    basis, form = optical.values["margin_basis"], optical.values["budget_form"]
    by_power = [d for d in sends if basis[d] != CHANNEL]
    heard = [d ^ 1 for d in sends if basis[d ^ 1] != CHANNEL]
    by_limit = [d for d in sends if basis[d] == CHANNEL]

    def needs(directions, formula) -> list[Need]:
        return [need for d in directions for need in need_of(optical, d, formula)]

    limits = needs(by_limit, channel_limit_needed_db) + needs(
        [d for d in by_power if not np.isnan(optical.values["channel_limit_db"][d])],
        channel_limit_to_hold_db,
    )
    tightest = min(
        (
            float(optical.values["channel_limit_db"][d])
            for d in sends
            if not np.isnan(optical.values["channel_limit_db"][d])
        ),
        default=None,
    )
    penalised = [d for d in heard if form[d] == POWER_FORM]
    dispersed = [d for direction in sends for d in (direction, direction ^ 1)]
    stands = record.max_dispersion_ps_nm

    def ours(name: str, directions: list[int], pick, blank: float | None) -> float | None:
        """Our figure: of the fiber's class where the standard gives it its own."""
        figures = [float(optical.values[name][d]) for d in directions]
        return pick((value for value in figures if value == value), default=blank)

    return [
        *limit_of(
            "launch, lowest",
            AT_LEAST,
            needs(by_power, launch_needed_dbm),
            unit="dBm",
            ours=ours("launch_min_dbm", by_power, min, record.launch_min_dbm),
            field="launch_min_dbm",
            why=_HELD,
        ),
        *limit_of(
            "launch, highest",
            AT_MOST,
            needs(sends, launch_allowed_dbm),
            unit="dBm",
            ours=record.launch_max_dbm,
            field="launch_max_dbm",
            why="overload of the far receiver",
        ),
        *limit_of(
            "sensitivity",
            AT_MOST,
            needs(heard, sensitivity_allowed_dbm),
            unit="dBm",
            ours=record.sensitivity_dbm,
            field="sensitivity_dbm",
            why=_HELD,
        ),
        *limit_of(
            "overload",
            AT_LEAST,
            needs([d ^ 1 for d in sends], overload_needed_dbm),
            unit="dBm",
            ours=record.overload_dbm,
            field="overload_dbm",
            why="highest launch of the far optic, lowest loss",
        ),
        *limit_of(
            "penalty",
            AT_MOST,
            needs(penalised, penalty_allowed_db),
            unit="dB",
            ours=ours("penalty_db", penalised, max, record.penalty_db),
            field="penalty_db",
            why=_HELD,
        ),
        *limit_of(
            "channel limit, where the maker states one",
            AT_LEAST,
            limits,
            unit="dB",
            ours=tightest,
            field="channel_loss_max_db",
            why="highest loss of its links",
        ),
        *(
            limit_of(
                "stands dispersion of",
                AT_LEAST,
                needs(dispersed, dispersion_needed_ps_nm),
                unit="ps/nm",
                ours=stands,
                field="max_dispersion_ps_nm",
                why="worst over its wavelength range",
                digits=1,
            )
            if stands is not None
            else ()
        ),
    ]


def _shared(evaluation: Any, table: str, part: str, by: str, amount: str):
    """Rows of a part by direction, with the sum of their lengths or counts."""
    items = getattr(evaluation.optical, table)
    groups: dict[int, list[tuple[int, Any]]] = defaultdict(list)
    for place, subject in enumerate(items["subjects"]):
        row = subject.row
        if row.part == part and (row.by or "") == by and row.measured_db is None:
            groups[int(items["direction"][place])].append((place, row))
    for direction, rows in groups.items():
        total = sum(float(items[amount][place]) for place, _ in rows)
        if total > 0:
            yield direction, rows, total


def _spread_needs(evaluation, table, part, by, amount, term, formulas) -> list[tuple[int, Need]]:
    """Needs of a figure that several rows of a link share, by direction."""
    optical = evaluation.optical
    items = getattr(optical, table)
    found = []
    for direction, rows, total in _shared(evaluation, table, part, by, amount):
        now = float(items[term][rows[0][0]])
        for formula in formulas:
            if "channel_limit_db" in arguments(formula) and (
                optical.values["margin_basis"][direction] == CHANNEL
            ):
                continue
            values, figures = {}, {}
            for name in arguments(formula):
                if name == amount:
                    values[name] = total
                    figures[name] = tuple(Figure(direction, name, row.id) for _, row in rows)
                elif name == term:
                    values[name] = now
                    figures[name] = (Figure(direction, name, rows[0][1].id),)
                else:
                    values[name] = float(optical.values[name][direction])
                    figures[name] = (Figure(direction, name),)
            if not any(np.isnan(value) for value in values.values()):
                found.append((direction, Need(formula, figures, values)))
    return found


def fiber_demands(evaluation: Any, part: str, by: str = "") -> list[Demand]:
    """What an equivalent of a fiber cable or cord must meet."""
    record, optical = evaluation.catalog.fibers[part], evaluation.optical
    found = stated(
        "fiber",
        IS,
        f"{record.mode}-mode, class {record.fiber_class}",
        "",
        f"{record.mode}-mode, class {record.fiber_class}",
        "optics and the rest of the link",
        "fiber_class",
    )
    found += stated("core", IS, record.core_um, "µm", record.core_um, "", "core_um")
    terminations = " and ".join(end for end in (record.end_a, record.end_b) if end)
    found += stated("plugs", IS, terminations, "", terminations, "mates at both ends", "end_a")
    found += stated(
        "strands",
        AT_LEAST,
        strands_used(evaluation, part, by),
        "",
        record.strands,
        "strands in use or named, spare ones not counted",
        "strands",
    )
    if is_factory_made(record):
        return found
    formulas = (attenuation_allowed_db_per_km, attenuation_in_limit_db_per_km)
    by_nm: dict[float, list[Need]] = defaultdict(list)
    ours: dict[float, float] = {}
    for direction, need in _spread_needs(
        evaluation, "runs", part, by, "length_km", "attenuation_max_db_per_km", formulas
    ):
        nm = float(optical.values["wavelength_nm"][direction])
        by_nm[nm].append(need)
        ours[nm] = need.values["attenuation_max_db_per_km"]
    for nm, needs in sorted(by_nm.items()):
        found += limit_of(
            f"attenuation at {nm:g} nm",
            AT_MOST,
            needs,
            unit="dB/km",
            ours=ours[nm],
            field=f"max_db_km_{nm:g}",
            digits=3,
            why=f"what the margin leaves on its links; class {record.fiber_class} holds besides",
        )
    return found


def strands_used(evaluation: Any, part: str, by: str = "") -> int | None:
    """Most strands that one cable of a part carries light in, or the highest named."""
    used: dict[tuple, set] = defaultdict(set)
    plain: dict[tuple, int] = defaultdict(int)
    highest = 0
    for link in evaluation.optical.links:
        optics = [evaluation.catalog.optics[row.part] for row in (link.rows[0], link.rows[-1])]
        needed = max(int(optic.strands or 1) for optic in optics)
        for row in link.rows[1:-1]:
            if row.part != part or (row.by or "") != by or not KINDS[row.kind].is_run:
                continue
            if row.strand:
                used[row_key(row)].update(row.strand)
                if is_factory_made(evaluation.catalog.fibers[part]):
                    continue  # a cord bears the numbers of the cable behind it
                highest = max(highest, *(int(s) for s in row.strand if s.isdigit()), 0)
            else:
                plain[row_key(row)] += needed
    counts = [len(used.get(key, ())) + plain.get(key, 0) for key in {*used, *plain}]
    return max([*counts, highest], default=0) or None


def joint_demands(evaluation: Any, part: str, by: str = "") -> list[Demand]:
    """What an equivalent of a connector, splice or attenuator must meet."""
    record = evaluation.catalog.joints[part]
    polish = "" if record.polish in (None, "none") else f"/{record.polish}"
    family = f"{record.family or ''}{polish}"
    if record.kind == "splice":
        found = stated("kind of splice", IS, family, "", family, "", "family")
    else:
        found = stated(
            "family and polish", IS, family, "", family, "mates with its neighbours", "family"
        )
    if record.kind == "attenuator":
        return found + stated(
            "loss", IS, record.max_db, "dB", record.max_db, "keeps overload and margin", "max_db"
        )
    needs = _spread_needs(
        evaluation,
        "joints",
        part,
        by,
        "count",
        "each_max_db",
        (joint_allowed_db, joint_in_limit_db),
    )
    return found + limit_of(
        "loss of each, highest",
        AT_MOST,
        [need for _, need in needs],
        unit="dB",
        ours=record.max_db,
        field="max_db",
        why="what the margin leaves, all of them alike",
    )
