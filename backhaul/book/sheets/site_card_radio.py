"""Site cards, radio: aim and set-up of each terminal, a reference, water and distance in words."""

from itertools import zip_longest
from typing import Any

import numpy as np

from backhaul.book.formula_cells import NOT_KNOWN, formula_cell, number_format
from backhaul.book.sheets.shared import is_known
from backhaul.book.sheets.site_card import COLUMNS, Card
from backhaul.budgets.hubs import Hub
from backhaul.budgets.readings_radio import SET_ON_SITE
from backhaul.budgets.site_index import Terminal
from backhaul.findings import FAIL
from backhaul.path.links import Link
from backhaul.path.terrain import ground_source, terrain_of
from backhaul.physics.exposure import keep_away_m
from backhaul.physics.geometry import geodesic, magnetic_azimuth_deg
from backhaul.spreadsheet.cells import Calc, Head, Number, SheetCell, Text, ToFill

_ABREAST = 3  # terminals that stand side by side
_WIDE = (2, 5, 4)  # columns of each
#: Other sites that serve as a reference; a nearer one is no far mark.
_MARKS, _NEAREST_MARK_KM = 2, 0.3
#: Two marks nearer to each other than this check one direction (common practice).
_ONE_DIRECTION_DEG = 10.0
#: In place of what is set, while the hop fails.
SETTLE = "settle first"


def write_setup(card: Card) -> None:
    """Set-up and aim of each terminal; some side by side, one alone in two halves."""
    terminals = card.here.terminals
    for first in range(0, len(terminals), _ABREAST):
        _setup_table(card, terminals[first : first + _ABREAST])
    told: set[str] = set()
    for setup in (Setup(card, terminal) for terminal in terminals):
        if setup.hub is not None and setup.hub.label not in told:
            told.add(setup.hub.label)
            card.sheet.row(Text(setup.hub_text(setup.hub), "card text", len(COLUMNS)))


