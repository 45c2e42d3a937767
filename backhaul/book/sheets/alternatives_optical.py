"""Alternatives for optics and cables: offered figures beside ours, and what comes of them."""

from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

import numpy as np

from backhaul.book.formula_cells import worst_cell
from backhaul.book.inputs import Inputs
from backhaul.book.offer_table import Field, OfferRows, UseRow
from backhaul.book.plan import Plan
from backhaul.book.sheets.shared import any_of
from backhaul.budgets.optical import CHANNEL
from backhaul.budgets.orders import is_cord
from backhaul.budgets.requirement import Demand
from backhaul.budgets.requirements_optical import fiber_demands, optic_demands
from backhaul.figures.verdicts import at_most, margin_verdict
from backhaul.findings import PASS, THIN, worst
from backhaul.path.links import OPTICAL, Link
from backhaul.spreadsheet.cells import Calc, SheetCell, Text, Verdict
from backhaul.spreadsheet.cells import Link as CellLink
from backhaul.spreadsheet.formula import Cell
from backhaul.spreadsheet.grid import Sheet

OPTIC_HEAD = (
    "Optic",
    "",
    "Launch, lowest",
    "Launch, highest",
    "Sensitivity",
    "Overload",
    "Penalty",
    "Channel limit",
    "Stands dispersion",
    "Margin",
    "Room to overload",
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
    "Room to overload",
    "Verdict",
    "Worst link",
)
FIBER_UNITS = ("", "", "dB/km", "dB/km", "dB/km", "", "", "", "", "dB", "dB", "", "")
FIGURES = 7
_OPTIC_FIELDS = (
    "launch_min_dbm",
    "launch_max_dbm",
    "sensitivity_dbm",
    "overload_dbm",
    "penalty_db",
    "channel_loss_max_db",
    "max_dispersion_ps_nm",
)
_CHECKS = ("margin", "limit", "overload", "dispersion")


class Shift(NamedTuple):
    """A figure that moves the result of a direction: its inputs, times a factor."""

    given: str
    sign: int
    length_keys: tuple[str, ...] = ()
    #: "margin", "room", "limit", "loss", "dispersion"
    what: str = "margin"


