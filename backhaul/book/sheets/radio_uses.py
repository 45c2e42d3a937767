"""Hops in which a radio or antenna counts: figures in use, and without the offer of that part."""

from collections.abc import Callable, Mapping
from typing import NamedTuple

import numpy as np

from backhaul.book.formula_cells import worst_of_texts
from backhaul.book.inputs import row_key
from backhaul.book.keys import safe
from backhaul.book.offer_table import UseRow
from backhaul.book.plan import Plan
from backhaul.budgets.needed_modes import Needed, needed_mode
from backhaul.budgets.requirements_radio import antenna_ends, radio_ends
from backhaul.figures.influences import Influence
from backhaul.figures.judgements import Judgement
from backhaul.figures.mode_terms import (
    CHAIN_LEVEL,
    EIRP_BY,
    GAIN,
    LEVEL_BY,
    MODE_POWER,
    SENSITIVITY,
    SWAY_LOSS,
)
from backhaul.figures.radio_formulas import pointing_loss_db, received_chain_dbm
from backhaul.figures.radio_judgements import EIRP, MARGIN, OVERLOAD
from backhaul.figures.radio_terms import SWAYS
from backhaul.figures.verdicts import at_most, margin_verdict
from backhaul.findings import PASS, THIN, worst
from backhaul.path.ends import HopDirection
from backhaul.spreadsheet.cells import Calc, Text, Verdict
from backhaul.spreadsheet.cells import Link as CellLink
from backhaul.spreadsheet.formula import Cell
from backhaul.spreadsheet.grid import Content


class Way(NamedTuple):
    """One direction of a hop in which a part counts."""

    of: HopDirection
    needed: Needed | None
    sends: bool
    hears: bool

    @property
    def direction(self) -> int:
        """Place in the arrays over directions."""
        return self.of.place

    @property
    def key(self) -> str:
        return f"air.{self.of.hop}.{self.of.sender.letter}"


