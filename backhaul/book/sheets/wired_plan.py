"""Copper and supply: what its parts share: the lines by number, their keys, their inputs."""

from typing import Any

from backhaul.book.plan import Plan
from backhaul.book.sheets.shared import any_of, given_cell, is_known
from backhaul.budgets.power_lines import PowerLine, optics_in, shared_rows
from backhaul.budgets.power_solver import BASE
from backhaul.design.columns import DEFAULT_CABLE_C
from backhaul.design.kinds import KINDS
from backhaul.figures.power_judgements import LineJudgement
from backhaul.figures.terms import Input
from backhaul.path.equipment import Equipment
from backhaul.path.links import Link
from backhaul.path.routes import is_in_the_sun
from backhaul.spreadsheet.cells import Link as Jump
from backhaul.spreadsheet.cells import SheetCell, Text, Verdict
from backhaul.spreadsheet.formula import Cell, written
from backhaul.spreadsheet.grid import Sheet

#: Figures that are first taken at the voltages and shares that were found: what goes upward.
FIRST = ("seen_ohm", "seen_reactance_ohm", "solvable", "load_v", "current_a", "source_w")


def line_prefix(plan: Plan, link: Link) -> str | None:
    """`line.{n}` of a copper link or feed that carries power, None of any other."""
    for number, line in enumerate(plan.evaluation.power.lines):
        if line.link is link:
            return f"line.{number}"
    return None


def place_text(equipment: Equipment) -> str:
    """A device by its label, else its part, and its site."""
    name = equipment.label or equipment.part
    return f"{name} at {equipment.site}" if equipment.site else name


def united(head: str, unit: str) -> str:
    """The heading of a column with its unit.

    >>> united("Load", "W"), united("Verdict", "")
    ('Load, W', 'Verdict')
    """
    return f"{head}, {unit}" if unit else head


def line_known(line: PowerLine) -> bool:
    """Whether load, voltage and resistance of a line are known."""
    return all(is_known(line.values[key]) for key in BASE)