def _setup_table(card: Card, terminals: list[Terminal]) -> None:
    tables = [Setup(card, terminal) for terminal in terminals]
    names = [f"{hop_name(t.link)} to {_far_site(t) or 'far end'}" for t in terminals]
    if len(tables) == 1:
        card.section(f"Aim and set: {names[0]}", whole=True)
        lines = tables[0].lines()
        rows = -(-len(lines) // 2)
        for left, right in zip_longest(lines[:rows], lines[rows:]):
            cells = [Text(_label(left), "card text"), left[2]]
            if right:
                cells += [Text(_label(right), "card text", 4), right[2]._replace(span=6)]
            card.sheet.row(*cells)
    else:
        card.section(
            "Aim and set",
            "Terminal",
            *(Head(name, "card head", span) for name, span in zip(names, _WIDE, strict=False)),
            whole=True,
        )
        for line in zip(*(table.lines() for table in tables), strict=True):
            values = (cell for *_, cell in line)
            card.sheet.row(
                Text(_label(line[0]), "card text"),
                *(cell._replace(span=span) for cell, span in zip(values, _WIDE, strict=False)),
            )
    for table in tables:
        told = (
            table.reference_text() if table.hub is None else "",
            table.row.note or "",
            table.water_text(),
            table.ground_text(),
        )
        for text in told:
            if text:
                card.sheet.row(Text(f"{hop_name(table.link)}: {text}", "card text", len(COLUMNS)))


def _label(line: tuple[str, str, SheetCell]) -> str:
    what, unit, _ = line
    return f"{what}, {unit}" if unit else what


def hop_name(link: Link) -> str:
    return link.rows[0].label or f"{link.paths[0]} {link.first_step:g}"


def _far_site(terminal: Terminal) -> str | None:
    row = terminal.link.rows[0]
    return row.site if terminal.end else row.to_site


class Setup:
    """The column of one terminal."""

    def __init__(self, card: Card, terminal: Terminal):
        self.card, self.terminal, self.link = card, terminal, terminal.link
        self.end, self.index = terminal.end, terminal.link.index
        self.row = terminal.link.rows[0]
        self.radio = card.evaluation.radio
        self.hops = self.radio.hops
        #: what this end sends
        self.way = self.hops.directions[2 * self.index + self.end]
        self.own = self.way.sender

    @property
    def hub(self) -> Hub | None:
        """The hub that this terminal is, None where it serves one hop alone."""
        return None if self.end else self.hops.hubs.shared(self.index)

    def hub_text(self, hub: Hub) -> str:
        """What is done once for the antenna that several hops share."""
        axis = float(self.hops.hubs.axis_deg[self.index])
        site, said = self.card.site, "its antenna serves all directions"
        if is_known(axis):
            said = f"point its antenna once, to {axis:.1f}° true"
            if site is not None and site.declination_deg is not None:
                magnetic = magnetic_azimuth_deg(
                    azimuth_deg=axis, declination_deg=site.declination_deg
                )
                said += f" ({float(magnetic):.1f}° magnetic)"
            said += ", not at one far end"
        return (
            f"{hub.label} is one terminal for {len(hub.hops)} hops: {said}. The azimuths above tell "
            "where its far ends lie; the EIRP is that on its axis."
        )

    def lines(self) -> list[tuple[str, str, SheetCell]]:
        """What, unit, value."""
        row, height = self.row, self.own.typed("height_m")
        return [
            ("Antenna", "", self._text(self._antenna() or "built in")),
            ("Antenna above ground", "m", self._at_end("above_m", height, 1)),
            ("Azimuth, true", "°", self._at_end("azimuth_deg", self.azimuth_deg(), 1)),
            (self._magnetic_label(), "°", self._magnetic()),
            ("Tilt, up positive", "°", self._at_end("tilt_deg", self.tilt_deg(), 1)),
            ("Polarization", "", self._text(row.polarization or "not given")),
            ("Keep clear in front", "m", self._keep_away()),
            ("Channel width", "MHz", self._number(self.hops.channel_mhz[self.index])),
            ("Transmits on, centre", "GHz", self._sent("frequency_ghz", 4)),
            ("Receives on, centre", "GHz", self._heard("frequency_ghz", 4)),
            ("Power, all chains", "dBm", self._sent("tx_power_dbm", 1)),
            ("EIRP, strongest mode", "dBm", self._sent("eirp_dbm", 1)),
            ("Mode in use, transmitting", "", self._mode()),
        ]

    def reference_text(self) -> str:
        """What the aim is checked against: another site of the design, and how to go about it."""
        return (
            f"first by compass clear of steel, then to the peak of the level. Reference: "
            f"{self._marks() or 'a far mark of known bearing'}."
        )

    def ground_text(self) -> str:
        """That the ground below the hop is from a file."""
        design = self.card.evaluation.design
        source = ground_source(terrain_of(self.link, self.row, design))
        return source and f"the ground below it is from {source}: look along the hop first."

    def _marks(self) -> str:
        """True bearings of other sites of the design, the farthest first."""
        site, far = self.card.site, _far_site(self.terminal)
        sites = self.card.evaluation.design.sites.values()
        if site is None or site.latitude is None or site.longitude is None:
            return ""
        others = [
            other
            for other in sites
            if other.site not in (site.site, far)
            and other.latitude is not None
            and other.longitude is not None
        ]
        if not others:
            return ""
        found = geodesic(
            latitude1=site.latitude,
            longitude1=site.longitude,
            latitude2=[other.latitude for other in others],
            longitude2=[other.longitude for other in others],
        )
        marks = sorted(
            zip(found.distance_km.tolist(), found.azimuth_deg.tolist(), others, strict=True),
            key=lambda mark: -mark[0],
        )
        shown: list[tuple[float, float, Any]] = []
        for km, azimuth, other in marks:
            apart = [abs((azimuth - seen + 180) % 360 - 180) for _, seen, _ in shown]
            if km >= _NEAREST_MARK_KM and min(apart, default=180.0) >= _ONE_DIRECTION_DEG:
                shown.append((km, azimuth, other))
        return ", ".join(
            f"{other.site} at {azimuth:.1f}° true, {km:.2f} km"
            for km, azimuth, other in shown[:_MARKS]
        )

    def key(self, name: str) -> str:
        return self.card.key(f"{self.terminal.name}.{name}")

    def azimuth_deg(self) -> float:
        return float((self.hops.to_azimuth_deg if self.end else self.hops.azimuth_deg)[self.index])

    def beamwidth_deg(self) -> float:
        return float(self.hops.beamwidth_deg[self.index, self.end])

    def tilt_deg(self) -> float:
        return float(self.radio.hop_values["to_tilt_deg" if self.end else "tilt_deg"][self.index])

    def value(self, term: str, *, heard: bool) -> float:
        way = self.way.back if heard else self.way.place
        return float(self.radio.values[term][way])

    def _antenna(self) -> str | None:
        return self.own.antenna.part if self.own.antenna else None

    def _text(self, text: str) -> SheetCell:
        return Text(text, "card text")

    def _number(self, value: Any) -> SheetCell:
        if not is_known(value):
            return Text(NOT_KNOWN, "card text")
        return Number(float(value), format="General", style="card value")

    def _sent(self, term: str, digits: int) -> SheetCell:
        key = self.key(f"sent.{term}")
        cell = self._figure(
            f"{self.terminal.sends}.{term}", key, self.value(term, heard=False), digits
        )
        return self._if_it_may_be_set(cell) if term in SET_ON_SITE else cell

    def _if_it_may_be_set(self, cell: SheetCell) -> SheetCell:
        """The figure while the hop does not fail: what must not be built is not set, either."""
        plan = self.card.plan
        verdict, word = plan.link_verdicts.get(
            self.link.key, ("", plan.evaluation.use_verdict(self.link.uses[0]))
        )
        fails = word == FAIL
        if isinstance(cell, Calc) and verdict:
            formula = f'IF({{{verdict}}}="{FAIL}","{SETTLE}",{cell.formula})'
            return cell._replace(formula=formula, value=SETTLE if fails else cell.value)
        if fails and isinstance(cell, Number | Calc):
            return Calc(cell.key, f'"{SETTLE}"', SETTLE, style=cell.style)
        return cell

    def _heard(self, term: str, digits: int) -> SheetCell:
        return self._figure(
            f"{self.terminal.hears}.{term}",
            self.key(f"heard.{term}"),
            self.value(term, heard=True),
            digits,
        )

    def _at_end(self, name: str, value: Any, digits: int) -> SheetCell:
        return self._figure(f"{self.terminal.sends}.{name}", self.key(name), value, digits)

    def _magnetic(self) -> SheetCell:
        """True less the declination of the site; without one, to be filled in on the day."""
        site, azimuth = self.card.site, self.azimuth_deg()
        if site is None or site.declination_deg is None or not is_known(azimuth):
            return ToFill(
                self.key("magnetic_azimuth_deg"),
                style="card fill",
                note="true azimuth less the declination of the day, east positive",
            )
        value = float(
            magnetic_azimuth_deg(azimuth_deg=azimuth, declination_deg=site.declination_deg)
        )
        return self._at_end("magnetic_azimuth_deg", value, 1)

    def _magnetic_label(self) -> str:
        declination = self.card.site.declination_deg if self.card.site else None
        if declination is None:
            return "Magnetic, of the day"
        return f"Magnetic, declination {declination:g}°"

    def _mode(self) -> SheetCell:
        place = int(self.card.evaluation.performance.hops.mode[self.way.place])
        if place < 0 or not is_known(float(self.radio.modes["margin_db"][place])):
            return Text(NOT_KNOWN, "card text")
        name = self.radio.modes["name"][place]
        cell = self._figure(f"{self.terminal.sends}.mode_at_target", self.key("mode"), name)
        return self._if_it_may_be_set(cell._replace(format=""))

    def _keep_away(self) -> SheetCell:
        terms = ("eirp_dbm", "frequency_ghz")
        values = {term: self.value(term, heard=False) for term in terms}
        key = self.key("keep_away_m")
        if self.card.is_live(self.link):
            refs = {term: f"{self.terminal.sends}.{term}" for term in terms}
            cell = formula_cell(keep_away_m, key, refs, values, digits=1)
        else:
            cell = self._figure("", key, float(keep_away_m(**values)), 1)
        return cell._replace(style="card text" if isinstance(cell, Text) else "card value")

    def _figure(self, source: str, key: str, value: Any, digits: int = 2) -> SheetCell:
        """A figure of the hop: live where its sheet has it, words where it is not known."""
        if not is_known(value):
            return Text(NOT_KNOWN, "card text", key=key)
        shown = "" if isinstance(value, str) else number_format(digits)
        if source and self.card.is_live(self.link):
            return Calc(key, f"{{{source}}}", _plain(value), format=shown, style="card value")
        return Number(_plain(value), key=key, format=shown, style="card value")

    def water_text(self) -> str:
        """What the water does to the level, in words; "" for a hop that is not over water."""
        reflection, index = self.radio.reflection, self.index
        if reflection.unknown[index]:
            return (
                f"over water, and the reflection off the water is not known "
                f"({reflection.unknown[index]}). The level expected is without it."
            )
        if not reflection.mirrored[index]:
            return ""
        body = self.hops.ground.bodies[reflection.body[index]]
        return (
            f"over water the level moves by "
            f"-{float(reflection.loss_db[index]):.1f} to at most +6.0 dB between {body.lowest_m:g} and "
            f"{body.high_m:g} m of {body.title}, lowest at {float(reflection.at_water_m[index]):.2f} m. "
            "Read the water level with the level."
        )


def _plain(value: Any) -> Any:
    return value.item() if isinstance(value, np.generic | np.ndarray) else value