class AirUses:
    """Figures of hops in use, and what they are without the offer of one part."""

    def __init__(self, plan: Plan):
        self.plan, self.radio = plan, plan.evaluation.radio
        self.catalog = plan.evaluation.catalog
        self.rows: list[tuple[Content, ...]] = []

    def ways(self, family: str, part: str, by: str | None = None) -> list[Way]:
        """Directions in which a part sends or hears, the tightest first."""
        ends_of = radio_ends if family == "radios" else antenna_ends
        providers = {row.by or "" for link in self.radio.links for row in link.rows}
        sends = {
            way.place
            for p in providers
            if by in (None, p)
            for way in ends_of(self.plan.evaluation, part, p)
        }
        ways = [
            Way(
                way,
                needed_mode(self.plan.evaluation, way.place),
                way.place in sends,
                way.back in sends,
            )
            for way in self.radio.hops.directions
            if way.place in sends or way.back in sends
        ]
        ways.sort(key=lambda way: way.needed.slack_db if way.needed else np.inf)
        return ways

    def without_gain(
        self, influence: Influence, figure: Cell, family: str, part: str, way: Way
    ) -> Cell:
        """A figure without what the offer of this part adds through its antennas."""
        for end, counts in ((way.of.sender, way.sends), (way.of.receiver, way.hears)):
            if not counts or (family == "radios" and end.antenna is not None):
                continue
            name = "antenna_dbi" if family == "radios" else "gain_dbi"
            figure = self._without(influence, figure, f"given.{family}.{part}.{name}")
        return figure

    def _without(self, influence: Influence, figure: Cell, given: str) -> Cell:
        """A figure with ours in the place of what is in use of an input."""
        if given not in self.plan.inputs.rows:
            return figure
        in_use = self.plan.inputs.in_use(given)
        return influence.instead(figure, Cell.ref(in_use), Cell.ref(given))

    def mode_key(self, part: str, direction: int, mode: int, name: str) -> str:
        """Input of a mode of a part on the channel of a hop."""
        channel = float(self.radio.values["channel_mhz"][direction])
        title = self.radio.modes["name"][mode]
        return f"given.radio_modes.{part}.{channel:g}.{safe(title)}.{name}"

    def power_ours(self, part: str, way: Way, mode: int) -> str:
        """Power of a mode without the offer: the smaller of the row's and the part's."""
        row = way.of.row
        keys = [self.mode_key(part, way.direction, mode, "tx_power_dbm")]
        if keys[0] not in self.plan.inputs.rows:
            keys = [f"given.radios.{part}.tx_power_dbm"]
        typed = row_key(row, "tx_power_dbm")
        texts = [f"{{{key}}}" for key in (typed, *keys) if key in self.plan.inputs.rows]
        return texts[0] if len(texts) == 1 else f"MIN({','.join(texts)})" if texts else ""

    def strongest_ours(self, part: str, way: Way) -> str:
        """Power of the strongest mode without the offer."""
        start, end = (int(self.radio.mode_start[way.direction + n]) for n in (0, 1))
        texts = dict.fromkeys(self.power_ours(part, way, mode) for mode in range(start, end))
        found = [text for text in texts if text]
        return f"MAX({','.join(found)})" if found else ""

    def margin_ours(self, family: str, part: str, way: Way, mode: int) -> str:
        """Margin of a mode without the offer of this part, as formula text."""
        number = mode - int(self.radio.mode_start[way.direction])
        key = f"{way.key}.mode{number}"
        margin = self.without_gain(GAIN, Cell.ref(f"{key}.margin_db"), family, part, way)
        if family == "radios" and way.sends and (ours := self.power_ours(part, way, mode)):
            now = Cell.ref(f"{key}.mode_power_dbm")
            margin = MODE_POWER.instead(margin, now, Cell(ours))
        margin = self._without_chains(margin, family, part, way)
        margin = self._without_beam(margin, family, part, way)
        if family == "radios" and way.hears:
            sensitivity = self.mode_key(part, way.direction, mode, "sensitivity_dbm")
            margin = self._without(SENSITIVITY, margin, sensitivity)
        return margin.text

    def _without_chains(self, margin: Cell, family: str, part: str, way: Way) -> Cell:
        """With our number of chains, which share the level."""
        given = f"given.radios.{part}.chains"
        if family != "radios" or not way.sends or given not in self.plan.inputs.rows:
            return margin
        level = Cell.ref(f"{way.key}.received_dbm")
        each = [
            received_chain_dbm(received_dbm=level, chains=Cell.ref(key))
            for key in (self.plan.inputs.in_use(given), given)
        ]
        return CHAIN_LEVEL.instead(margin, *each)

    def _without_beam(self, margin: Cell, family: str, part: str, way: Way) -> Cell:
        """With the loss by sway that our beam has."""
        if self.radio.values["sway_basis"][way.direction] != SWAYS:
            return margin
        refs, moved = {}, False
        for end, names in (
            (way.of.sender, ("sway_deg", "beam_deg", "tx_gain_dbi")),
            (way.of.receiver, ("to_sway_deg", "to_beam_deg", "rx_gain_dbi")),
        ):
            refs |= {name: f"{way.key}.{name}" for name in names}
            holder = end.radio if end.antenna is None else end.antenna
            kind = "radios" if end.antenna is None else "antennas"
            gain = "antenna_dbi" if end.antenna is None else "gain_dbi"
            if (kind, holder.part) != (family, part):
                continue
            for name, column in zip(names[1:], ("beamwidth_deg", gain), strict=True):
                given = f"given.{kind}.{part}.{column}"
                if given in self.plan.inputs.rows:
                    refs[name], moved = given, True
        ours = pointing_loss_db(**{name: Cell.ref(key) for name, key in refs.items()})
        now = Cell.ref(f"{way.key}.pointing_loss_db")
        return SWAY_LOSS.instead(margin, now, ours) if moved else margin

    def add(self, family: str, part: str, way: Way) -> UseRow:
        """One direction in the table of uses."""
        prefix = f"alt.{family}.{part}.use{way.direction}"
        link = way.of.link
        name = f"{self.plan.link_steps(link)}, to {way.of.receiver.name}"
        anchor = self.plan.anchors.get(link.key, "")
        mode, cells = (
            way.needed.mode if way.needed else -1,
            [part, Text(name, key=f"{prefix}.name", span=4)],
        )
        cells.append(self.radio.modes["name"][mode] if mode >= 0 else "")
        margin = float(self.radio.modes["margin_db"][mode]) if mode >= 0 else None
        room = self._room(way)
        number = mode - int(self.radio.mode_start[way.direction])
        for what, value, now, ours in (
            (
                "margin",
                margin,
                f"{{{way.key}.mode{number}.margin_db}}",
                self.margin_ours(family, part, way, mode) if mode >= 0 else "",
            ),
            (
                "room",
                room,
                f"{{{way.key}.max_input_dbm}}-{{{way.key}.received_dbm}}",
                self._room_ours(family, part, way),
            ),
        ):
            for which, text in (("ours", ours), ("offered", now)):
                key = f"{prefix}.{what}.{which}"
                cells.append(
                    Text("not known", "text right", key=key)
                    if value is None
                    else Calc(key, text, value, format="0.00")
                )
        words = self._verdicts(prefix, family, part, way, margin, room, cells)
        cells.append(CellLink("its budget", anchor) if anchor else "")
        self.rows.append(tuple(cells))
        return UseRow(
            f"{prefix}.name",
            f"{prefix}.margin.ours",
            f"{prefix}.margin.offered",
            f"{prefix}.room.ours",
            f"{prefix}.room.offered",
            f"{prefix}.verdict.ours",
            f"{prefix}.verdict.offered",
            name,
            margin,
            room,
            words,
            anchor,
        )

    def _room(self, way: Way) -> float | None:
        hears = way.of.receiver.radio
        level = float(self.radio.values["received_dbm"][way.direction])
        if hears.max_input_dbm is None or np.isnan(level):
            return None
        return float(hears.max_input_dbm) - level

    def _without_sent(
        self, by: Mapping[str, Influence], figure: Cell, family: str, part: str, way: Way
    ) -> Cell:
        """A level or EIRP without what the offer of this part adds at the end that sends."""
        figure = self.without_gain(by["gain_dbi"], figure, family, part, way)
        ours = self.strongest_ours(part, way) if family == "radios" and way.sends else ""
        if not ours:
            return figure
        return by["tx_power_dbm"].instead(figure, Cell.ref(f"{way.key}.tx_power_dbm"), Cell(ours))

    def _room_ours(self, family: str, part: str, way: Way) -> str:
        level = Cell.ref(f"{way.key}.received_dbm")
        ours = self._without_sent(LEVEL_BY, level, family, part, way)
        return (Cell.ref(f"{way.key}.max_input_dbm") - ours).text

    def _verdicts(self, prefix, family, part, way, margin, room, cells) -> str:
        """Verdicts of needed mode, overload and EIRP, ours and offered; returns the word now."""
        healthy = float(self.radio.values["healthy_margin_db"][way.direction])
        words: list[str] = []
        texts: dict[str, list[tuple[str, str | None]]] = {"ours": [], "offered": []}

        def judge(judged: Judgement, word: str, ours: str, offered: str) -> None:
            lapses = self.plan.lapse(way.of.link, judged.check, direction=way.of.sender.number)
            words.append(PASS if word == THIN and lapses is not None else word)
            texts["ours"].append((ours, lapses))
            texts["offered"].append((offered, lapses))

        if margin is not None:
            wanted = Cell.ref(f"{way.key}.healthy_margin_db")
            by = [
                margin_verdict(margin=Cell.ref(f"{prefix}.margin.{which}"), healthy=wanted).text
                for which in texts
            ]
            judge(MARGIN, str(margin_verdict(margin=margin, healthy=healthy)), *by)
        if room is not None:
            by = [
                at_most(value=-Cell.ref(f"{prefix}.room.{which}"), limit=0.0).text
                for which in texts
            ]
            judge(OVERLOAD, str(at_most(value=-room, limit=0.0)), *by)
        self._eirp(family, part, way, judge)
        word = worst(words)
        for which, found in texts.items():
            formula = worst_of_texts(found) if found else ""
            cells.append(Verdict(word, key=f"{prefix}.verdict.{which}", formula=formula))
        return word

    def _eirp(self, family: str, part: str, way: Way, judge: Callable[..., None]) -> None:
        """The EIRP against its rule, where Radio hops judges it."""
        context = self.plan.evaluation.context
        eirp = float(self.radio.values["eirp_dbm"][way.direction])
        row = way.of.row
        if np.isnan(eirp) or (context.design.project.region is None and row.eirp_limit_dbm is None):
            return
        limit_dbm = self.plan.eirp_limits.get(way.direction)
        if limit_dbm is None:
            return
        eirp_now = Cell.ref(f"{way.key}.eirp_dbm")
        sends_only = way._replace(hears=False)
        ours = self._without_sent(EIRP_BY, eirp_now, family, part, sends_only)
        limit = Cell.ref(f"{way.key}.eirp_limit_dbm")
        by = [at_most(value=value, limit=limit).text for value in (ours, eirp_now)]
        judge(EIRP, str(at_most(value=eirp, limit=limit_dbm)), *by)
