"""Ends of links: of a hop, two that send to each other; of a line of power, a source and its loads."""

from typing import Any, NamedTuple

from backhaul.design.kinds import KINDS
from backhaul.design.model import Segment
from backhaul.path.equipment import Equipment
from backhaul.path.links import Link

FAR_PREFIX = "to_"
FDD, TDD = "FDD", "TDD"
RADIOS, ANTENNAS, MODES, SITES = "radios", "antennas", "radio_modes", "sites"
PORTS, POE_CLASS = "ports", "poe_classes"
PROJECT = "project"
#: An antenna that is built in stands among the radio's own figures, under these names.
_BUILT_IN = {"gain_dbi": "antenna_dbi", "beamwidth_deg": "beamwidth_deg"}


class Place(NamedTuple):
    """Where a figure stands: a record, its column, and the family of catalogue parts that the
    record is of ("" for a row of segments)."""

    record: Any
    column: str
    family: str = ""

    def read(self) -> Any:
        return getattr(self.record, self.column)


class HopEnd(NamedTuple):
    """One end of a hop; `antenna` is None where it is built in, `site` where it is not known."""

    is_far: bool
    row: Segment
    site: Any
    radio: Any
    antenna: Any

    @property
    def number(self) -> int:
        """Place among the two ends, and among the columns of arrays over ends."""
        return int(self.is_far)

    @property
    def letter(self) -> str:
        """Short name in keys of cells."""
        return "b" if self.is_far else "a"

    @property
    def site_name(self) -> str | None:
        return self.row.to_site if self.is_far else self.row.site

    @property
    def name(self) -> str:
        """How a message calls it."""
        return self.site_name or ("far end" if self.is_far else "first end")

    def column(self, name: str) -> str:
        """Column of the row that holds a figure of this end.

        >>> end = HopEnd(True, Segment(("P",), 1, "radio"), None, None, None)
        >>> end.column("height_m")
        'to_height_m'
        """
        return FAR_PREFIX + name if self.is_far else name

    def typed(self, name: str) -> Any:
        """What the row says of this end."""
        return getattr(self.row, self.column(name))

    @property
    def has_own_antenna(self) -> bool:
        """Whether the radio's antenna is built in: then it has no connector for another."""
        return self.radio.antenna_dbi is not None

    @property
    def takes_second_antenna(self) -> bool:
        """Whether a second antenna has a connector for each of the radio's chains left."""
        return not self.has_own_antenna and antenna_ports(self.radio) >= 2 * self.radio.chains

    def antenna_place(self, name: str) -> Place | None:
        """Where a figure of the antenna stands: with its own part, else with the radio's."""
        if self.antenna is not None:
            return Place(self.antenna, name, ANTENNAS)
        return Place(self.radio, _BUILT_IN[name], RADIOS) if name in _BUILT_IN else None

    def antenna_figure(self, name: str) -> float | None:
        """Gain, beamwidth or diameter of the antenna, None where it is not known."""
        place = self.antenna_place(name)
        return None if place is None else place.read()

    def radio_place(self, name: str) -> Place:
        """Where a figure of the radio stands."""
        return Place(self.radio, name, RADIOS)

    def site_place(self, name: str) -> Place | None:
        """Where a figure of the site stands."""
        return None if self.site is None else Place(self.site, name, SITES)


class HopDirection(NamedTuple):
    """One way of a hop: what `sender` sends and `receiver` hears.

    place: in the arrays over directions; back: place of the other way.
    """

    place: int
    back: int
    link: Link
    sender: HopEnd
    receiver: HopEnd
    project: Any

    @property
    def hop(self) -> int:
        """Place of the hop in the arrays over hops."""
        return self.link.index

    @property
    def row(self) -> Segment:
        return self.sender.row

    @property
    def near(self) -> HopEnd:
        """The hop's first end."""
        return self.receiver if self.sender.is_far else self.sender

    @property
    def frequency_column(self) -> str:
        """Column of the frequency that is sent: a blank far one is as at the first end.

        The halves of a frequency-division pair, both blank, each have their own.
        """
        row = self.row
        own = row.to_frequency_ghz is not None or (
            row.frequency_ghz is None and self.near.radio.duplex == FDD
        )
        return self.sender.column("frequency_ghz") if own else "frequency_ghz"

    FAMILIES = {"project": PROJECT}

    def end_of(self, column: str) -> HopEnd:
        """The end that a column of the row is about."""
        return next(
            end
            for end in (self.sender, self.receiver)
            if end.is_far == column.startswith(FAR_PREFIX)
        )

    @property
    def from_site(self) -> str:
        """The sending end, as a message adds it."""
        return f", from {self.sender.site_name}" if self.sender.site_name else ""


class ModeOfDirection(NamedTuple):
    """A mode of one direction: as the sender has it, and as the receiver hears it."""

    sender: Any
    sent: Any
    heard: Any


def antenna_ports(radio: Any) -> int:
    """Connectors for antennas; blank: one a chain, and of a single chain one more for diversity."""
    return radio.antenna_ports or max(radio.chains, 2)


def near_antenna(row: Segment, catalog: Any) -> str | None:
    """Antenna at the first end, None where it is built in: another has no connector there."""
    return None if catalog.radios[row.part].antenna_dbi is not None else row.antenna


def far_antenna(row: Segment, catalog: Any) -> str | None:
    """Antenna at the far end, None where it is built in; a blank is as at the first end."""
    far = catalog.radios[row.to_part or row.part]
    return None if far.antenna_dbi is not None else row.to_antenna or row.antenna


def hop_ends(row: Segment, sites: Any, catalog: Any) -> tuple[HopEnd, HopEnd]:
    """Both ends of a hop; a blank far radio or antenna is as at the first end (`far_antenna`)."""
    antennas = (near_antenna(row, catalog), far_antenna(row, catalog))
    radios = (row.part, row.to_part or row.part)
    near, far = (
        HopEnd(
            is_far,
            row,
            sites.get(row.to_site if is_far else row.site),
            catalog.radios[radios[is_far]],
            catalog.antennas[antennas[is_far]] if antennas[is_far] else None,
        )
        for is_far in (False, True)
    )
    return near, far


def hop_directions(
    link: Link, number: int, ends: tuple[HopEnd, HopEnd], project: Any
) -> tuple[HopDirection, HopDirection]:
    """Both ways of the hop of that number."""
    near, far = ends
    there, back = 2 * number, 2 * number + 1
    return (
        HopDirection(there, back, link, near, far, project),
        HopDirection(back, there, link, far, near, project),
    )


class PowerEnd(NamedTuple):
    """One end of a line of power: the equipment, and the port that it goes through, if any."""

    equipment: Equipment
    port: Any = None

    @property
    def record(self) -> Any:
        return self.equipment.record

    def port_place(self, column: str) -> Place | None:
        """Where a figure of the port stands, None where it has none."""
        if self.port is None or getattr(self.port, column) is None:
            return None
        return Place(self.port, column, PORTS)

    def part_place(self, column: str) -> Place | None:
        """Where a figure of the device or radio stands, None where it has none."""
        if getattr(self.record, column, None) is None:
            return None
        return Place(self.record, column, KINDS[self.equipment.segment.kind].families[0])