class LightUses:
    """The table of every direction in which a part counts, with ours and with what is offered."""

    def __init__(self, plan: Plan):
        self.plan, self.optical = plan, plan.evaluation.optical
        self.rows: list[tuple[SheetCell | str, ...]] = []

    def given(self, key: str) -> str | None:
        return key if key in self.plan.inputs.rows else None

    def add(self, prefix: str, title: str, direction: int, shifts: Sequence[Shift]) -> UseRow:
        """One direction: its figures in use, and without the offer of this part."""
        link = self.optical.links[direction // 2]
        key = f"{prefix}.use{direction}"
        light = f"light.{direction // 2}.{'ab'[direction % 2]}"
        values = {
            name: float(column[direction])
            for name, column in self.optical.values.items()
            if isinstance(column[direction], float | np.floating)
        }
        anchor = self.plan.anchors.get(link.key, "")
        name = f"{self.plan.link_steps(link)}, {self._way(link, direction)}"
        cells: list[SheetCell | str] = [
            title,
            Text(name, key=f"{key}.name", span=5),
        ]
        known = {}
        for what, term in (("margin", "margin_db"), ("room", "overload_margin_db")):
            value = values.get(term, np.nan)
            known[what] = None if np.isnan(value) else value
            for which in ("ours", "offered"):
                if known[what] is None:
                    cells.append(Text("not known", "text right", key=f"{key}.{what}.{which}"))
                    continue
                back = _without(shifts, what) if which == "ours" else ""
                cells.append(
                    Calc(f"{key}.{what}.{which}", f"{{{light}.{term}}}{back}", value, format="0.00")
                )
        words = self._words(direction, values)
        parts = {f"{light}.{check}_verdict": words[check] for check in _CHECKS}
        if known["margin"] is None:  # what else is wrong with the link then decides
            stated = f"light.{direction // 2}.stated"
            parts[stated] = words["stated"] = self.plan.stated_verdict(link)
        cells.append(self._ours(key, light, shifts, values, words, direction))
        cells.append(worst_cell(f"{key}.verdict.offered", parts))
        cells.append(CellLink("its budget", anchor) if anchor else "")
        self.rows.append(tuple(cells))
        return UseRow(
            f"{key}.name",
            f"{key}.margin.ours",
            f"{key}.margin.offered",
            f"{key}.room.ours",
            f"{key}.room.offered",
            f"{key}.verdict.ours",
            f"{key}.verdict.offered",
            name,
            known["margin"],
            known["room"],
            worst(words.values()),
            anchor,
        )

    def _way(self, link: Link, direction: int) -> str:
        places = self.plan.evaluation.network.places
        near, far = (places[row.id][0] or row.part for row in (link.rows[0], link.rows[-1]))
        if near == far:
            near, far = f"step {link.first_step:g}", f"step {link.last_step:g}"
        return f"to {(far, near)[direction % 2]}"

    def _words(self, direction: int, values: dict[str, float]) -> dict[str, str]:
        """Verdict words of one direction as Light shows them."""
        pairs = {
            "margin": (margin_verdict, "margin_db", "healthy_margin_db", "margin", "healthy"),
            "limit": (at_most, "loss_max_db", "channel_limit_db", "value", "limit"),
            "overload": (
                margin_verdict,
                "overload_margin_db",
                "wanted_overload_margin_db",
                "margin",
                "healthy",
            ),
            "dispersion": (at_most, "dispersion_ps_nm", "max_dispersion_ps_nm", "value", "limit"),
        }
        words = {}
        for check, (formula, figure, limit, first, second) in pairs.items():
            pair = (values[figure], values[limit])
            if any(np.isnan(value) for value in pair):
                blind = self.optical.values["window_overlap"][direction] == 0
                words[check] = THIN if check == "margin" and not blind else PASS
            elif check == "limit" and self._by_limit(direction):
                words[check] = PASS
            else:
                words[check] = str(formula(**{first: pair[0], second: pair[1]}))
        return words

    def _dispersion_limit(self, direction: int, shifts: Sequence[Shift]) -> str:
        """The tighter of what both optics stand, the offered part by its own figure."""
        ours = {shift.given for shift in shifts if shift.what == "dispersion"}
        link = self.optical.links[direction // 2]
        inputs = [
            self.given(f"given.optics.{row.part}.max_dispersion_ps_nm")
            for row in (link.rows[0], link.rows[-1])
        ]
        keys = [given if given in ours else Inputs.in_use(given) for given in inputs if given]
        return any_of("MIN", keys)

    def _by_limit(self, direction: int) -> bool:
        return self.optical.values["margin_basis"][direction] == CHANNEL

    def _ours(self, key, light, shifts, values, words, direction) -> Verdict:
        """Verdict without the offer: the same rules over figures without its shifts."""
        texts = []
        for check, figure, limit in (
            ("margin", f"{{{key}.margin.ours}}", "healthy_margin_db"),
            ("overload", f"{{{key}.room.ours}}", "wanted_overload_margin_db"),
        ):
            term = "margin_db" if check == "margin" else "overload_margin_db"
            if not np.isnan(values[term]):
                texts.append(
                    margin_verdict(margin=Cell(figure), healthy=Cell.ref(f"{light}.{limit}")).text
                )
            elif words[check] != PASS:
                texts.append(f'"{words[check]}"')
        limits = ("loss_max_db", "channel_limit_db")
        if not np.isnan([values[name] for name in limits]).any() and not self._by_limit(direction):
            texts.append(
                at_most(
                    value=Cell(f"({{{light}.loss_max_db}}{_without(shifts, 'loss')})"),
                    limit=Cell(f"({{{light}.channel_limit_db}}{_without(shifts, 'limit')})"),
                ).text
            )
        limits = ("dispersion_ps_nm", "max_dispersion_ps_nm")
        if not np.isnan([values[name] for name in limits]).any():
            texts.append(
                at_most(
                    value=Cell.ref(f"{light}.dispersion_ps_nm"),
                    limit=Cell(self._dispersion_limit(direction, shifts)),
                ).text
            )
        if "stated" in words:
            texts.append(f"{{light.{direction // 2}.stated}}")
        word = worst(words.values())
        if not texts:
            return Verdict(word, key=f"{key}.verdict.ours")
        fails = ",".join(f'{text}="fail"' for text in texts)
        thins = ",".join(f'{text}="thin"' for text in texts)
        return Verdict(
            word,
            key=f"{key}.verdict.ours",
            formula=f'IF(OR({fails}),"fail",IF(OR({thins}),"thin","pass"))',
        )


def _without(shifts: Sequence[Shift], what: str) -> str:
    """Formula text that takes the offer's shifts back out of a figure in use."""
    text = ""
    for shift in shifts:
        if shift.what != what:
            continue
        used = "{eff." + shift.given.removeprefix("given.") + "}"
        moved = f"({used}-{{{shift.given}}})"
        if shift.length_keys:
            moved += "*(" + "+".join(f"{{{key}}}" for key in shift.length_keys) + ")"
        text += ("-" if shift.sign > 0 else "+") + moved
    return text


def write_light(plan: Plan, sheet: Sheet, orders: dict[tuple[str, str], str]) -> list[str]:
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
                for head in ("Margin, ours", "Margin, offered", "Room, ours", "Room, offered")
            ),
            Text("Verdict, ours", "head center"),
            Text("Offered", "head center"),
            Text("", "head"),
        )
        sheet.table(uses.rows)
    return [*optics.offered, *fibers.offered]


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
    evaluation = plan.evaluation
    ends: dict[str, list[tuple[int, Any]]] = {}
    for index, link in enumerate(evaluation.network.links[OPTICAL]):
        for way, row in enumerate((link.rows[0], link.rows[-1])):
            ends.setdefault(row.part, []).append((2 * index + way, row))
    for part, places in ends.items():
        limits = _limits(optic_demands(evaluation, part, _provider([row for _, row in places])))
        found = _reach_keys(plan, part)
        reaches = tuple(key for key in plan.inputs.rows if key in found)
        fields = []
        for column, name in enumerate(_OPTIC_FIELDS):
            keys = reaches if name == "channel_loss_max_db" else _figure_keys(plan, part, name)
            if keys:
                digits = 0 if name == "max_dispersion_ps_nm" else 2
                fields.append(Field(column, keys, digits, limits.get(name)))
        directions = sorted({d for sends, _ in places for d in (sends, sends ^ 1)})
        sending = {d for d, _ in places}
        rows = [
            uses.add(f"alt.optics.{part}", part, d, list(_optic_shifts(plan, part, d, sending)))
            for d in directions
        ]
        if fields:
            yield part, fields, rows


