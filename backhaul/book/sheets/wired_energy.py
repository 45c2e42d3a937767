"""Batteries and panels: what a day takes, days carried, panels for the darkest month; all live."""

from collections.abc import Iterator
from math import isfinite
from typing import Any

import numpy as np

from backhaul.book.formula_cells import formula_cell, verdict_cell
from backhaul.book.sheets.shared import given_cell, is_known
from backhaul.book.sheets.wired_plan import Wired
from backhaul.budgets.energy import (
    JUDGED,
    EnergyBalance,
    LoadEnergy,
    dark_percent,
    duty_of,
    energy_balances,
    load_energies,
    night_of,
)
from backhaul.figures.power_judgements import energy_word
from backhaul.findings import AUTONOMY_UNIT
from backhaul.physics import energy
from backhaul.spreadsheet.cells import Calc, Head, Number, SheetCell, Text
from backhaul.spreadsheet.formula import Cell
from backhaul.units import PERCENT

_HEADS = (
    ("Battery or panels", "", 1),
    ("Load", "W", 1),
    ("Of the day", "%", 1),
    ("In the dark", "%", 1),
    ("A day", "Wh", 1),
    ("Battery", "Wh", 1),
    ("Used", "%", 1),
    ("Carries", "days", 1),
    ("Wanted", "days", 1),
    ("Sun", "h a day", 1),
    ("Panels", "W", 1),
    ("Needed", "W", 1),
    ("Verdict", "", 1),
    ("", "", 1),
)
_NO_SUN = "on the mains: carries an outage, not a night"


def is_written(balance: EnergyBalance) -> bool:
    """Whether the figures of a balance are known, so that it has a row; none where no panels do."""
    return (
        not balance.missing
        and is_known(balance.day_wh)
        and balance.day_wh > 0
        and (balance.is_on_mains or isfinite(balance.panel_needed_w))
    )


def write_energy(wired: Wired) -> None:
    """A row a source with a battery or panels whose figures are known; the others are stated."""
    sources = wired.evaluation.context.sources
    found = [
        balance
        for balance in energy_balances(sources, wired.evaluation.design, wired.evaluation.power)
        if is_written(balance)
    ]
    if not found:
        return
    wired.heading("Energy")
    wired.sheet.row(
        *(
            Head(head, "head right" if 0 < n < 12 else "head", span)
            for n, (head, _, span) in enumerate(_HEADS)
        )
    )
    wired.sheet.row(
        *(Text(unit, "text right" if unit else "text", span) for _, unit, span in _HEADS)
    )
    for balance in found:
        place = next(n for n, source in enumerate(sources) if source is balance.source)
        row = _Row(wired, balance, place)
        wired.sheet.row(balance.equipment.name, *row.cells())
        for cells in row.by_load():
            wired.sheet.row(*cells)


