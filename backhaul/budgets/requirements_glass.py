"""What equivalents of cables, cords and joints must meet, from the budgets of light."""

from collections import defaultdict
from typing import Any

import numpy as np

from backhaul.budgets.orders import is_factory_made
from backhaul.budgets.requirement import AT_LEAST, AT_MOST, IS, Demand, Need, limit_of, stated
from backhaul.budgets.requirements_optical import OVERLOAD, SHARED, shares_of
from backhaul.budgets.terminations import strand_name, strands_needed
from backhaul.design.kinds import KINDS
from backhaul.figures.optical_items import ATTENUATOR
from backhaul.path.equipment import row_key
from backhaul.physics.optics import PAIR_MAX_DB, SPLICE_MAX_DB

#: Greatest loss of a mated pair and of a splice [dB], which holds besides (TIA-568.3-D; the splice
#: from memory).
_STANDARD_MAX_DB = {"connector": PAIR_MAX_DB, "splice": SPLICE_MAX_DB}


def fiber_demands(evaluation: Any, part: str, by: str = "") -> list[Demand]:
    """What an equivalent of a fiber cable or cord must meet."""
    record = evaluation.catalog.fibers[part]
    ours = f"{record.mode}-mode, class {record.fiber_class}"
    better = classes_as_good(evaluation, part, by)
    found = stated(
        "fiber",
        IS,
        ours + (f" or better ({', '.join(better)})" if better else ""),
        "",
        ours,
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
    by_nm: dict[float, list[Need]] = defaultdict(list)
    #: what good cable loses at least: below it there is none
    least: dict[float, float] = {}
    for moved, need in shares_of(evaluation).needs("fibers", part, by):
        nm = moved.direction.sender.tx_nominal_nm
        by_nm[nm].append(need)
        lowest = evaluation.optical.runs["attenuation_min_db_per_km"][moved.places[0]]
        least[nm] = float(np.nan_to_num(lowest))
    for nm, needs in sorted(by_nm.items()):
        found += limit_of(
            f"attenuation at {nm:g} nm",
            AT_MOST,
            needs,
            unit="dB/km",
            ours=needs[0].values["attenuation_max_db_per_km"],
            field=f"max_db_km_{nm:g}",
            digits=3,
            least=least[nm],
            why=f"{SHARED}; class {record.fiber_class} holds besides",
        )
    return found


def classes_as_good(evaluation: Any, part: str, by: str = "") -> list[str]:
    """Better fiber classes on which the optics of all links of a cable reach no less."""
    reach = evaluation.catalog.optic_reach
    record = evaluation.catalog.fibers[part]
    optics = {
        link.rows[end].part
        for link in evaluation.optical.links
        if any(row.part == part and (row.by or "") == by for row in link.rows)
        for end in (0, -1)
    }

    def serves(optic: str, better: str) -> bool:
        old, new = (reach.get((optic, name)) for name in (record.fiber_class, better))
        if old is None or old.reach_m is None:
            return True
        return new is not None and (new.reach_m or 0.0) >= old.reach_m

    return [
        better
        for better in evaluation.catalog.better_classes(record.fiber_class)
        if all(serves(optic, better) for optic in optics)
    ]


def strands_used(evaluation: Any, part: str, by: str = "") -> int | None:
    """Most strands that one cable of a part carries light in, or the highest named."""
    used: dict[tuple, set] = defaultdict(set)
    plain: dict[tuple, int] = defaultdict(int)
    highest = 0
    for link in evaluation.optical.links:
        needed = strands_needed(link, evaluation.catalog)
        for row in link.rows[1:-1]:
            if row.part != part or (row.by or "") != by or not KINDS[row.kind].is_run:
                continue
            if row.strand:
                used[row_key(row)].update(map(strand_name, row.strand))
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
    found = (
        stated("kind of splice", IS, family, "", family, "", "family")
        if record.kind == "splice"
        else stated(
            "family and polish", IS, family, "", family, "mates with its neighbours", "family"
        )
    )
    found += stated("made for", IS, record.mode and f"{record.mode}-mode", field="mode")
    if record.kind == ATTENUATOR:
        nominal = record.max_db if record.typical_db is None else record.typical_db
        found += stated("nominal loss", IS, nominal, "dB", nominal, "", "typical_db")
    needs: dict[str, list[Need]] = defaultdict(list)
    for _, need in shares_of(evaluation).needs("joints", part, by):
        needs[need.influence.input].append(need)
    standard = _STANDARD_MAX_DB.get(record.kind)
    shared = limit_of(
        "loss of each, highest",
        AT_MOST,
        needs["each_max_db"],
        unit="dB",
        ours=record.max_db,
        field="max_db",
        why=SHARED + ("" if standard is None else f"; {standard:g} dB by TIA-568.3 at most"),
        cap=None if standard is None else max(standard, record.max_db),
        least=0.0,
    )
    found += shared or stated(  # without a margin to share the standard holds still
        "loss of each, highest",
        AT_MOST,
        standard,
        "dB",
        record.max_db,
        "TIA-568.3",
        "max_db",
    )
    if needs["each_min_db"]:
        found += limit_of(
            "loss of each, lowest",
            AT_LEAST,
            needs["each_min_db"],
            unit="dB",
            ours=needs["each_min_db"][0].values["each_min_db"],
            field="min_db",
            why=OVERLOAD,
        )
    return found
