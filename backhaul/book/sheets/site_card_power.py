"""Site cards, power: what the equipment takes, heat, fault currents of the feeds."""

from backhaul.book.formula_cells import NOT_KNOWN
from backhaul.book.sheets.shared import any_of, is_known, safe
from backhaul.book.sheets.site_card import Card
from backhaul.book.sheets.wired_plan import line_prefix
from backhaul.budgets.power_lines import PowerLine, optics_in
from backhaul.design.kinds import KINDS
from backhaul.figures.power_terms import AC, DC, DEFAULT_EFFICIENCY
from backhaul.path.equipment import Equipment
from backhaul.physics.supply import supply_load_w
from backhaul.spreadsheet.cells import Calc, Head, Number, SheetCell, Text
from backhaul.spreadsheet.formula import written

#: What feeds a device that takes no supply and has an output.
_SOURCES = {AC: "outlet of the site's mains", DC: "source of its own"}


def apparent_va(*, load_w, power_factor):
    """Apparent power [VA].

    >>> print(apparent_va(load_w=19.0, power_factor=0.95))
    20.0
    """
    return load_w / power_factor


def write_power(card: Card) -> None:
    """Watts, VA and heat of all equipment, fault currents of the feeds that begin or end here."""
    all_equipment, optics = card.here.all_equipment, card.here.optics
    if not all_equipment and not optics:
        return
    card.section(
        "Power and heat, in W",
        "Equipment",
        "Fed by",
        *(Head(text, "head right") for text in ("Own", "Passed", "Draws", "VA", "Heat")),
        Head("Note"),
    )
    tables = [_Equipment(card, equipment, number) for number, equipment in enumerate(all_equipment)]
    for table in tables:
        table.write()
    heat = [found for table in tables for found in table.heat]
    for part, count in sorted(optics.items()):
        _optics(card, part, count)
    _totals(card, tables, heat)
    _fault_currents(card)


