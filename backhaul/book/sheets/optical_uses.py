"""Every direction in which an optic or a cable counts, with ours and with what is offered."""

from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np

from backhaul.book.formula_cells import worst_cell
from backhaul.book.inputs import Inputs
from backhaul.book.offer_table import UseRow
from backhaul.book.optical_keys import light_key
from backhaul.book.plan import Plan
from backhaul.book.sheets.shared import any_of
from backhaul.figures.influences import Influence
from backhaul.figures.judgements import Judgement
from backhaul.figures.optical_directions import Direction
from backhaul.figures.optical_terms import DISPERSION_LIMITS, JUDGEMENTS
from backhaul.findings import PASS, worst
from backhaul.spreadsheet.cells import Calc, SheetCell, Text, Verdict
from backhaul.spreadsheet.cells import Link as CellLink
from backhaul.spreadsheet.formula import Cell

_MARGIN, _ROOM = "margin_db", "overload_margin_db"
_LIMITS = ("power_margin_db", "channel_margin_db")
_DISPERSION = "max_dispersion_ps_nm"


class Shift(NamedTuple):
    """An input that an offer may replace, and how it moves a margin of a direction."""

    given: str
    influence: Influence
    #: keys of what it counts by, added up
    times: tuple[str, ...] = ()


def given_key(plan: Plan, figure: Any, subject: Any) -> str | None:
    """Key of the input of a figure, as it was drawn up; None where the book has none."""
    used = plan.inputs.of(figure, subject)
    if used is None:
        return None
    return "given." + used.removeprefix("eff.") if used.startswith("eff.") else used


class LightUses:
    """The table of every direction in which a part counts."""

    def __init__(self, plan: Plan):
        self.plan, self.optical = plan, plan.evaluation.optical
        self.rows: list[tuple[SheetCell | str, ...]] = []

    def add(
        self, prefix: str, part: str, title: str, direction: Direction, shifts: Sequence[Shift]
    ) -> UseRow:
        """One direction: its figures in use, and without the offer of this part."""
        use = _Use(self.plan, part, direction, shifts, f"{prefix}.use{direction.place}")
        self.rows.append(use.cells(title))
        return use.row()


class _Use:
    def __init__(self, plan: Plan, part: str, direction: Direction, shifts, key: str):
        self.plan, self.part, self.direction = plan, part, direction
        self.shifts, self.key = shifts, key
        self.light = light_key(direction)
        values = plan.evaluation.optical.values
        self.values = {
            name: float(column[direction.place])
            for name, column in values.items()
            if np.asarray(column).dtype.kind == "f"
        }
        self.judged = [j for j in JUDGEMENTS if j.is_judged(self.values)]
        unknown = np.isnan(self.values[_MARGIN]) or np.isnan(self.values["received_max_dbm"])
        #: what a level that is not known leaves: the finding on it decides
        self.stated = plan.stated_verdict(direction.link) if unknown else ""

    @property
    def name(self) -> str:
        places = self.plan.evaluation.network.places
        link = self.direction.link
        ends = (link.rows[0], link.rows[-1])
        near, far = (places[row.id][0] or row.part for row in ends)
        if near == far:
            near, far = f"step {link.first_step:g}", f"step {link.last_step:g}"
        return f"{self.plan.link_steps(link)}, to {(far, near)[self.direction.way]}"

    def known(self, name: str) -> float | None:
        value = self.values[name]
        return None if np.isnan(value) else value

    def words(self) -> list[str]:
        found = [
            str(j.word(**{arg: self.values[key] for arg, key in j.of.items()})) for j in self.judged
        ]
        return [*found, *([self.stated] if self.stated else ())]

    def cells(self, title: str) -> tuple[SheetCell | str, ...]:
        cells: list[SheetCell | str] = [title, Text(self.name, key=f"{self.key}.name", span=5)]
        for what, term in (("margin", _MARGIN), ("room", _ROOM)):
            value = self.known(term)
            for which in ("ours", "offered"):
                key = f"{self.key}.{what}.{which}"
                if value is None:
                    cells.append(Text("not known", "text right", key=key))
                    continue
                text = self.ours(term) if which == "ours" else f"{{{self.light}.{term}}}"
                cells.append(Calc(key, text, value, format="0.00"))
        cells.append(self._verdict_ours())
        parts = {
            f"{self.light}.{judged.name}": word
            for judged, word in zip(self.judged, self.words(), strict=False)
        }
        if self.stated:
            parts[f"light.{self.direction.link.index}.stated"] = self.stated
        cells.append(worst_cell(f"{self.key}.verdict.offered", parts))
        anchor = self.plan.anchors.get(self.direction.link.key, "")
        cells.append(CellLink("its budget", anchor) if anchor else "")
        return tuple(cells)

    def ours(self, name: str) -> str:
        """Formula text of a figure without the offer of this part."""
        if name == _MARGIN:
            texts = [self._without(limit) for limit in _LIMITS if self.known(limit) is not None]
            return texts[0] if len(texts) == 1 else f"MIN({','.join(texts)})"
        if name == _DISPERSION:
            return self._dispersion_limit()
        return self._without(name)

    def _without(self, name: str) -> str:
        """A margin with the offer's shifts taken out again."""
        text = f"{{{self.light}.{name}}}"
        for given, influence, times in self.shifts:
            if influence.on != name:
                continue
            moved = f"({{{Inputs.in_use(given)}}}-{{{given}}})"
            if times:
                moved += "*(" + "+".join(f"{{{key}}}" for key in times) + ")"
            text += ("-" if influence.sign > 0 else "+") + moved
        return text

    def _dispersion_limit(self) -> str:
        """The tighter of what both optics stand, this part by its own figure."""
        keys = []
        ends = (self.direction.sender, self.direction.receiver)
        for limit, optic in zip(DISPERSION_LIMITS, ends, strict=True):
            given = given_key(self.plan, limit, self.direction)
            if given is not None:
                keys.append(given if optic.part == self.part else Inputs.in_use(given))
        return any_of("MIN", keys)

    def _verdict_ours(self) -> Verdict:
        key, word = f"{self.key}.verdict.ours", worst(self.words())
        texts = [self._word(judged) for judged in self.judged]
        if self.stated:
            texts.append(f"{{light.{self.direction.link.index}.stated}}")
        if not texts:
            return Verdict(word, key=key)
        fails = ",".join(f'{text}="fail"' for text in texts)
        thins = ",".join(f'{text}="thin"' for text in texts)
        formula = f'IF(OR({fails}),"fail",IF(OR({thins}),"thin","{PASS}"))'
        return Verdict(word, key=key, formula=formula)

    def _word(self, judged: Judgement) -> str:
        """The judgement over the figures without the offer."""
        cells = {arg: Cell(f"({self.ours(key)})") for arg, key in judged.of.items()}
        return judged.word(**cells).text

    def row(self) -> UseRow:
        keys = [
            f"{self.key}.{what}.{which}"
            for what in ("margin", "room", "verdict")
            for which in ("ours", "offered")
        ]
        return UseRow(
            f"{self.key}.name",
            *keys,
            self.name,
            self.known(_MARGIN),
            self.known(_ROOM),
            worst(self.words()),
            self.plan.anchors.get(self.direction.link.key, ""),
        )
