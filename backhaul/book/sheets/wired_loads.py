"""What every line feeds, and what every source gives: loads summed from the last one upward."""

from typing import Any

from backhaul.book.formula_cells import NOT_KNOWN, formula_cell, verdict_cell
from backhaul.book.sheets.shared import NO_LIMIT, any_of, given_cell, is_known
from backhaul.book.sheets.wired_plan import Wired
from backhaul.budgets.power import PowerSource
from backhaul.budgets.power_lines import PowerLine
from backhaul.figures.power_judgements import (
    ALLOWANCE_W,
    OVER_VOLTAGE,
    poe_source_word,
    supply_word,
)
from backhaul.figures.power_terms import (
    CLASSIFIED,
    DEFAULT_EFFICIENCY,
    LOAD_TERMS,
    REGULATED,
    STANDS_TERMS,
    STATED,
    Load,
)
from backhaul.figures.terms import arguments
from backhaul.findings import PASS
from backhaul.physics.poe import POE_CLASSES, POE_MAX_V
from backhaul.spreadsheet.cells import Calc, Head, Number, SheetCell, Text, Verdict

_FIGURES = {term.key: term for term in (*LOAD_TERMS, *STANDS_TERMS)}
_LOAD_HEADS = (
    ("Load", "", 1),
    ("Line", "", 2),
    ("Own need", "W", 1),
    ("Optics", "W", 1),
    ("Passed on", "W", 1),
    ("Efficiency", "", 1),
    ("Recharge", "W", 1),
    ("Load", "W", 1),
    ("Starts at", "V", 1),
    ("Given, highest", "V", 1),
    ("Stands", "V", 1),
    ("Verdict", "", 1),
    ("", "", 1),
)


def write_loads(wired: Wired) -> None:
    """Every load of every line: its own need, what it passes on, what it draws and stands."""
    wired.heading("Loads")
    wired.sheet.say(
        "Load: own need, optics and what its lines draw over its efficiency, and the recharge of "
        "its battery. Stands: as stated, PoE 57 V (IEEE 802.3), else 1.25 × its nominal voltage, "
        "against the nominal voltage of the source.",
        "muted",
    )
    wired.sheet.row(
        *(
            Head(head, "head right" if 1 < n < 11 else "head center" if n == 11 else "head", span)
            for n, (head, _, span) in enumerate(_LOAD_HEADS)
        )
    )
    wired.sheet.row(*(Text(unit, "text right", span) for _, unit, span in _LOAD_HEADS))
    for line in wired.lines:
        for place in range(len(line.loads)):
            wired.sheet.row(
                line.equipment[place].name,
                wired.name(line.link)._replace(span=2),
                *_Load(wired, line, place).cells(),
                "",
            )


