"""Site cards, light: loss of each fiber link and level at each receiver, with acceptance limits."""

from typing import Any

import numpy as np

from backhaul.book.formula_cells import NOT_KNOWN
from backhaul.book.optical_keys import light_key
from backhaul.book.sheets.shared import any_of, is_known
from backhaul.book.sheets.site_card import Card, Reading
from backhaul.budgets.cable_runs import port_text
from backhaul.design.kinds import KINDS
from backhaul.figures.optical_items import COUNT, Joint
from backhaul.figures.optical_terms import Direction
from backhaul.path.links import Link
from backhaul.physics import optics
from backhaul.spreadsheet.cells import Calc, Head, Number, SheetCell, Text

#: Uncertainty of a loss measured with reference-grade cords [dB]: IEC 61280-4-2:2014, Annex
#: (0.2 to 0.3), IEC 61280-4-1:2019, Annexes (0.2 to 0.4); from memory, the upper ends.
LOSS_UNCERTAINTY_DB = {"single": 0.3, "multi": 0.4}
_METHOD = {
    "single": "IEC 61280-4-2, one reference cord",
    "multi": "IEC 61280-4-1, one reference cord, encircled flux",
}
_UNCERTAINTY_SOURCE = {
    "single": "IEC 61280-4-2:2014, annex: 0.2 to 0.3 dB (to be confirmed)",
    "multi": "IEC 61280-4-1:2019, annexes: 0.2 to 0.4 dB (to be confirmed)",
}
#: Mated pairs at the test cords, one at each end.
_END_PAIRS = 2


def loss_limit_db(*, runs_db, pairs, splices, attenuators_db, end_pair_db):
    """Greatest loss that may be measured between the plugs of the two optics [dB].

    runs_db: highest loss of the glass. pairs: mated pairs between the optics; those at the two
    test cords are added here. Source: TIA-568.3-D; ISO/IEC 14763-3.

    >>> print(loss_limit_db(runs_db=0.8, pairs=2, splices=2, attenuators_db=0, end_pair_db=0.5))
    3.9
    """
    channel = optics.acceptance_limit_db(
        length_km=1,
        attenuation_db_per_km=runs_db,
        pairs=pairs + _END_PAIRS,
        splices=splices,
        end_pair_db=end_pair_db,
    )
    return channel + attenuators_db


def least_loss_db(*, loss_min_db, uncertainty_db):
    """Lowest credible reading of a loss [dB]: below it the reference or the fiber is wrong.

    >>> print(least_loss_db(loss_min_db=1.0, uncertainty_db=0.3))
    0.7
    """
    return loss_min_db - uncertainty_db


def greatest_loss_db(*, limit_db, loss_max_db, margin_db):
    """The acceptance limit, or what the budget bears, whichever is less [dB].

    >>> print(greatest_loss_db(limit_db=3.9, loss_max_db=2.5, margin_db=1.0))
    3.5
    """
    return np.minimum(limit_db, loss_max_db + margin_db)


def expected_level_dbm(*, launch_min_dbm, launch_max_dbm, mean_db):
    """Middle of the launch range less the mean loss [dBm].

    >>> print(expected_level_dbm(launch_min_dbm=-9.0, launch_max_dbm=-3.0, mean_db=2.0))
    -8.0
    """
    return (launch_min_dbm + launch_max_dbm) / 2 - mean_db


def least_level_dbm(*, received_min_dbm, sensitivity_dbm, penalty_db):
    """Lowest level of the budget, and no less than the receiver needs [dBm].

    >>> print(least_level_dbm(received_min_dbm=-12.0, sensitivity_dbm=-19.0, penalty_db=3.0))
    -12.0
    """
    return np.maximum(received_min_dbm, sensitivity_dbm + penalty_db)


def greatest_level_dbm(*, received_max_dbm, overload_dbm):
    """Highest level of the budget, and no more than the receiver stands [dBm].

    >>> print(greatest_level_dbm(received_max_dbm=-2.0, overload_dbm=-3.0))
    -3.0
    """
    return np.minimum(received_max_dbm, overload_dbm)


def limit_rows(card: Card, ends: list[tuple[Link, int]]) -> dict[tuple, list[SheetCell]]:
    """What the loss limit of each end is made of; the limit stands last."""
    return {(link.index, end): _limit_row(card, link, end) for link, end in ends}


def write_light_limits(card: Card, rows: dict[tuple, list[SheetCell]]) -> None:
    """The table from which the loss limits follow."""
    if rows:
        card.section(
            "",
            "Loss limits, in dB, how made",
            "What is added",
            *(
                Head(text, "head right")
                for text in ("Runs", "Pairs", "Splices", "Ends", "Atten.", "Limit")
            ),
        )
        for cells in rows.values():
            card.sheet.row(*cells)


