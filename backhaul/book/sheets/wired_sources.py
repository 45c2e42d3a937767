"""What every source gives, over PoE and over feeds, and what is left."""

from typing import Any

from backhaul.book.formula_cells import verdict_cell
from backhaul.book.line_of_sight import INPUTS, how_cell
from backhaul.book.sheets.shared import NO_LIMIT, given_cell, is_known
from backhaul.book.sheets.wired_plan import Wired, place_text, united
from backhaul.budgets.power import PowerSource
from backhaul.budgets.power_lines import PowerLine
from backhaul.figures.power_judgements import (
    ALLOWANCE_W,
    poe_source_word,
    supply_word,
)
from backhaul.findings import AUTONOMY_UNIT, PASS
from backhaul.physics.poe import POE_CLASSES
from backhaul.spreadsheet.cells import Calc, Head, Number, SheetCell, Text, Verdict

#: Checks whose thin the verdict of a source shows.
_OVER_PORTS, _RESERVE = "poe-budget", "supply-reserve"
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
        wired.heading(f"Sources, {ALLOWANCE_W:g} W allowed for")
        wired.sheet.row(
            *(
                Head(united(head, unit), "head right" if 1 < n < 6 else "head", span)
                for n, (head, unit, span) in enumerate(_SOURCE_HEADS)
            )
        )
        for place, source in enumerate(self.rows):
            self._answer(place, source)
            cells = self._cells(place, source)
            wired.sheet.row(
                place_text(source.equipment),
                *(
                    cell._replace(span=span)
                    for cell, (_, _, span) in zip(cells, _SOURCE_HEADS[1:], strict=True)
                ),
            )

    def _answer(self, place: int, source: PowerSource) -> None:
        """Leave it in the plan where somebody answers for a thin source."""
        rows = {row for line in source.lines for row in line.link.row_ids}
        for check in (_OVER_PORTS, _RESERVE):
            found = (
                finding
                for finding in self.wired.plan.accepted(check)
                if finding.unit != AUTONOMY_UNIT and not rows.isdisjoint(finding.rows)
            )
            self.wired.plan.answer([self._key(place, "verdict")], found)

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
        how = "thin by class alone" if is_poe else "thin inside what is kept"
        shown = given_cell(self._key(place, "limit_w"), given, limit, missing=NO_LIMIT)
        return [
            Text("PoE" if is_poe else getattr(source.equipment.record, "output", None) or "none"),
            shown,
            self._used(place, source),
            self._by_class(place, source) if is_poe else Text(""),
            Text("") if is_poe else self._reserve(place),
            self._left(place, source),
            self._verdict(place, source),
            how_cell(f"{how}; limit: {INPUTS}", shown),
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