class _Equipment:
    """The row of one device or terminal."""

    def __init__(self, card: Card, equipment: Equipment, number: int):
        self.card, self.equipment = card, equipment
        self.prefix = card.key(f"thing{number}")
        power = card.evaluation.power
        self.line = next(iter(power.to_load.get(equipment.key, ())), None)
        self.below = power.from_source.get(equipment.key, ())
        records = optics_in(card.evaluation.network, card.evaluation.catalog)
        self.optics = [each for each in records.get(equipment.key, []) if each.watts]
        #: key and figure of its heat, none where it is not known
        self.heat: list[tuple[str, float]] = []
        #: keys and figures of what is taken from a socket on site: W and VA
        self.mains: dict[str, tuple[str, float]] = {}
        self.figures: dict[str, float] = {}

    def write(self) -> None:
        equipment = self.equipment
        own, passed, draws = self._own(), self._passed(), self._draws()
        va, heat = self._va(), self._heat()
        name = f"{equipment.label} ({equipment.part})" if equipment.label else equipment.part
        note = "existing" if equipment.segment.by == "existing" else ""
        self.card.sheet.row(
            name,
            Text(self._fed_by(), "text small"),
            own,
            passed,
            draws,
            va,
            heat,
            Text(note, "text small"),
        )

    def _fed_by(self) -> str:
        record = self.equipment.record
        if self.line is not None:
            source = self.line.source.equipment
            name = source.label or source.part
            port = f" port {self.line.source.port.port}" if self.line.source.port else ""
            how = "PoE from" if self.line.is_poe else f"{record.supply or ''} feed from".strip()
            return f"{how} {name}{port}"
        if record.supply in ("AC", "DC"):
            volts = f" {record.supply_volts:g} V" if record.supply_volts else ""
            return f"{record.supply}{volts}, plugged in on site"
        if record.supply == "PoE":
            return "nothing feeds it"
        return _SOURCES.get(getattr(record, "output", None), "needs no power")

    @property
    def is_on_mains(self) -> bool:
        """Plugged into the mains of the site, or an outlet of it."""
        record = self.equipment.record
        is_outlet = record.supply not in ("AC", "DC", "PoE") and (
            getattr(record, "output", None) == AC
        )
        return self.line is None and (record.supply == AC or is_outlet)

    def key(self, name: str) -> str:
        return f"{self.prefix}.{name}"

    def _note(self, name: str, cell: SheetCell) -> SheetCell:
        if isinstance(cell, Calc | Number):
            self.figures[name] = float(cell.value)
        return cell

    def _line_source(self) -> str | None:
        """`line.{n}.load{m}` of this thing where a sheet has it."""
        if self.line is None or not self.card.is_live(self.line.link):
            return None
        place = self.line.equipment.index(self.equipment)
        return f"{line_prefix(self.card.plan, self.line.link)}.load{place}"

    def _own(self) -> SheetCell:
        """Its own need and that of the optics in it."""
        source, key = self._line_source(), self.key("own_w")
        port = self.line.load.port if self.line is not None else None
        watts = self.equipment.record.watts
        if port is not None and port.watts is not None:
            watts = port.watts
        if not is_known(watts):
            return Text(NOT_KNOWN, "text right", key=key)
        inputs = self.card.plan.inputs
        optics = [
            inputs.part("optics", record, "watts", "power that it takes", "W")
            for record in self.optics
        ]
        total = float(watts) + sum(float(record.watts) for record in self.optics)
        if source:
            own = f"{source}.own_w"
        elif port is not None and port.watts is not None:
            return self._note("own_w", Number(total, key=key, format="0.0"))
        else:
            own = self._given("watts", "power that it takes", "W")
        formula = "+".join(f"{{{each}}}" for each in (own, *optics))
        return self._note("own_w", Calc(key, formula, total, format="0.0"))

    def _given(self, name: str, label: str, unit: str) -> str | None:
        family = KINDS[self.equipment.segment.kind].families[0]
        return self.card.plan.inputs.part(family, self.equipment.record, name, label, unit)

    def _passed(self) -> SheetCell:
        if not self.below:
            self.figures["passed_on_w"] = 0.0
            return Text("")
        key = self.key("passed_on_w")
        total = float(sum(line.values["source_w"] for line in self.below))
        if not is_known(total):
            return Text(NOT_KNOWN, "text right", key=key)
        if all(self.card.is_live(line.link) for line in self.below):
            keys = [f"{line_prefix(self.card.plan, line.link)}.source_w" for line in self.below]
            return self._note("passed_on_w", Calc(key, any_of("SUM", keys), total, format="0.0"))
        return self._note("passed_on_w", Number(total, key=key, format="0.0"))

    def _draws(self) -> SheetCell:
        """Own need, what it passes on over its efficiency, and the recharge of its battery."""
        key = self.key("load_w")
        if "own_w" not in self.figures or "passed_on_w" not in self.figures:
            return Text(NOT_KNOWN, "text right", key=key)
        text, value = f"{{{self.key('own_w')}}}", self.figures["own_w"]
        if self.below:
            efficiency = getattr(self.equipment.record, "efficiency", None)
            refs = {
                "own_w": self.key("own_w"),
                "passed_on_w": self.key("passed_on_w"),
                "efficiency": self._efficiency(efficiency),
            }
            text = written(supply_load_w, refs)
            value = supply_load_w(
                own_w=value,
                passed_on_w=self.figures["passed_on_w"],
                efficiency=DEFAULT_EFFICIENCY if efficiency is None else efficiency,
            )
        if (charge := self._charge()) is not None:
            text += f"+{{{charge}}}"
            value += self.equipment.record.charge_w
        return self._note("load_w", Calc(key, text, float(value), format="0.0"))

    def _efficiency(self, efficiency: float | None) -> str | None:
        if efficiency is not None:
            return self._given("efficiency", "efficiency of what it passes on", "")
        return self.card.rule(
            "efficiency",
            "efficiency of a device where its part has none",
            DEFAULT_EFFICIENCY,
            "",
            "common practice for converters",
        )

    def _charge(self) -> str | None:
        """What it draws besides while its battery recharges."""
        if not getattr(self.equipment.record, "charge_w", None):
            return None
        return self._given("charge_w", "while its battery recharges", "W")

    def _va(self) -> SheetCell:
        record, key = self.equipment.record, self.key("load_va")
        if record.supply != AC or "load_w" not in self.figures:
            return Text("")
        if record.power_factor is None:
            return Text("?", "text right", key=key)
        given = self._given("power_factor", "power factor", "")
        cell = self.card.computed(
            None,
            apparent_va,
            key,
            {"load_w": self.key("load_w"), "power_factor": given},
            {"load_w": self.figures["load_w"], "power_factor": record.power_factor},
            1,
        )
        if self.line is None:
            self.mains["va"] = (key, float(cell.value))
        return cell

    def _heat(self) -> SheetCell:
        key = self.key("heat_w")
        if "load_w" not in self.figures:
            return Text(NOT_KNOWN, "text right", key=key)
        if self.is_on_mains:
            self.mains["w"] = (self.key("load_w"), self.figures["load_w"])
        parts = [self.key("load_w")] + ([self.key("passed_on_w")] if self.below else [])
        value = self.figures["load_w"] - (self.figures["passed_on_w"] if self.below else 0.0)
        if (charge := self._charge()) is not None:
            parts.append(charge)
            value -= float(self.equipment.record.charge_w)
        cell: SheetCell = Calc(
            key, "-".join(f"{{{part}}}" for part in parts), float(value), format="0.0"
        )
        if isinstance(cell, Calc):
            self.heat.append((key, float(cell.value)))
        return cell