def _figure_key(plan: Plan, part: str, name: str, index: int) -> str:
    """Input of a figure of an optic on a link: of the fiber's class, else the optic's own."""
    own = f"given.optics.{part}.{'.'.join(plan.evaluation.optical.classes[index])}.{name}"
    return own if own in plan.inputs.rows else f"given.optics.{part}.{name}"


def _figure_keys(plan: Plan, part: str, name: str) -> tuple[str, ...]:
    """Every input that one figure of a data sheet stands for."""
    keys = dict.fromkeys(
        _figure_key(plan, part, name, index)
        for index, link in enumerate(plan.evaluation.network.links[OPTICAL])
        if part in (link.rows[0].part, link.rows[-1].part)
    )
    return tuple(key for key in keys if key in plan.inputs.rows)


def _reach_key(plan: Plan, part: str, index: int) -> str:
    return f"given.reach.{part}.{'.'.join(plan.evaluation.optical.classes[index])}"


def _reach_keys(plan: Plan, part: str) -> set[str]:
    links = plan.evaluation.network.links[OPTICAL]
    return {
        _reach_key(plan, part, index)
        for index, link in enumerate(links)
        if part in (link.rows[0].part, link.rows[-1].part)
    }


def _optic_shifts(plan: Plan, part: str, direction: int, sending: set[int]) -> Iterator[Shift]:
    """How this part's figures move a direction: as its sender, as its receiver."""
    optical, rows = plan.evaluation.optical, plan.inputs.rows
    by_limit = optical.values["margin_basis"][direction] == CHANNEL
    form_p = optical.values["budget_form"][direction] == "P"
    index, found = direction // 2, []

    def key(name: str) -> str:
        return _figure_key(plan, part, name, index)

    if direction in sending:
        reach = _reach_key(plan, part, index)
        if by_limit:
            found.append(Shift(reach, 1))
        else:
            found += [Shift(key("launch_min_dbm"), 1), Shift(reach, 1, what="limit")]
        found.append(Shift(key("launch_max_dbm"), -1, what="room"))
    if direction ^ 1 in sending:
        if not by_limit:
            found.append(Shift(key("sensitivity_dbm"), -1))
            if form_p:
                found.append(Shift(key("penalty_db"), -1))
        found.append(Shift(key("overload_dbm"), 1, what="room"))
    found.append(Shift(key("max_dispersion_ps_nm"), 1, what="dispersion"))
    return (shift for shift in found if shift.given in rows)


