"""What every line feeds: loads summed from the last one upward, and what each stands."""

from backhaul.book.formula_cells import NOT_KNOWN, formula_cell
from backhaul.book.sheets.shared import NO_LIMIT, any_of, given_cell, is_known
from backhaul.book.sheets.wired_hows import OF_LOADS, tell
from backhaul.book.sheets.wired_plan import Wired, place_text, united
from backhaul.budgets.power_lines import PowerLine
from backhaul.figures.power_judgements import (
    OVER_VOLTAGE,
)
from backhaul.figures.power_load_terms import LOAD_TERMS, STANDS_TERMS, Load
from backhaul.figures.power_terms import CLASSIFIED, DEFAULT_EFFICIENCY, REGULATED, STATED
from backhaul.figures.terms import arguments
from backhaul.physics.poe import POE_MAX_V
from backhaul.spreadsheet.cells import Calc, Head, Number, SheetCell, Text, Verdict

_FIGURES = {term.key: term for term in (*LOAD_TERMS, *STANDS_TERMS)}
_LOAD_HEADS = (
    ("Load", "", 1),
    ("Line", "", 2),
    ("Own power", "W", 1),
    ("Optics", "W", 1),
    ("Passed on", "W", 1),
    ("Efficiency", "", 1),
    ("Recharge", "W", 1),
    ("Load", "W", 1),
    ("Starts at", "V", 1),
    ("Supplied, highest", "V", 1),
    ("Takes up to", "V", 1),
    ("Verdict", "", 1),
    ("", "", 1),
)


def write_loads(wired: Wired) -> None:
    """Every load of every line: its own need, what it passes on, what it draws and stands."""
    wired.heading("Loads")
    wired.sheet.say(
        "Load: own + (optics + passed on) ÷ efficiency + recharge. Takes up to: as stated, PoE 57 V (IEEE "
        "802.3), else 1.25 × its nominal voltage, against the nominal voltage of the source.",
        "muted",
    )
    head = wired.sheet.row(
        *(
            Head(
                united(head, unit),
                "head right" if 1 < n < 11 else "head center" if n == 11 else "head",
                span,
            )
            for n, (head, unit, span) in enumerate(_LOAD_HEADS)
        )
    )
    for line in wired.lines:
        for place in range(len(line.loads)):
            wired.sheet.row(
                place_text(line.equipment[place]),
                wired.name(line.link)._replace(span=2),
                *_Load(wired, line, place).cells(),
                "",
            )
    tell(wired.sheet, head, OF_LOADS)


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