class _Row:
    """The energy of one source."""

    def __init__(self, wired: Wired, balance: EnergyBalance, place: int):
        self.wired, self.balance, self.place = wired, balance, place
        evaluation = wired.evaluation
        self.loads = load_energies(balance, evaluation.power, evaluation.design)
        self.dark_percent = dark_percent(balance.source, evaluation.design)

    def key(self, name: str) -> str:
        return f"energy.{self.place}.{name}"

    def cells(self) -> list[SheetCell]:
        balance = self.balance
        parts = [
            self._load(),
            self._duty(),
            self._night(),
            self._found(_day_wh, "day_wh", ("load_w", "duty_percent"), 0),
            self._part("battery_wh", "energy of the battery", "Wh"),
            self._use(),
            self._found(
                energy.autonomy_days,
                "autonomy_days",
                ("battery_wh", "use_percent", "day_wh"),
                2,
            ),
        ]
        if balance.is_on_mains:
            dashes = [Text("–", "text right") for _ in range(5)]
            return [*parts, *dashes, Text(_NO_SUN, "text small")]
        site = self.wired.evaluation.design.sites.get(balance.equipment.site)
        sun = self.wired.plan.inputs.site(site, "sun_hours", "sun in the darkest month", "h a day")
        return [
            *parts,
            self._wanted(),
            given_cell(self.key("sun_hours"), sun, balance.sun_hours, 2),
            self._part("solar_w", "panels at full sun", "W"),
            self._found(_needed_w, "panel_needed_w", ("day_wh", "sun_hours"), 0),
            self._verdict(),
            Text("IEEE 1013, IEEE 1562 (to be confirmed)", "text small"),
        ]

    def _value(self, name: str) -> Any:
        of = self.balance if hasattr(self.balance, name) else self.balance.equipment.record
        return float(getattr(of, name))

    def _load(self) -> SheetCell:
        """What its feeds draw and what it takes itself."""
        watts = self.balance.equipment.record.watts
        own = self.wired.part_input(self.balance.equipment, "watts", "power that it takes", "W")
        drawn = f"{{source.{self.place}.used_w}}"
        formula = f"{drawn}+{{{own}}}" if own and is_known(watts) else drawn
        return Calc(self.key("load_w"), formula, self.balance.load_w, format="0.00")

    def by_load(self) -> Iterator[list[SheetCell | str]]:
        """A row a load, where there are several or one does not draw all day: they add up."""
        if len(self.loads) < 2 and not self._is_typed("duty_percent", "night_percent"):
            return
        for number, load in enumerate(self.loads):
            watts = Calc(
                self.key(f"load{number}.load_w"),
                f"{{{self.key('load_w')}}}*{load.load_w / self.balance.load_w:.9f}",
                load.load_w,
                format="0.00",
            )
            day = Calc(
                self.key(f"load{number}.day_wh"),
                f"{{{watts.key}}}*{energy.HOURS_PER_DAY:g}*{self._share(load, 'duty_percent')}/100",
                load.day_wh,
                format="0",
            )
            duty, night = (
                self._share_cell(number, load, name, value)
                for name, value in (
                    ("duty_percent", duty_of(load.draw)),
                    ("night_percent", night_of(load.draw, self.dark_percent)),
                )
            )
            yield [Text(f"of it {load.draw.equipment.name}", "text"), watts, duty, night, day]

    def _is_typed(self, *columns: str) -> bool:
        return any(getattr(load.draw, name) is not None for load in self.loads for name in columns)

    def _share(self, load: LoadEnergy, column: str) -> str:
        """Formula text of a share of a load: its yellow cell, or what a blank stands for."""
        if getattr(load.draw, column) is None:
            blank = PERCENT if column == "duty_percent" else self.dark_percent
            return f"{blank:.9g}"
        typed = self._typed(load, column)
        if column == "duty_percent":
            return typed.text
        duty = PERCENT if load.draw.duty_percent is None else self._typed(load, "duty_percent")
        share = energy.night_share_percent(
            night_percent=typed, duty_percent=duty, dark_percent=round(self.dark_percent, 9)
        )
        return share.text

    def _typed(self, load: LoadEnergy, column: str) -> Cell:
        label = {
            "duty_percent": "share of the day that it draws power",
            "night_percent": "share of its energy taken in the dark",
        }[column]
        row = load.draw.equipment.segment
        return Cell.ref(self.wired.plan.inputs.row(row, column, label, "%"))

    def _share_cell(self, number: int, load: LoadEnergy, column: str, value: float) -> SheetCell:
        key = self.key(f"load{number}.{column}")
        if getattr(load.draw, column) is None:
            return Number(value, key=key, format="0")
        return Calc(key, self._share(load, column), value, format="0")

    def _weights(self) -> list[float]:
        """Watts of each load as computed, of all of them."""
        whole = sum(load.draw.watts for load in self.loads)
        return [load.draw.watts / whole for load in self.loads]

    def _duty(self) -> SheetCell:
        """Share of the day in which its loads draw their power; their watts weigh as computed."""
        key = self.key("duty_percent")
        if not self._is_typed("duty_percent"):
            return Number(self.balance.duty_percent, key=key, format="0")
        parts = [
            f"{weight:.9f}*{self._share(load, 'duty_percent')}"
            for weight, load in zip(self._weights(), self.loads, strict=True)
        ]
        return Calc(key, "+".join(parts), self.balance.duty_percent, format="0.0")

    def _night(self) -> SheetCell:
        """Share of the day's energy that is taken in the dark."""
        key = self.key("night_percent")
        if not self._is_typed("night_percent"):
            return Number(self.balance.night_percent, key=key, format="0")
        parts = [
            f"{weight:.9f}*{self._share(load, 'duty_percent')}*{self._share(load, 'night_percent')}"
            for weight, load in zip(self._weights(), self.loads, strict=True)
        ]
        formula = f"({'+'.join(parts)})/{{{self.key('duty_percent')}}}"
        return Calc(key, formula, self.balance.night_percent, format="0.0")

    def _wanted(self) -> SheetCell:
        """Days of the project, but the whole night at the least."""
        days = self.wired.project("autonomy_days", "days without sun that a battery carries", "d")
        return formula_cell(
            _wanted_days,
            self.key("wanted_days"),
            {"project_days": days, "night_percent": self.key("night_percent")},
            {
                "project_days": self.wired.evaluation.design.project.autonomy_days,
                "night_percent": self.balance.night_percent,
            },
            digits=1,
        )

    def _use(self) -> SheetCell:
        """Depth that is used, less what the cold takes where the part says it."""
        key, record = self.key("use_percent"), self.balance.equipment.record
        label = "depth to which the battery is used"
        use = self.wired.part_input(self.balance.equipment, "battery_use_percent", label, "%")
        site = self.wired.evaluation.design.sites.get(self.balance.equipment.site)
        if not record.battery_cold_percent_k:
            return given_cell(key, use, record.battery_use_percent, 0)
        cold = self.wired.part_input(
            self.balance.equipment, "battery_cold_percent_k", "energy lost in the cold", "%/K"
        )
        coldest = self.wired.plan.inputs.site(site, "ambient_min_c", "lowest temperature", "°C")
        refs = {"use_percent": use, "cold_percent_k": cold, "battery_c": coldest}
        values = {
            "use_percent": record.battery_use_percent,
            "cold_percent_k": record.battery_cold_percent_k,
            "battery_c": site.ambient_min_c,
        }
        return formula_cell(energy.use_in_cold_percent, key, refs, values, digits=1)

    def _part(self, name: str, label: str, unit: str) -> SheetCell:
        given = self.wired.part_input(self.balance.equipment, name, label, unit)
        return given_cell(self.key(name), given, getattr(self.balance.equipment.record, name), 0)

    def _found(self, formula, name: str, of: tuple[str, ...], digits: int) -> SheetCell:
        refs = {name: self.key(name) for name in of}
        values = {name: self._value(name) for name in of}
        return formula_cell(formula, self.key(name), refs, values, digits=digits)

    def _verdict(self) -> SheetCell:
        key, balance = self.key("verdict"), self.balance
        refs = {name: self.key(name) for name in JUDGED}
        cell = verdict_cell(energy_word, key, refs, {n: self._value(n) for n in JUDGED})
        rows = frozenset(balance.equipment.row_ids)
        told = self.wired.evaluation.findings
        if any(
            f.accepted and f.unit == AUTONOMY_UNIT and not rows.isdisjoint(f.rows) for f in told
        ):
            return cell  # somebody answers for it: it does not count
        for line in balance.source.lines:
            for path in line.link.paths:
                self.wired.plan.energy.setdefault(path, {})[key] = (cell.value, rows)
        return cell


def _day_wh(*, load_w, duty_percent):
    return energy.day_energy_wh(load_w=energy.mean_load_w(load_w=load_w, duty_percent=duty_percent))


def _wanted_days(*, project_days, night_percent):
    return np.maximum(project_days, energy.night_days(night_percent=night_percent))


def _needed_w(*, day_wh, sun_hours):
    return energy.panel_needed_w(
        day_wh=day_wh, sun_hours=sun_hours, array_to_load=energy.ARRAY_TO_LOAD
    )