class _Load:
    """One load of a line: a row."""

    def __init__(self, wired: Wired, line: PowerLine, place: int):
        self.wired, self.line, self.place = wired, line, place
        self.end = line.loads[place]
        self.figures = line.load_values[place]
        self.subject = Load(self.end, self.figures["optics_w"])
        self.below = wired.evaluation.power.from_source.get(self.end.equipment.key, ())

    def key(self, name: str) -> str:
        return self.wired.key(self.line, f"load{self.place}.{name}")

    def cells(self) -> list[SheetCell]:
        return [
            self._input("own_w"),
            self._optics(),
            self._passed_on(),
            self._efficiency(),
            self._recharge(),
            self._load(),
            self._input("least_v", NO_LIMIT),
            self._given(),
            self._stands(),
            over_voltage_cell(self.wired, self.line, self.place),
        ]

    def _input(self, name: str, missing: str = "") -> SheetCell:
        figure, value = _FIGURES[name], self.figures[name]
        return self.wired.input_cell(self.key(name), figure, self.subject, value, missing=missing)

    @property
    def _has_more(self) -> bool:
        """Whether more than its own need counts: then every part of the load has its cell."""
        return bool(self.below or self.figures["optics_w"] or self.figures["charge_w"])

    def _sum(self, name: str, keys: list[str]) -> SheetCell:
        if not self._has_more:
            return Text("")
        value = float(self.figures[name])
        if not keys:
            return Number(value, key=self.key(name), format="0.00")
        return Calc(self.key(name), any_of("SUM", keys), value, format="0.00")

    def _optics(self) -> SheetCell:
        inputs = self.wired.plan.inputs
        records = self.wired.optics.get(self.end.equipment.key, [])
        keys = [
            inputs.part("optics", record, "watts", "power that it takes", "W")
            for record in records
            if record.watts
        ]
        return self._sum("optics_w", keys)

    def _passed_on(self) -> SheetCell:
        return self._sum("passed_on_w", self.wired.drawn(self.end.equipment))

    def _efficiency(self) -> SheetCell:
        if not self._has_more:
            return Text("")
        value = float(self.figures["efficiency"])
        if not self.below:
            return Number(value, key=self.key("efficiency"), format="0.00")
        inputs = self.wired.plan.inputs
        key = inputs.of(_FIGURES["efficiency"], self.subject)
        if getattr(self.end.record, "efficiency", None) is None:
            key = inputs.add(
                "given.rule.efficiency",
                group="Rules",
                label="efficiency of a device where its part has none",
                value=DEFAULT_EFFICIENCY,
                source="common practice for converters",
            )
        return given_cell(self.key("efficiency"), key, value)

    def _recharge(self) -> SheetCell:
        return self._input("charge_w") if self._has_more else Text("")

    def _load(self) -> SheetCell:
        """Own need alone, or with all that comes on top."""
        own, value, key = self.figures["own_w"], self.figures["load_w"], self.key("load_w")
        if not is_known(own) or not is_known(value):
            return Text(NOT_KNOWN, "text right", key=key)
        if not self._has_more:
            return given_cell(key, self.key("own_w"), own)
        formula = _FIGURES["load_w"].formula
        names = arguments(formula)
        return formula_cell(
            formula,
            key,
            {name: self.key(name) for name in names},
            {name: float(self.figures[name]) for name in names},
        )

    def _given(self) -> SheetCell:
        name = "nominal_v" if self.subject.stands_basis == REGULATED else "highest_v"
        return given_cell(
            self.key("given_v"), self.wired.key(self.line, name), self.figures["given_v"]
        )

    def _stands(self) -> SheetCell:
        key, basis, inputs = self.key("stands_v"), self.subject.stands_basis, self.wired.plan.inputs
        value = self.figures["stands_v"]
        if not is_known(value):
            return Text(NO_LIMIT, "text right", key=key)
        if basis == CLASSIFIED:
            return Number(POE_MAX_V, key=key, format="0.00")
        if basis == STATED:
            return given_cell(key, inputs.of(_FIGURES["stated_stands_v"], self.subject), value)
        nominal = inputs.of(_FIGURES["load_nominal_v"], self.subject)
        if nominal is None:
            return Number(float(value), key=key, format="0.00")
        return formula_cell(
            _FIGURES["stands_v"].formula_for(REGULATED),
            key,
            {"load_nominal_v": nominal},
            {"load_nominal_v": float(self.figures["load_nominal_v"])},
        )


def over_voltage_cell(wired: Wired, line: PowerLine, place: int) -> Verdict:
    """Highest voltage of the source against what a load stands."""
    return wired.verdict(line, OVER_VOLTAGE, line.load_values[place], f"load{place}.")


def over_voltage_keys(wired: Wired, line: PowerLine) -> dict[str, str]:
    """Keys and words of the over-voltage verdicts of a line's loads."""
    return {
        wired.key(line, f"load{place}.{OVER_VOLTAGE.name}_verdict"): OVER_VOLTAGE.word_of(figures)
        for place, figures in enumerate(line.load_values)
    }


def load_sum(wired: Wired, line: PowerLine) -> SheetCell:
    """Load of a line: the sum over what it feeds."""
    key, value = wired.key(line, "load_w"), float(line.values["load_w"])
    if not is_known(value):
        return Text(NOT_KNOWN, "text right", key=key)
    if not line.loads:
        return Number(value, key=key, format="0.00")
    keys = [wired.key(line, f"load{place}.load_w") for place in range(len(line.loads))]
    return Calc(key, "+".join(f"{{{k}}}" for k in keys), value, format="0.00")


_SOURCE_HEADS = (
    ("Source", "", 1),
    ("Gives", "", 1),
    ("Limit", "W", 2),
    ("Drawn", "W", 2),
    ("By class", "W", 2),
    ("Kept free", "%", 1),
    ("Left", "W", 1),
    ("Verdict", "", 1),
    ("How", "", 3),
)


