"""Copper and supply, by site: what is taken from its mains, and the heat of what stands there."""

from collections import defaultdict

from backhaul.book.formula_cells import NOT_KNOWN, formula_cell
from backhaul.book.sheets.shared import any_of, is_known, safe
from backhaul.book.sheets.wired_plan import Wired
from backhaul.budgets.site_index import site_of
from backhaul.design.kinds import KINDS
from backhaul.figures.power_terms import AC, DEFAULT_EFFICIENCY
from backhaul.path.equipment import Equipment
from backhaul.physics.supply import supply_load_w
from backhaul.spreadsheet.cells import Calc, Head, Number, SheetCell, Text
from backhaul.spreadsheet.formula import written


def apparent_va(*, load_w, power_factor):
    """Apparent power [VA].

    >>> print(apparent_va(load_w=19.0, power_factor=0.95))
    20.0
    """
    return load_w / power_factor


def write_sites(wired: Wired) -> None:
    """A row a site; what every device takes stands beside the sheet."""
    at: dict[str | None, list[Equipment]] = defaultdict(list)
    for equipment in wired.evaluation.network.all_equipment.values():
        at[site_of(wired.evaluation, equipment)].append(equipment)
    if not at:
        return
    wired.heading("Power and heat by site")
    wired.sheet.row(
        Head("Site"),
        *(
            Head(text, "head right", 2)
            for text in ("From the mains, W", "From the mains, VA", "Heat to remove, W")
        ),
        Head("", span=7),
    )
    for site, all_equipment in at.items():
        _site(wired, site, all_equipment)


def _site(wired: Wired, site: str | None, all_equipment: list[Equipment]) -> None:
    name = safe(site or "no site given")
    tables = [
        _Equipment(wired, equipment, f"site.{name}.thing{number}")
        for number, equipment in enumerate(all_equipment)
    ]
    wired.sheet.helper(
        f"Power of what stands at {site or 'no site'}, W",
        ("equipment", "own", "passed on", "draws", "VA", "heat"),
        [table.cells() for table in tables],
    )
    on_mains = [table for table in tables if table.is_on_mains]
    watts = [table.mains["w"] for table in on_mains if "w" in table.mains]
    amperes = [table.mains["va"] for table in on_mains if "va" in table.mains]
    if len(amperes) < len(on_mains):  # a sum that leaves some out would mislead
        amperes = []
    heat = [found for table in tables for found in table.heat]
    totals = (("mains_w", watts), ("mains_va", amperes), ("heat_w", heat))
    cells = [
        Calc(
            f"site.{name}.{key}",
            any_of("SUM", [each for each, _ in found]),
            float(sum(value for _, value in found)),
            format="0.0",
            span=2,
        )
        if found
        else Text("–", "text right", 2)
        for key, found in totals
    ]
    wired.sheet.row(site or "no site given", *cells, Text("", span=7))


class _Equipment:
    """The row of one device or terminal."""

    def __init__(self, wired: Wired, equipment: Equipment, prefix: str):
        self.wired, self.equipment, self.prefix = wired, equipment, prefix
        power = wired.evaluation.power
        self.line = next(iter(power.to_load.get(equipment.key, ())), None)
        self.below = power.from_source.get(equipment.key, ())
        self.optics = [each for each in wired.optics.get(equipment.key, []) if each.watts]
        #: key and figure of its heat, none where it is not known
        self.heat: list[tuple[str, float]] = []
        #: keys and figures of what is taken from a socket on site: W and VA
        self.mains: dict[str, tuple[str, float]] = {}
        self.figures: dict[str, float] = {}

    def cells(self) -> tuple[SheetCell | str, ...]:
        """Its row beside the sheet."""
        own, passed, draws = self._own(), self._passed(), self._draws()
        return (self.equipment.name, own, passed, draws, self._va(), self._heat())

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
        if self.line is None:
            return None
        place = self.line.equipment.index(self.equipment)
        return self.wired.key(self.line, f"load{place}")

    def _own(self) -> SheetCell:
        """Its own need and that of the optics in it."""
        source, key = self._line_source(), self.key("own_w")
        port = self.line.load.port if self.line is not None else None
        watts = self.equipment.record.watts
        if port is not None and port.watts is not None:
            watts = port.watts
        if not is_known(watts):
            return Text(NOT_KNOWN, "text right", key=key)
        inputs = self.wired.plan.inputs
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
        return self.wired.plan.inputs.part(family, self.equipment.record, name, label, unit)

    def _passed(self) -> SheetCell:
        if not self.below:
            self.figures["passed_on_w"] = 0.0
            return Text("")
        key = self.key("passed_on_w")
        total = float(sum(line.values["source_w"] for line in self.below))
        if not is_known(total):
            return Text(NOT_KNOWN, "text right", key=key)
        keys = [self.wired.key(line, "source_w") for line in self.below]
        return self._note("passed_on_w", Calc(key, any_of("SUM", keys), total, format="0.0"))

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
        return self.wired.plan.inputs.rule(
            "efficiency",
            "efficiency of a device where its part has none",
            "",
            DEFAULT_EFFICIENCY,
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
        cell = formula_cell(
            apparent_va,
            key,
            {"load_w": self.key("load_w"), "power_factor": given or ""},
            {"load_w": self.figures["load_w"], "power_factor": record.power_factor},
            digits=1,
        )
        if self.line is None and isinstance(cell, Calc):
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
