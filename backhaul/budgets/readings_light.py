"""Readings of light: loss in the direction that arrives, and level at the receiver."""

from collections.abc import Iterator, Mapping
from typing import Any

from backhaul.budgets.reading_keys import light_key
from backhaul.budgets.site_index import SiteIndex
from backhaul.budgets.site_reading import EXPECTED, HIGHEST, LIGHT, LOSS, LOWEST, Bound, SiteReading
from backhaul.design.kinds import KINDS
from backhaul.figures import reading_formulas as formulas
from backhaul.figures.arrays import number
from backhaul.path.links import Link
from backhaul.physics import optics

_METHOD = {
    "single": "IEC 61280-4-2, one reference cord",
    "multi": "IEC 61280-4-1, one reference cord, encircled flux",
}


def at_site(index: SiteIndex, site: str | None) -> Iterator[SiteReading]:
    """Two readings at each end of an optical link that stands here."""
    for link, end in index.at[site].ends:
        yield _loss(index, site, link, end)
        yield _level(index, site, link, end)


def heard(evaluation: Any, link: Link, end: int) -> Any:
    """The direction that arrives at an end, 0 near, 1 far."""
    return evaluation.optical.of(link)[1 - end]


def fiber_mode(evaluation: Any, link: Link) -> str:
    """Mode of a link's glass: multi where any is."""
    return "multi" if "multi" in evaluation.optical.modes[link.index] else "single"


def from_text(evaluation: Any, link: Link, end: int, site: str | None) -> str:
    """Where the light that arrives at `end` comes from, and its wavelength."""
    own = heard(evaluation, link, end)
    nm = own.sender.tx_nominal_nm
    sender = evaluation.network.places[own.sender_row.id][0]
    if not sender or sender == site:
        equipment = link.near if end else link.far
        sender = ("the far end", "the first end")[end]
        if equipment is not None:
            sender = equipment.label or equipment.part
    return f"from {sender}, {nm:g} nm" if nm is not None else f"from {sender}"


def parts_of(catalog: Any, link: Link) -> dict[str, list]:
    """Rows between the optics by what the loss limit counts them as."""
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


def loss_limit(
    evaluation: Any, losses: Mapping[tuple[int, int], float], link: Link, end: int
) -> Bound:
    """Greatest loss by the standard in the direction that arrives at an end, from its rows."""
    place = heard(evaluation, link, end).place
    values: dict[str, float] = {}
    for name, rows in parts_of(evaluation.catalog, link).items():
        if name in ("pairs", "splices"):
            values[name] = float(sum(1 if row.count is None else row.count for row in rows))
        else:
            values[name] = sum(losses[(row.id, place)] for row in rows)
    values["end_pair_db"] = optics.REFERENCE_PAIR_MAX_DB[fiber_mode(evaluation, link)]
    return Bound(values, formulas.loss_limit_db)


def _loss(index: SiteIndex, site: str | None, link: Link, end: int) -> SiteReading:
    evaluation = index.evaluation
    own, mode = heard(evaluation, link, end), fiber_mode(evaluation, link)
    budget = {
        key: float(evaluation.optical.values[key][own.place])
        for key in ("loss_min_db", "mean_db", "loss_max_db", "margin_db")
    }
    limit = loss_limit(evaluation, index.loss_db, link, end)
    highest = Bound({"limit_db": limit.value})
    if budget["margin_db"] == budget["margin_db"]:
        highest = Bound(
            {"limit_db": limit.value} | {key: budget[key] for key in ("loss_max_db", "margin_db")},
            formulas.greatest_loss_db,
        )
    nm = own.sender.tx_nominal_nm
    wave = f", {nm:g} nm" if nm is not None else ""
    return SiteReading(
        light_key(link, LOSS, end),
        site,
        LOSS,
        f"Loss {from_text(evaluation, link, end, site)}",
        "dB",
        link,
        end,
        f"source at the far plug, meter here, {_METHOD[mode]}; expected leaves out the two pairs at the "
        "test cords, which the reading holds",
        {
            EXPECTED: Bound({"mean_db": budget["mean_db"]}),
            LOWEST: Bound(
                {
                    "loss_min_db": budget["loss_min_db"],
                    "uncertainty_db": formulas.LOSS_UNCERTAINTY_DB[mode],
                },
                formulas.least_loss_db,
            ),
            HIGHEST: highest,
        },
        instrument=f"optical loss test set ({mode}-mode{wave})",
    )


def _level(index: SiteIndex, site: str | None, link: Link, end: int) -> SiteReading:
    evaluation = index.evaluation
    own = heard(evaluation, link, end)

    def bound(formula: Any, names: tuple[str, ...], bare: str = "") -> Bound:
        """The formula where its figures are known, else the level of the budget alone."""
        values = {name: number(evaluation.optical.values[name][own.place]) for name in names}
        if bare and any(value != value for value in values.values()):
            return Bound({bare: values[bare]})
        return Bound(values, formula)

    return SiteReading(
        light_key(link, LIGHT, end),
        site,
        LIGHT,
        f"Light {from_text(evaluation, link, end, site)}",
        "dBm",
        link,
        end,
        "meter on the plug, set to the wavelength; or the optic's own, ± 3 dB (SFF-8472, to be confirmed)",
        {
            EXPECTED: bound(
                formulas.expected_level_dbm, ("launch_min_dbm", "launch_max_dbm", "mean_db")
            ),
            LOWEST: bound(
                formulas.least_level_dbm,
                ("received_min_dbm", "sensitivity_dbm", "penalty_db"),
                "received_min_dbm",
            ),
            HIGHEST: bound(
                formulas.greatest_level_dbm,
                ("received_max_dbm", "overload_dbm"),
                "received_max_dbm",
            ),
        },
        instrument="optical power meter",
    )