class Sources:
    """The table of sources; its verdicts are asked for by the lines, which are written before."""

    def __init__(self, wired: Wired):
        self.wired = wired
        self.rows = wired.evaluation.context.sources
        self.place = {
            id(line): place for place, source in enumerate(self.rows) for line in source.lines
        }

    def verdict_of(self, line: PowerLine) -> tuple[str, str]:
        """Key and word of the verdict of a line's source."""
        place = self.place[id(line)]
        return self._key(place, "verdict"), self._verdict(place, self.rows[place]).value

    def write(self) -> None:
        if not self.rows:
            return
        wired = self.wired
        wired.heading("Sources")
        wired.sheet.row(
            *(
                Head(head, "head right" if 1 < n < 6 else "head", span)
                for n, (head, _, span) in enumerate(_SOURCE_HEADS)
            )
        )
        wired.sheet.row(
            *(Text(unit, "text right" if unit else "text", span) for _, unit, span in _SOURCE_HEADS)
        )
        for place, source in enumerate(self.rows):
            cells = self._cells(place, source)
            wired.sheet.row(
                source.equipment.name,
                *(
                    cell._replace(span=span)
                    for cell, (_, _, span) in zip(cells, _SOURCE_HEADS[1:], strict=True)
                ),
            )

    def _key(self, place: int, name: str) -> str:
        return f"source.{place}.{name}"

    def _cells(self, place: int, source: PowerSource) -> list[SheetCell]:
        wired, is_poe = self.wired, source.is_poe
        column = "poe_budget_w" if is_poe else "output_w"
        label = "power for all PoE ports together" if is_poe else "power that it gives"
        limit = source.limit_w
        given = (
            wired.part_input(source.equipment, column, label, "W") if limit is not None else None
        )
        how = f"{ALLOWANCE_W:g} W allowed for; " + (
            "thin where only the classes ask more" if is_poe else "thin inside what is kept free"
        )
        return [
            Text("PoE" if is_poe else source.equipment.record.output or "none"),
            given_cell(self._key(place, "limit_w"), given, limit, missing=NO_LIMIT),
            self._used(place, source),
            self._by_class(place, source) if is_poe else Text(""),
            Text("") if is_poe else self._reserve(place),
            self._left(place, source),
            self._verdict(place, source),
            Text(how, "text small"),
        ]

    def _used(self, place: int, source: PowerSource) -> SheetCell:
        """What all lines draw; none where one of them has no solution."""
        keys = [self.wired.key(line, "source_w") for line in source.lines]
        return _sum_of(self._key(place, "used_w"), keys, source.used_w)

    def _reserve(self, place: int) -> SheetCell:
        setting = "supply_reserve_percent"
        given = self.wired.project(setting, "share of a supply's output kept free", "%")
        value = getattr(self.wired.evaluation.design.project, setting)
        return given_cell(self._key(place, "reserve_percent"), given, value, 0)

    def _left(self, place: int, source: PowerSource) -> SheetCell:
        if source.limit_w is None:
            return Text("")
        key, used = self._key(place, "left_w"), self._key(place, "used_w")
        value = source.limit_w - source.used_w
        return Calc(
            key,
            f'IF(ISNUMBER({{{used}}}),{{{self._key(place, "limit_w")}}}-{{{used}}},"none")',
            value if is_known(value) else "none",
            format="0.00",
        )

    def _by_class(self, place: int, source: PowerSource) -> SheetCell:
        """What the source sets aside for its loads by their classes."""
        fixed, keys = 0.0, []
        for line in source.lines:
            poe_class = POE_CLASSES.get(line.load.port.poe_class)
            if poe_class is None:
                keys.append(self.wired.key(line, "source_w"))
            else:
                fixed += poe_class.source_w
        if not keys:
            return Number(fixed, key=self._key(place, "class_w"), format="0.00")
        return _sum_of(self._key(place, "class_w"), keys, source.class_w, fixed)

    def _verdict(self, place: int, source: PowerSource) -> Verdict:
        key = self._key(place, "verdict")
        if source.limit_w is None:
            return Verdict(PASS, key=key)
        values: dict[str, Any] = {"used_w": source.used_w, "limit_w": float(source.limit_w)}
        if source.is_poe:
            word, values["class_w"] = poe_source_word, source.class_w
        else:
            word = supply_word
            project = self.wired.evaluation.design.project
            values["reserve_percent"] = float(project.supply_reserve_percent)
        refs = {name: self._key(place, name) for name in values}
        numbers = [name for name in ("used_w", "class_w") if name in values]
        live = verdict_cell(word, key, refs, {k: 0.0 if v != v else v for k, v in values.items()})
        tests = ",".join(f"ISNUMBER({{{refs[name]}}})" for name in numbers)
        # without a solution the line itself fails
        text = f'IF(AND({tests}),{live.formula},"{PASS}")'
        is_judged = all(is_known(values[name]) for name in numbers)
        return Verdict(live.value if is_judged else PASS, formula=text, key=key)


def _sum_of(key: str, keys: list[str], value: float, fixed: float = 0.0) -> SheetCell:
    """Sum of what lines draw and of a fixed figure; none where a line has no solution."""
    refs = ",".join(f"{{{each}}}" for each in keys)
    total = f"SUM({refs})" + (f"+{fixed:g}" if fixed else "")
    return Calc(
        key,
        f'IF(COUNT({refs})={len(keys)},{total},"none")',
        value if is_known(value) else "none",
        format="0.00",
    )
