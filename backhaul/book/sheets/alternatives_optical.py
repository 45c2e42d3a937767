"""Alternatives for optics and cables: offered figures beside ours, and what comes of them."""

from collections.abc import Iterator, Sequence
from typing import Any

from backhaul.book.offer_table import Field, OfferRows, Offers, UseRow
from backhaul.book.optical_keys import light_key
from backhaul.book.plan import Plan
from backhaul.book.sheets.optical_uses import LightUses, Shift, given_key
from backhaul.budgets.optical_shares import moved_by_optics
from backhaul.budgets.orders import is_cord
from backhaul.budgets.requirement import Demand
from backhaul.budgets.requirements_glass import fiber_demands
from backhaul.budgets.requirements_optical import optic_demands
from backhaul.figures.optical_directions import Direction
from backhaul.figures.optical_influences import RUN_INFLUENCES
from backhaul.figures.optical_items import RUN_TERMS
from backhaul.figures.optical_terms import DIRECTION_TERMS, DISPERSION_LIMITS
from backhaul.figures.terms import Input
from backhaul.spreadsheet.cells import Calc, Number, Text
from backhaul.spreadsheet.grid import Content, Sheet

OPTIC_HEAD = (
    "Optic",
    "",
    "Launch, lowest",
    "Launch, highest",
    "Sensitivity",
    "Overload",
    "Penalty",
    "Channel limit",
    "Dispersion tolerance",
    "Margin",
    "Distance to overload",
    "Verdict",
    "Worst link",
)
OPTIC_UNITS = ("", "", "dBm", "dBm", "dBm", "dBm", "dB", "dB", "ps/nm", "dB", "dB", "", "")
FIBER_HEAD = (
    "Cable",
    "",
    "Highest",
    "Mean",
    "Lowest",
    "",
    "",
    "",
    "",
    "Margin",
    "Distance to overload",
    "Verdict",
    "Worst link",
)
FIBER_UNITS = ("", "", "dB/km", "dB/km", "dB/km", "", "", "", "", "dB", "dB", "", "")
FIGURES = 7
#: Figures of an optic in the order of the columns, by their key in the budget; digits.
_OPTIC_FIELDS = {
    "launch_min_dbm": 2,
    "launch_max_dbm": 2,
    "sensitivity_dbm": 2,
    "overload_dbm": 2,
    "penalty_db": 2,
    "channel_limit_db": 2,
    "max_dispersion_ps_nm": 0,
}
FROM_REACH = "dispersion_from_reach"
_CATALOGUE_COLUMN = {"channel_limit_db": "channel_loss_max_db"}
_ATTENUATION = tuple(f"attenuation_{which}_db_per_km" for which in ("max", "mean", "min"))
_INPUTS = {
    figure.key: figure for figure in (*DIRECTION_TERMS, *RUN_TERMS) if isinstance(figure, Input)
}


def write_light(plan: Plan, sheet: Sheet, orders: dict[tuple[str, str], str]) -> Offers:
    """Optics and cables; returns the keys of the cells to type into. `orders`: what is ordered."""
    uses = LightUses(plan)
    optics, fibers = OfferRows(plan, sheet, FIGURES), OfferRows(plan, sheet, FIGURES)
    parts = list(_optics(plan, uses))
    if parts:
        sheet.heading("Optics")
        _head(sheet, OPTIC_HEAD, OPTIC_UNITS)
        for part, fields, rows in parts:
            words = orders.get(("optics", part), "not on the order list")
            optics.write(f"alt.optics.{part}", Text(part, "strong"), words, fields, rows)
        optics.finish("optics")
    cables = list(_fibers(plan, uses))
    if cables:
        sheet.heading("Fiber cables: attenuation")
        _head(sheet, FIBER_HEAD, FIBER_UNITS)
        for part, nm, fields, rows in cables:
            words = f"at {nm} nm; {orders.get(('fibers', part), 'not on the order list')}"
            fibers.write(f"alt.fibers.{part}.{nm}", Text(part, "strong"), words, fields, rows)
        fibers.finish("cables")
    if uses.rows:
        sheet.heading("Every link of these optics and cables")
        sheet.row(
            Text("Part", "head"),
            Text("Link, direction", "head", 5),
            *(
                Text(head, "head right")
                for head in (
                    "Margin, ours",
                    "Margin, offered",
                    "Overload, ours",
                    "Overload, offered",
                )
            ),
            Text("Verdict, ours", "head center"),
            Text("Offered", "head center"),
            Text("", "head"),
        )
        sheet.table(uses.rows)
    _stand_on_data_sheets(plan)
    return [*optics.offered, *fibers.offered]