def _limit_row(card: Card, link: Link, end: int) -> list[SheetCell]:
    catalog, name = card.evaluation.catalog, f"loss{_place(link, end)}"
    mode = fiber_mode(card, link)
    values, refs = {}, {}
    cells: list[SheetCell] = []
    for part, rows in _parts(catalog, link).items():
        key = card.key(f"{name}.{part}")
        value, formula = _sum(card, link, end, part, rows)
        values[part], refs[part] = value, key
        shown = "0.00" if part.endswith("db") else "0"
        if not is_known(value):
            cells.append(Text(NOT_KNOWN, "text right", key=key))
        elif formula:
            cells.append(Calc(key, formula, value, format=shown))
        else:
            cells.append(Number(value, key=key, format=shown))
    end_key = card.rule(
        f"end_pair_db.{mode}",
        f"first and last pair under test, {mode}-mode",
        optics.REFERENCE_PAIR_MAX_DB[mode],
        "dB",
        "ISO/IEC 14763-3, TIA-568.3-D",
    )
    values["end_pair_db"], refs["end_pair_db"] = optics.REFERENCE_PAIR_MAX_DB[mode], end_key
    end_cell = Calc(
        card.key(f"{name}.end_pair_db"), f"{{{end_key}}}", values["end_pair_db"], format="0.00"
    )
    limit = card.computed(None, loss_limit_db, card.key(f"{name}.limit_db"), refs, values)
    how = (
        f"runs + {_END_PAIRS} × end pair + pairs × {optics.PAIR_MAX_DB:g} + splices × "
        f"{optics.SPLICE_MAX_DB:g} + attenuators"
    )
    cells.insert(3, end_cell)
    return [Text(f"{_user(link)} {_from(card, link, end)}"), Text(how, "text small"), *cells, limit]


def _parts(catalog: Any, link: Link) -> dict[str, list]:
    found: dict[str, list] = {"runs_db": [], "pairs": [], "splices": [], "attenuators_db": []}
    for row in link.rows[1:-1]:
        kind = KINDS[row.kind]
        if kind.is_run:
            found["runs_db"].append(row)
        elif kind.divides_run:
            found["splices"].append(row)
        elif catalog.joints[row.part].kind == "attenuator":
            found["attenuators_db"].append(row)
        else:
            found["pairs"].append(row)
    return found


def _sum(card: Card, link: Link, end: int, part: str, rows: list) -> tuple[float, str]:
    """Sum over rows of a link in the direction that arrives at `end`, and its formula text."""
    if not rows:
        return 0.0, ""
    if part in ("pairs", "splices"):
        counts = [1 if row.count is None else row.count for row in rows]
        keys = [
            card.plan.inputs.of(COUNT, Joint(row, card.evaluation.catalog.joints[row.part]))
            for row in rows
        ]
        return sum(counts), any_of("SUM", [key for key in keys if key])
    heard = _heard(card, link, end)
    total = sum(card.index.loss_db[(row.id, heard.place)] for row in rows)
    keys = [light_key(heard, "loss_max_db", row.id) for row in rows]
    live = card.is_live(link) and is_known(total)
    return total, any_of("SUM", keys) if live else ""


def _heard(card: Card, link: Link, end: int) -> Direction:
    """The direction that arrives at an end, 0 near, 1 far."""
    return card.evaluation.optical.of(link)[1 - end]


def _place(link: Link, end: int) -> str:
    """An end of a link in the name of a reading: "3a" the near end of link 3."""
    return f"{link.index}{'ab'[end]}"


def fiber_mode(card: Card, link: Link) -> str:
    """Mode of a link's glass: multi where any is."""
    modes = card.evaluation.optical.modes[link.index]
    return "multi" if "multi" in modes else "single"


def _from(card: Card, link: Link, end: int) -> str:
    """Where the light that arrives at `end` comes from, and its wavelength."""
    heard = _heard(card, link, end)
    nm = heard.sender.tx_nominal_nm
    site = card.evaluation.network.places[heard.sender_row.id][0]
    if not site or site == card.name:
        site = port_text(link, far=not end) or ("the far end", "the first end")[end]
    wave = f", {nm:g} nm" if is_known(nm) else ""
    return f"from {site}{wave}"


