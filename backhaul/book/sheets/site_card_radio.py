"""Site cards, radio: set-up of each terminal, water and distance to keep in words."""

from typing import Any

import numpy as np

from backhaul.book.formula_cells import NOT_KNOWN
from backhaul.book.sheets.shared import is_known
from backhaul.book.sheets.site_card import Card
from backhaul.book.sheets.site_index import Terminal
from backhaul.budgets.hubs import Hub
from backhaul.path.links import Link
from backhaul.physics import exposure
from backhaul.physics.geometry import magnetic_azimuth_deg
from backhaul.spreadsheet.cells import Head, Number, SheetCell, Text

_ABREAST = 3  # terminals that stand side by side


def keep_away_m(*, eirp_dbm, frequency_ghz):
    """Distance in front of an antenna at which the level for the public is met [m].

    The stricter of ICNIRP 2020 and 47 CFR 1.1310; far field.

    >>> print(keep_away_m(eirp_dbm=53.0, frequency_ghz=5.8))
    1.260
    """
    limit = np.minimum(
        exposure.icnirp_public_w_m2(frequency_ghz=frequency_ghz),
        exposure.cfr_public_w_m2(frequency_ghz=frequency_ghz),
    )
    return exposure.compliance_distance_m(eirp_dbm=eirp_dbm, limit_w_m2=limit)


def write_setup(card: Card, terminals: list[Terminal]) -> None:
    """Set-up of each terminal, some side by side."""
    for first in range(0, len(terminals), _ABREAST):
        _setup_table(card, terminals[first : first + _ABREAST])
    told: set[str] = set()
    for setup in (Setup(card, terminal) for terminal in terminals):
        if setup.hub is not None and setup.hub.label not in told:
            told.add(setup.hub.label)
            card.sheet.row(Text(setup.hub_text(), "caution", card.sheet.width))


