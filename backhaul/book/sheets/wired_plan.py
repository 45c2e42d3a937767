"""Copper and supply: what its parts share: the lines by number, their keys, their givens."""

from typing import Any

from backhaul.book.plan import Plan
from backhaul.book.sheets.shared import any_of, is_known, site_given
from backhaul.budgets.power import Line
from backhaul.design.columns import DEFAULT_CABLE_C
from backhaul.design.kinds import KINDS
from backhaul.path.equipment import Equipment
from backhaul.path.links import Link
from backhaul.spreadsheet.cells import Link as Jump
from backhaul.spreadsheet.cells import SheetCell, Text
from backhaul.spreadsheet.grid import Sheet


def line_prefix(plan: Plan, link: Link) -> str | None:
    """`line.{n}` of a copper link or feed that carries power, None of any other."""
    for number, line in enumerate(plan.evaluation.power.lines):
        if line.link is link:
            return f"line.{number}"
    return None


class Wired:
    """The sheet under construction."""

    def __init__(self, plan: Plan, sheet: Sheet):
        self.plan, self.sheet = plan, sheet
        self.evaluation = plan.evaluation
        self.catalog = plan.evaluation.catalog
        self.lines = plan.evaluation.power.lines
        self.prefixes = {id(line): f"line.{n}" for n, line in enumerate(self.lines)}
        #: rows at which a page may begin
        self.sections: list[int] = []

    def key(self, line: Line, name: str) -> str:
        """Key of a figure of a line."""
        return f"{self.prefixes[id(line)]}.{name}"

    def heading(self, title: str) -> None:
        """Begin a table."""
        self.sheet.blank()
        self.sections.append(self.sheet.next_row)
        self.sheet.say(title, "heading")

    def drawn(self, equipment: Equipment) -> list[str]:
        """Keys of what a thing passes on: the draw of every line that it feeds."""
        below = self.evaluation.power.from_source.get(equipment.key, ())
        return [self.key(line, "source_w") for line in below]

    def steps(self, link: Link) -> str:
        """The link by path and steps."""
        more = " …" if len(link.paths) > 1 else ""
        return f"{link.paths[0]} {link.first_step:g}–{link.last_step:g}{more}"

    def name(self, link: Link) -> SheetCell:
        """The link by path and steps, leading to its row."""
        text = self.steps(link)
        anchor = self.plan.anchors.get(link.key)
        return Jump(text, anchor) if anchor else Text(text)

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
        keys = [site_given(self.plan, site, "ambient_max_c", "warmest air", "°C") for site in sites]
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
        """Formula text of the temperature that runs are judged at."""
        return any_of("MAX", [key for row in rows for key in self.temperature_keys(row)])

    def part_given(
        self, equipment: Equipment, name: str, label: str, unit: str, value: Any = None
    ) -> str | None:
        """A figure of a device or radio on Inputs; None where the part has no such column."""
        value = getattr(equipment.record, name, None) if value is None else value
        if not is_known(value):
            return None
        family = KINDS[equipment.segment.kind].families[0]
        return self.plan.inputs.part(family, equipment.record, name, label, unit, value=value)

    def class_given(self, poe_class: Any, name: str, value: float, label: str, unit: str) -> str:
        """A figure of a class of the standard on Inputs."""
        key = f"given.poe.class{poe_class}.{name}"
        self.plan.inputs.add(
            key,
            group="Rules",
            label=f"PoE class {poe_class}: {label}",
            value=value,
            unit=unit,
            source="IEEE 802.3 Clauses 33, 145",
        )
        return key

    def port_given(self, port: Any, name: str, label: str, unit: str) -> str | None:
        """A figure of a port on Inputs."""
        return self.plan.inputs.part(
            "ports", port, name, f"port {port.port}, {label}", unit, key=f"{port.port}.{name}"
        )