def _optics(card: Card, part: str, count: int) -> None:
    """A row for the optics of one part; they count with the device that they are in."""
    record = card.evaluation.catalog.optics[part]
    given = card.plan.inputs.part("optics", record, "watts", "power that it takes", "W")
    key = card.key(f"optic.{safe(part)}.own_w")
    if given is None:
        cell: SheetCell = Text(NOT_KNOWN, "text right", key=key)
    else:
        cell = Calc(key, f"{{{given}}}*{count}", record.watts * count, format="0.0")
    card.sheet.row(
        f"{count} × {part}",
        Text("the device that it is in, counted there", "text small"),
        cell,
        *[""] * 5,
    )


def _totals(card: Card, tables: list[_Equipment], heat: list[tuple[str, float]]) -> None:
    on_mains = [table for table in tables if table.is_on_mains]
    watts = [table.mains["w"] for table in on_mains if "w" in table.mains]
    amperes = [table.mains["va"] for table in on_mains if "va" in table.mains]
    if len(amperes) < len(on_mains):  # a sum that leaves some out would mislead
        amperes = []
    if not heat:
        return
    total = Calc(
        card.key("heat_w"),
        any_of("SUM", [key for key, _ in heat]),
        float(sum(value for _, value in heat)),
        format="0.0",
    )
    taken: list[SheetCell] = [Text("", "total text"), Text("", "total text")]
    for place, (name, found) in enumerate((("mains_w", watts), ("mains_va", amperes))):
        if found:
            taken[place] = Calc(
                card.key(name),
                any_of("SUM", [key for key, _ in found]),
                float(sum(value for _, value in found)),
                format="0.0",
            )
    card.sheet.row(
        "Site: mains, heat to remove",
        Text("own need: with the optics", "text small"),
        "",
        "",
        *taken,
        total,
        "",
        style="total",
    )


def _fault_currents(card: Card) -> None:
    """Of every feed that begins or ends here."""
    for line in card.here.feeds:
        source = line_prefix(card.plan, line.link)
        cell = card.figure(
            line.link,
            f"{source}.short_circuit_a",
            card.key(f"{source}.fault_a"),
            line.values["short_circuit_a"],
            1,
        )
        card.sheet.row(
            f"Fault current, {_user(line)}, A",
            Text(
                "least at the far end, conductors at 70 °C: breaker or fuse must clear it in time; by "
                "a licensed electrician under local codes",
                "text small",
            ),
            cell,
        )


def _user(line: PowerLine) -> str:
    row = next(row for row in line.link.rows if KINDS[row.kind].is_run)
    return row.label or f"{line.link.paths[0]} {line.link.first_step:g}–{line.link.last_step:g}"