def _setup_table(card: Card, terminals: list[Terminal]) -> None:
    tables = [Setup(card, terminal) for terminal in terminals]
    card.section(
        "Radio set-up",
        "Terminal",
        "How",
        *(
            Head(f"{hop_name(t.link)} to {_far_site(t) or 'far end'}", "head right", 2)
            for t in terminals
        ),
        whole=True,
    )
    for line in zip(*(table.lines() for table in tables), strict=True):
        what, how, unit, _ = line[0]
        label = f"{what}, {unit}" if unit else what
        cells = (cell._replace(span=2) for *_, cell in line)
        card.sheet.row(label, Text(how, "text small"), *cells)
    for table in tables:
        text = table.water_text()
        if text:
            card.sheet.row(Text(text, "caution", card.sheet.width))


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
        number = int(self.hops.hubs.number[self.index]) if not self.end else -1
        hub = self.hops.hubs.all[number] if number >= 0 else None
        return hub if hub is not None and len(hub.hops) > 1 else None

    def hub_text(self) -> str:
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
            said += ", and no far end by itself"
        return (
            f"{self.hub.label} is one terminal for {len(self.hub.hops)} hops: {said}. The azimuths "
            "above tell where its far ends lie; EIRP holds on its axis."
        )

    def lines(self) -> list[tuple[str, str, str, SheetCell]]:
        """What, how, unit, value."""
        row, height = self.row, self.own.typed("height_m")
        return [
            ("Antenna", "", "", self._text(self._antenna() or "built in")),
            ("Channel width", "", "MHz", self._number(self.hops.channel_mhz[self.index])),
            ("Transmits on", "channel centre", "GHz", self._sent("frequency_ghz", 4)),
            ("Receives on", "channel centre", "GHz", self._heard("frequency_ghz", 4)),
            ("Polarization", "", "", self._text(row.polarization or "not given")),
            (
                "Transmit power",
                "all chains together, strongest mode",
                "dBm",
                self._sent("tx_power_dbm", 1),
            ),
            ("EIRP", "strongest mode", "dBm", self._sent("eirp_dbm", 1)),
            ("Antenna above ground", "", "m", self._at_end("above_m", height, 1)),
            (
                "Azimuth, true",
                "from geographic north, geodesic",
                "°",
                self._at_end("azimuth_deg", self.azimuth_deg(), 2),
            ),
            ("Azimuth, magnetic", "true less declination, east positive", "°", self._magnetic()),
            ("Tilt, up positive", "straight line over the curved earth", "°", self._tilt()),
            ("Mode in use", "that holds the target, sending", "", self._mode()),
            (
                "Level expected here",
                "all chains together, without the mirror of water, strongest mode",
                "dBm",
                self._heard("received_dbm", 1),
            ),
            (
                "Level of a chain",
                "what a terminal shows for each of its chains",
                "dBm",
                self._heard("received_chain_dbm", 1),
            ),
            (
                "Deepest fade over water",
                "calm water, range of levels and of k",
                "dB",
                self._heard("reflection_loss_db", 1),
            ),
            (
                "Keep away, in front",
                "level for the public: ICNIRP 2020, 47 CFR 1.1310",
                "m",
                self._keep_away(),
            ),
        ]

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
        return Text(text, "text right")

    def _number(self, value: Any) -> SheetCell:
        if not is_known(value):
            return Text(NOT_KNOWN, "text right")
        return Number(float(value), format="General")

    def _sent(self, term: str, digits: int) -> SheetCell:
        return self.card.figure(
            self.link,
            f"{self.terminal.sends}.{term}",
            self.key(f"sent.{term}"),
            self.value(term, heard=False),
            digits,
        )

    def _heard(self, term: str, digits: int) -> SheetCell:
        return self.card.figure(
            self.link,
            f"{self.terminal.hears}.{term}",
            self.key(f"heard.{term}"),
            self.value(term, heard=True),
            digits,
        )

    def _at_end(self, name: str, value: Any, digits: int) -> SheetCell:
        return self.card.figure(
            self.link, f"{self.terminal.sends}.{name}", self.key(name), value, digits
        )

    def _tilt(self) -> SheetCell:
        return self._at_end("tilt_deg", self.tilt_deg(), 2)

    def _magnetic(self) -> SheetCell:
        site, azimuth = self.card.site, self.azimuth_deg()
        if site is None or site.declination_deg is None or not is_known(azimuth):
            return Text("no declination", "text right")
        value = float(
            magnetic_azimuth_deg(azimuth_deg=azimuth, declination_deg=site.declination_deg)
        )
        return self._at_end("magnetic_azimuth_deg", value, 2)

    def _mode(self) -> SheetCell:
        place = int(self.card.evaluation.performance.hops.mode[self.way.place])
        if place < 0:
            return Text(NOT_KNOWN, "text right")
        name = self.radio.modes["name"][place]
        cell = self.card.figure(
            self.link, f"{self.terminal.sends}.mode_at_target", self.key("mode"), name
        )
        return cell._replace(format="", style="calc")

    def _keep_away(self) -> SheetCell:
        terms = ("eirp_dbm", "frequency_ghz")
        return self.card.computed(
            self.link,
            keep_away_m,
            self.key("keep_away_m"),
            {term: f"{self.terminal.sends}.{term}" for term in terms},
            {term: self.value(term, heard=False) for term in terms},
            digits=1,
        )

    def water_text(self) -> str:
        """At what water the level holds, in words; "" for a hop that is not over water."""
        reflection, index = self.radio.reflection, self.index
        hop = hop_name(self.link)
        if reflection.unknown[index]:
            return (
                f"{hop}: over water, and what the water's mirror does is not known "
                f"({reflection.unknown[index]}). The level expected is without it."
            )
        if not reflection.mirrored[index]:
            return ""
        body = self.hops.ground.bodies[reflection.body[index]]
        return (
            f"{hop}: expected without the mirror; over water the level moves by "
            f"-{float(reflection.loss_db[index]):.1f} to at most +6.0 dB between {body.lowest_m:g} and "
            f"{body.high_m:g} m of {body.title}, lowest at {float(reflection.at_water_m[index]):.2f} m. Note the water "
            "level with the reading; read again at another."
        )