class Wired:
    """The sheet under construction."""

    def __init__(self, plan: Plan, sheet: Sheet):
        self.plan, self.sheet = plan, sheet
        self.evaluation = plan.evaluation
        self.catalog = plan.evaluation.catalog
        self.lines = plan.evaluation.power.lines
        self.optics = optics_in(plan.evaluation.network, self.catalog)
        self.number = {id(line): n for n, line in enumerate(self.lines)}
        #: rows at which a page may begin
        self.sections: list[int] = []
        #: lines that use a run at whose other users they look
        self.sharers = self._sharers()
        #: figures of the copper drops that stand beside the page
        self.rates: list[tuple[SheetCell, ...]] = []
        self.cords: list[tuple[SheetCell, ...]] = []

    def _sharers(self) -> dict[tuple[int, int], list[int]]:
        """Lines that use one run, by line and row; only runs that several lines use."""
        return {
            place: [number for number, _ in places]
            for places in shared_rows(self.lines).values()
            for place in places
        }

    def key(self, line: PowerLine, name: str) -> str:
        """Key of a figure of a line; one that shares no run sees its own resistance."""
        if name.startswith("seen_") and not self.shares(line):
            name = name.replace("seen_", "loop_")
        return f"line.{self.number[id(line)]}.{name}"

    def first_key(self, line: PowerLine, name: str) -> str:
        """Key of what a line takes at the voltage and share that were found."""
        if name == "source_v" and line.passes_on:
            return self.key(line, "first.source_v")
        if name.startswith("seen_") and not self.shares(line):
            return self.key(line, name)
        return self.key(line, f"first.{name}") if name in FIRST else self.key(line, name)

    def shares(self, line: PowerLine) -> bool:
        """Whether a line uses a run that others use, too."""
        number = self.number[id(line)]
        return any((number, place) in self.sharers for place in range(len(line.rows)))

    def is_coupled(self, line: PowerLine) -> bool:
        """Whether its figures hang on those of lines that hang on its own."""
        return line.passes_on or self.shares(line)

    def figure(self, line: PowerLine, name: str) -> float:
        return float(line.values[name])

    def heading(self, title: str) -> None:
        """Begin a table."""
        self.sheet.blank()
        self.sections.append(self.sheet.next_row)
        self.sheet.say(title, "heading")

    def drawn(self, equipment: Equipment) -> list[str]:
        """Keys of what a thing passes on: the draw of every line that it feeds."""
        below = self.evaluation.power.from_source.get(equipment.key, ())
        return [
            self.first_key(line, "source_w")
            if self.is_coupled(line) and line_known(line)
            else self.key(line, "source_w")
            for line in below
        ]

    def steps(self, link: Link) -> str:
        """The link by path and steps."""
        more = " …" if len(link.paths) > 1 else ""
        return f"{link.paths[0]} {link.first_step:g}–{link.last_step:g}{more}"

    def name(self, link: Link) -> SheetCell:
        """The link by path and steps, leading to its row."""
        text = self.steps(link)
        anchor = self.plan.anchors.get(link.key)
        return Jump(text, anchor) if anchor else Text(text)

    def title(self, line: PowerLine) -> str:
        """A line by its steps, its source and its loads."""
        loads = ", ".join(_short(equipment) for equipment in line.equipment)
        return f"{self.steps(line.link)}: {_short(line.source.equipment)} → {loads}"

    def input_cell(
        self, key: str, figure: Input, subject: Any, value: Any, *, missing: str = ""
    ) -> SheetCell:
        """The cell of a declared input of one subject."""
        given = self.plan.inputs.of(figure, subject)
        words = {"missing": missing} if missing else {}
        return given_cell(key, given, value, figure.digits, **words)

    def temperature_keys(self, row: Any) -> list[str]:
        """Inputs of the temperature of a run, the highest counts: typed, its sites, the rule."""
        inputs = self.plan.inputs
        if row.cable_temperature_c is not None:
            key = inputs.row(row, "cable_temperature_c", "temperature of the cable", "°C")
            return [key] if key else []
        sites = (
            self.evaluation.design.sites.get(name)
            for name in self.evaluation.network.places[row.id]
        )
        keys = [self.plan.inputs.site(site, "ambient_max_c", "warmest air", "°C") for site in sites]
        found = list(dict.fromkeys(key for key in keys if key))
        if found:
            return found
        rule = inputs.add(
            "given.rule.cable_temperature_c",
            group="Rules",
            label="temperature of a cable where neither row nor site tells",
            value=DEFAULT_CABLE_C,
            unit="°C",
            source="rules of the project",
        )
        return [rule] if rule else []

    def temperature_formula(self, rows: list[Any]) -> str:
        """Formula text of the temperature that runs are judged at, the warmest of several."""
        found = [self._temperature(row) for row in rows]
        in_shade = [key for keys, rise in found if not rise for key in keys]
        parts = [any_of("MAX", in_shade)] if in_shade else []
        parts += [f"{any_of('MAX', keys)}+{{{rise}}}" for keys, rise in found if rise]
        parts = list(dict.fromkeys(parts))
        return parts[0] if len(parts) == 1 else f"MAX({','.join(parts)})"

    def _temperature(self, row: Any) -> tuple[list[str], str]:
        """Inputs of the air around a run, and that of the sun's rise where it counts."""
        keys = self.temperature_keys(row)
        design = self.evaluation.design
        by_site = row.cable_temperature_c is None and any(".site." in key for key in keys)
        if not by_site or not is_in_the_sun(row, self.evaluation.network, design.sites):
            return keys, ""
        return keys, self.project("sun_rise_c", "rise of a cable in the sun", "K")

    def project(self, setting: str, label: str, unit: str) -> str:
        return self.plan.inputs.project(self.evaluation, setting, label, unit)

    def part_input(
        self, equipment: Equipment, name: str, label: str, unit: str, value: Any = None
    ) -> str | None:
        """A figure of a device or radio on Inputs; None where the part has no such column."""
        value = getattr(equipment.record, name, None) if value is None else value
        if not is_known(value):
            return None
        family = KINDS[equipment.segment.kind].families[0]
        return self.plan.inputs.part(family, equipment.record, name, label, unit, value=value)

    def verdict(
        self, line: PowerLine, judgement: LineJudgement, values: Any, prefix: str = ""
    ) -> Verdict:
        """The live cell of a judgement of a line, or of a thing on it."""
        key = self.key(line, f"{prefix}{judgement.name}_verdict")
        word = judgement.word_of(values)
        if not judgement.is_live(values):
            return Verdict(word, key=key)
        refs = {name: self.key(line, prefix + figure) for name, figure in judgement.of.items()}
        text = written(judgement.word, refs)
        if judgement.needs_solution:
            solvable = Cell.ref(self.key(line, "solvable"))
            text = f'IF({solvable.text},{text},"{judgement.unsolved}")'
        return Verdict(word, formula=text, key=key)

    def judged(
        self, line: PowerLine, check: str, cell: SheetCell, unit: str | None = None
    ) -> SheetCell:
        """Register a live verdict of a line's link; unit: of the findings that it shows."""
        return self.plan.judged(line.link, check, cell, unit=unit)


def _short(equipment: Equipment) -> str:
    return equipment.label or equipment.part
