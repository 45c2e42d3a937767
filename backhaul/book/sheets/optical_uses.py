"""Every direction in which an optic or a cable counts, with ours and with what is offered."""

from collections.abc import Sequence
from functools import reduce
from operator import add
from typing import Any, NamedTuple

import numpy as np

from backhaul.book.formula_cells import worst_cell, worst_of_texts
from backhaul.book.inputs import Inputs
from backhaul.book.offer_table import UseRow
from backhaul.book.optical_keys import judged_figures, light_key
from backhaul.book.plan import Plan
from backhaul.book.sheets.shared import any_of
from backhaul.figures.influences import Influence
from backhaul.figures.judgements import Judgement
from backhaul.figures.optical_directions import Direction
from backhaul.figures.optical_terms import DISPERSION_LIMITS, JUDGEMENTS
from backhaul.findings import PASS, THIN, worst
from backhaul.spreadsheet.cells import Calc, SheetCell, Text, Verdict
from backhaul.spreadsheet.cells import Link as CellLink
from backhaul.spreadsheet.formula import Cell

_MARGIN, _ROOM = "margin_db", "overload_margin_db"
_LIMITS = ("power_margin_db", "channel_margin_db")
_DISPERSION, _FROM_REACH = "max_dispersion_ps_nm", "dispersion_from_reach"
#: Of a margin the loss in it, and the loss that was read.
_LOSSES = {
    _MARGIN: ("loss_max_db", "built_loss_db"),
    _ROOM: ("loss_min_db", "built_loss_min_db"),
}


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
        self.optical = plan.evaluation.optical
        values = self.optical.values
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
        value = self.values.get(name, np.nan)
        return None if np.isnan(value) else value

    def words(self) -> list[str]:
        """What each judgement says now, as the cells of Optical links do."""
        found = []
        for judged in self.judged:
            word = str(
                judged.word(**{a: self.values[self.standing(k)] for a, k in judged.of.items()})
            )
            is_accepted = word == THIN and self._lapse(judged) is not None
            found.append(PASS if is_accepted else word)
        return [*found, *([self.stated] if self.stated else ())]

    def standing(self, name: str) -> str:
        """The figure that is judged: what remains by a reading, else what was designed."""
        remains = f"remaining_{name}"
        return remains if self.known(remains) is not None else name

    def _lapse(self, judged: Judgement) -> str | None:
        """When the answer for a thin lapses, by the figure without the offer."""
        name = next(iter(judged.of.values()))
        key = f"{self.light}.{self.standing(name)}"
        lapses = self.plan.lapse(
            self.direction.link,
            judged.check,
            direction=self.direction.way,
            figure=(key, *judged_figures(self.optical, self.direction.link, name)),
        )
        return lapses and lapses.replace(f"{{{key}}}", f"({self.ours(name)})")

    def cells(self, title: str) -> tuple[SheetCell | str, ...]:
        cells: list[SheetCell | str] = [title, Text(self.name, key=f"{self.key}.name", span=5)]
        for what, term in (("margin", _MARGIN), ("room", _ROOM)):
            value = self.known(self.standing(term))
            for which in ("ours", "offered"):
                key = f"{self.key}.{what}.{which}"
                if value is None:
                    cells.append(Text("not known", "text right", key=key))
                    continue
                now = f"{{{self.light}.{self.standing(term)}}}"
                text = self.ours(term) if which == "ours" else now
                cells.append(Calc(key, text, value, format="0.00"))
        cells.append(self._verdict_ours())
        parts = {
            f"{self.light}.{judged.name}": word
            for judged, word in zip(self.judged, self.words(), strict=False)
        }
        if self.stated:
            parts[f"light.{self.direction.link.index}.stated"] = self.stated
        cells.append(worst_cell(f"{self.key}.verdict.offered", parts, answered=self.plan.answered))
        anchor = self.plan.anchors.get(self.direction.link.key, "")
        cells.append(CellLink("its budget", anchor) if anchor else "")
        return tuple(cells)

    def ours(self, name: str) -> str:
        """Formula text of a figure without the offer of this part."""
        if name == _MARGIN:
            texts = [self._without(limit) for limit in _LIMITS if self.known(limit) is not None]
            text = texts[0] if len(texts) == 1 else f"MIN({','.join(texts)})"
        elif name == _DISPERSION:
            return self._dispersion_limit()
        elif name == _FROM_REACH:
            return f"{self.values[name]:g}"
        else:
            text = self._without(name)
        return text + self._read(name)

    def _read(self, name: str) -> str:
        """What a reading of the loss changes in a margin."""
        if name not in _LOSSES or self.standing(name) == name:
            return ""
        loss, built = (f"{{{self.light}.{key}}}" for key in _LOSSES[name])
        return f"+{loss}-{built}" if name == _MARGIN else f"-{loss}+{built}"

    def _without(self, name: str) -> str:
        """A margin with the offer's shifts taken out again."""
        figure = Cell.ref(f"{self.light}.{name}")
        is_read = self.standing(_ROOM if name == _ROOM else _MARGIN) not in (_ROOM, _MARGIN)
        for given, influence, times in self.shifts:
            # of a loss that was read no offered attenuation changes anything
            if influence.on != name or (times and is_read):
                continue
            of = reduce(add, map(Cell.ref, times)) if times else None
            figure = influence.instead(figure, Cell.ref(Inputs.in_use(given)), Cell.ref(given), of)
        return figure.text

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
        texts = [(self._word(judged), self._lapse(judged)) for judged in self.judged]
        if self.stated:
            texts.append((f"{{light.{self.direction.link.index}.stated}}", None))
        if not texts:
            return Verdict(word, key=key)
        return Verdict(word, key=key, formula=worst_of_texts(texts))

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
            self.known(self.standing(_MARGIN)),
            self.known(self.standing(_ROOM)),
            worst(self.words()),
            self.plan.anchors.get(self.direction.link.key, ""),
        )