def _fibers(plan: Plan, uses: LightUses) -> Iterator[tuple[str, str, list[Field], list[UseRow]]]:
    evaluation = plan.evaluation
    runs, optical = evaluation.optical.runs, evaluation.optical
    groups: dict[tuple[str, float], dict[int, list[Any]]] = {}
    for place, run in enumerate(runs["subjects"]):
        row = run.row
        direction = int(runs["direction"][place])
        nm = float(optical.values["wavelength_nm"][direction])
        if row.measured_db is None and nm == nm:
            groups.setdefault((row.part, nm), {}).setdefault(direction, []).append(row)
    limits: dict[str, dict[str, Demand]] = {}
    for (part, nm), directions in groups.items():
        prefix = f"given.fibers.{part}.at {nm:g} nm.attenuation"
        most, least = f"{prefix}_max_db_per_km", f"{prefix}_min_db_per_km"
        if most not in plan.inputs.rows or is_cord(evaluation.catalog.fibers[part]):
            continue  # of a cord the attenuation decides nothing
        if part not in limits:
            every = [row for rows in directions.values() for row in rows]
            limits[part] = _limits(fiber_demands(evaluation, part, _provider(every)))
        fields = [
            Field(
                column,
                (f"{prefix}_{name}_db_per_km",),
                3,
                limits[part].get(f"max_db_km_{nm:g}") if name == "max" else None,
            )
            for column, name in enumerate(("max", "mean", "min"))
            if f"{prefix}_{name}_db_per_km" in plan.inputs.rows
        ]
        rows = []
        for direction, these in sorted(directions.items()):
            light = f"light.{direction // 2}.{'ab'[direction % 2]}"
            lengths = tuple(f"{light}.row{row.id}.length_km" for row in these)
            shifts = [
                Shift(most, -1, lengths),
                Shift(most, 1, lengths, "loss"),
            ]
            if least in plan.inputs.rows:
                shifts.append(Shift(least, 1, lengths, "room"))
            rows.append(
                uses.add(f"alt.fibers.{part}.{nm:g}", f"{part}, {nm:g} nm", direction, shifts)
            )
        yield part, f"{nm:g}", fields, rows