def _stand_on_data_sheets(plan: Plan) -> None:
    """An offered tolerance of dispersion is no longer that of the reach, which would be thin at most."""
    told: dict[str, str] = {}
    for direction in plan.evaluation.optical.directions:
        inputs = (given_key(plan, limit, direction) for limit in DISPERSION_LIMITS)
        offered = dict.fromkeys(key for key in inputs if key in plan.inputs.replaced)
        tests = ",".join(f"{{{plan.inputs.in_use(key)}}}<>{{{key}}}" for key in offered)
        if tests:
            told[light_key(direction, FROM_REACH)] = f"IF(OR({tests}),0,{{value}})"
    sheet = next((sheet for sheet in plan.sheets if sheet.name == "Optical links"), None)

    def live(cell: Content) -> Content:
        if not isinstance(cell, Number) or cell.key not in told or not cell.value:
            return cell
        formula = told[cell.key].replace("{value}", f"{cell.value:g}")
        return Calc(cell.key, formula, cell.value, format=cell.format, span=cell.span)

    if sheet is not None and told:
        sheet.rows[:] = [row._replace(cells=tuple(map(live, row.cells))) for row in sheet.rows]


def _head(sheet: Sheet, head: Sequence[str], units: Sequence[str]) -> None:
    sheet.row(
        *(Text(name, "head" if n in (0, 1, 12) else "head right") for n, name in enumerate(head))
    )
    sheet.row(
        *(
            Text(unit, "text small" if n in (0, 1, 12) else "text right")
            for n, unit in enumerate(units)
        )
    )


def _provider(rows: list[Any]) -> str:
    """Provider whose rows a limit is made for: what is ordered, else what there is."""
    found = {row.by or "" for row in rows}
    return "" if "" in found else min(found, default="")


def _limits(demands: Sequence[Demand]) -> dict[str, Demand]:
    return {demand.field: demand for demand in demands if demand.needs}


def _optics(plan: Plan, uses: LightUses) -> Iterator[tuple[str, list[Field], list[UseRow]]]:
    """Each optic with its columns and the directions that it moves: as sender, as receiver."""
    evaluation = plan.evaluation
    parts: dict[str, list[Direction]] = {}
    for direction in evaluation.optical.directions:
        for optic in dict.fromkeys((direction.sender.part, direction.receiver.part)):
            parts.setdefault(optic, []).append(direction)
    for part, directions in parts.items():
        rows = [d.sender_row for d in directions if d.sender.part == part]
        limits = _limits(optic_demands(evaluation, part, _provider(rows)))
        keys: dict[str, dict[str, None]] = {name: {} for name in _OPTIC_FIELDS}
        used = []
        for direction in directions:
            shifts = []
            for moved in moved_by_optics(direction):
                key = given_key(plan, _INPUTS[moved.influence.input], direction)
                if moved.part == part and key is not None:
                    keys[moved.influence.input][key] = None
                    shifts.append(Shift(key, moved.influence))
            for limit, optic in zip(
                DISPERSION_LIMITS, (direction.sender, direction.receiver), strict=True
            ):
                key = given_key(plan, limit, direction)
                if optic.part == part and key is not None:
                    keys[limit.key][key] = None
            used.append((direction, shifts))
        fields = [
            Field(column, tuple(keys[name]), digits, limits.get(_CATALOGUE_COLUMN.get(name, name)))
            for column, (name, digits) in enumerate(_OPTIC_FIELDS.items())
            if keys[name]
        ]
        prefix = f"alt.optics.{part}"
        yield part, fields, [uses.add(prefix, part, part, *use) for use in used]


def _fibers(plan: Plan, uses: LightUses) -> Iterator[tuple[str, str, list[Field], list[UseRow]]]:
    """Each cable at each wavelength; of a cord the attenuation decides nothing."""
    evaluation = plan.evaluation
    runs, optical = evaluation.optical.runs, evaluation.optical
    groups: dict[tuple[str, float], dict[int, list[Any]]] = {}
    for place, run in enumerate(runs["subjects"]):
        nm = run.sender.tx_nominal_nm
        if not run.is_measured and nm is not None and not is_cord(run.part):
            by_direction = groups.setdefault((run.part.part, nm), {})
            by_direction.setdefault(int(runs["direction"][place]), []).append(run)
    for (part, nm), directions in groups.items():
        every = [run for these in directions.values() for run in these]
        given = {name: given_key(plan, _INPUTS[name], every[0]) for name in _ATTENUATION}
        if given[_ATTENUATION[0]] is None:
            continue
        provider = _provider([run.row for run in every])
        limit = _limits(fiber_demands(evaluation, part, provider)).get(f"max_db_km_{nm:g}")
        fields = [
            Field(column, (key,), 3, None if column else limit)
            for column, name in enumerate(_ATTENUATION)
            if (key := given[name]) is not None
        ]
        rows = []
        for place, these in sorted(directions.items()):
            direction = optical.directions[place]
            lengths = tuple(light_key(direction, "length_km", run.row.id) for run in these)
            shifts = [
                Shift(key, influence, lengths)
                for influence in RUN_INFLUENCES
                if (key := given[influence.input]) is not None
            ]
            prefix, title = f"alt.fibers.{part}.{nm:g}", f"{part}, {nm:g} nm"
            rows.append(uses.add(prefix, "", title, direction, shifts))
        yield part, f"{nm:g}", fields, rows
