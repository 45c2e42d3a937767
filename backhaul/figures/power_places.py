"""Where the figures of a line of power stand: a port's own, else its device's, else its class's."""

from typing import Any

from backhaul.path.ends import POE_CLASS, Place, PowerEnd
from backhaul.physics.poe import POE_CLASSES


def _first(*places: Place | None) -> Place | None:
    return next((place for place in places if place is not None), None)


def class_place(end: PowerEnd, column: str) -> Place | None:
    """A figure of the class of IEEE 802.3 that a port has, None where it has none."""
    if end.port is None or end.port.poe_class not in POE_CLASSES:
        return None
    return Place(POE_CLASSES[end.port.poe_class], column, POE_CLASS)


def lowest_source_place(line: Any) -> Place | None:
    """Lowest voltage of a source.

    A PoE port without a voltage of its own makes the least of its class where its device is on
    the mains, else it has what its device is supplied with.
    """
    source = line.source
    if line.is_poe:
        return _first(source.port_place("volts"), _supplied_place(source))
    return _first(source.part_place("output_min_volts"), source.part_place("output_volts"))


def nominal_source_place(line: Any) -> Place | None:
    """Nominal voltage of a source; of PoE its lowest."""
    if line.is_poe:
        return lowest_source_place(line)
    return _first(line.source.part_place("output_volts"), lowest_source_place(line))


def _supplied_place(source: PowerEnd) -> Place | None:
    supplied = source.part_place("supply_volts")
    if getattr(source.record, "supply", None) != "AC" and supplied is not None:
        return supplied
    return _first(class_place(source, "source_min_v"), source.part_place("output_volts"))


def stated_max_place(line: Any) -> Place | None:
    """Highest voltage that a source states."""
    if line.is_poe:
        return line.source.port_place("max_volts")
    return line.source.part_place("output_max_volts")


def source_limit_place(line: Any) -> Place | None:
    """What a source port gives: its own limit, else its class; None for no limit."""
    return _first(line.source.port_place("watts"), class_place(line.source, "source_w"))


def own_need_place(load: Any) -> Place | None:
    """What a load takes itself: as its port says, else its part."""
    return _first(load.end.port_place("watts"), load.end.part_place("watts"))


def efficiency_place(load: Any) -> Place | None:
    return load.end.part_place("efficiency")


def charge_place(load: Any) -> Place | None:
    return load.end.part_place("charge_w")


def breaker_place(line: Any) -> Place | None:
    """Rating of the circuit that a feed begins at."""
    return None if line.is_poe else line.source.part_place("breaker_a")


def output_place(line: Any) -> Place | None:
    """Rated power of the source of a feed."""
    return None if line.is_poe else line.source.part_place("output_w")


def short_circuit_place(line: Any) -> Place | None:
    """What the source of a feed gives into a short, where it is stated."""
    return None if line.is_poe else line.source.part_place("short_circuit_a")


def least_place(load: Any) -> Place | None:
    """Lowest voltage that a load starts at: its port's, its class's, its part's."""
    end = load.end
    return _first(
        end.port_place("min_volts"),
        class_place(end, "load_min_v"),
        end.part_place("supply_min_volts"),
    )


def stands_place(load: Any) -> Place | None:
    """Highest voltage that a load stands, where it is stated."""
    end = load.end
    if end.port is None:
        return end.part_place("supply_max_volts")
    by_part = end.part_place("supply_max_volts") if end.record.supply == "PoE" else None
    return _first(end.port_place("max_volts"), by_part)


def load_nominal_place(load: Any) -> Place | None:
    """Nominal voltage of a load."""
    return _first(load.end.port_place("volts"), load.end.part_place("supply_volts"))