def _strands(link: Link) -> str:
    """The labelled cables that the light passes, and its strands there."""
    words = [
        f"{row.label} strand{'s' if len(row.strand) > 1 else ''} {', '.join(row.strand)}"
        for row in link.rows[1:-1]
        if row.strand and row.label
    ]
    return f"{'; '.join(dict.fromkeys(words))}. " if words else ""


def _instruments(card: Card, link: Link, end: int) -> str:
    nm = _heard(card, link, end).sender.tx_nominal_nm
    mode = fiber_mode(card, link)
    wave = f", {nm:g} nm" if is_known(nm) else ""
    return f"optical loss test set ({mode}-mode{wave})"


def _user(link: Link) -> str:
    return f"{link.paths[0]} {link.first_step:g}–{link.last_step:g}"


def read_light(card: Card, ends: list[tuple[Link, int]], limits: dict[tuple, list]) -> None:
    """Loss in the direction that arrives here, and level at the receiver."""
    for link, end in ends:
        limit = limits[(link.index, end)][-1]
        _read_loss(card, link, end, limit)
        _read_level(card, link, end)


def _read_loss(card: Card, link: Link, end: int, limit: SheetCell) -> None:
    name, mode = f"loss{_place(link, end)}", fiber_mode(card, link)
    heard = _heard(card, link, end)
    source = light_key(heard)
    budget = {
        key: float(card.evaluation.optical.values[key][heard.place])
        for key in ("loss_min_db", "mean_db", "loss_max_db", "margin_db")
    }
    uncertainty = card.rule(
        f"loss_uncertainty_db.{mode}",
        f"uncertainty of a measured loss, {mode}-mode",
        LOSS_UNCERTAINTY_DB[mode],
        "dB",
        _UNCERTAINTY_SOURCE[mode],
    )
    lowest = card.computed(
        link,
        least_loss_db,
        card.key(f"{name}.lowest"),
        {"loss_min_db": f"{source}.loss_min_db", "uncertainty_db": uncertainty},
        {"loss_min_db": budget["loss_min_db"], "uncertainty_db": LOSS_UNCERTAINTY_DB[mode]},
    )
    highest = _highest(card, link, name, source, limit, budget)
    card.read(
        Reading(
            name,
            f"Loss, {_user(link)} {_from(card, link, end)}",
            f"{_strands(link)}Source at the far plug, meter here, {_METHOD[mode]}. Expected leaves out "
            "the two pairs at the test cords, which the reading holds",
            card.figure(link, f"{source}.mean_db", card.key(f"{name}.expected"), budget["mean_db"]),
            lowest,
            highest,
            "dB",
            instrument=_instruments(card, link, end),
        )
    )


def _highest(card: Card, link: Link, name: str, source: str, limit: SheetCell, budget: dict):
    key = card.key(f"{name}.highest")
    if not isinstance(limit, Calc | Number):
        return Text(limit.text, "text right", key=key)
    if not is_known(budget["margin_db"]):
        return Calc(key, f"{{{limit.key}}}", limit.value, format="0.00")
    names = ("loss_max_db", "margin_db")
    return card.computed(
        link,
        greatest_loss_db,
        key,
        {"limit_db": limit.key, **{term: f"{source}.{term}" for term in names}},
        {"limit_db": limit.value, **{term: budget[term] for term in names}},
    )


def _read_level(card: Card, link: Link, end: int) -> None:
    heard = _heard(card, link, end)
    name, source = f"light{_place(link, end)}", light_key(heard)
    values = {
        key: float(column[heard.place])
        for key, column in card.evaluation.optical.values.items()
        if key.endswith("_dbm") or key in ("mean_db", "penalty_db")
    }

    def cell(kind: str, formula: Any, bare: str) -> SheetCell:
        """The formula where its figures are known, else the level of the budget alone."""
        code = formula.__code__
        names = code.co_varnames[: code.co_kwonlyargcount]
        key = card.key(f"{name}.{kind}")
        if bare and not all(is_known(values[term]) for term in names):
            return card.figure(link, f"{source}.{bare}", key, values[bare])
        return card.computed(
            link,
            formula,
            key,
            {term: f"{source}.{term}" for term in names},
            {term: values[term] for term in names},
        )

    at = port_text(link, far=bool(end)) or _user(link)
    card.read(
        Reading(
            name,
            f"Light at {at} {_from(card, link, end)}",
            "Power meter on the plug, set to the wavelength; or the optic's own reading, ± 3 dB "
            "(SFF-8472, to be confirmed)",
            cell("expected", expected_level_dbm, ""),
            cell("lowest", least_level_dbm, "received_min_dbm"),
            cell("highest", greatest_level_dbm, "received_max_dbm"),
            "dBm",
        )
    )
