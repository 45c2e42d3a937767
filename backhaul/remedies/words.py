"""Edits as a sentence of the trade, written from the edits alone."""

from collections.abc import Sequence
from typing import Any

from backhaul.design.edits import INSERT, REMOVE, Edit, written
from backhaul.design.kinds import KINDS
from backhaul.remedies.tolerance import tolerance_of
from backhaul.wording import named, steps_text

_UNITS = {
    "_m": "m",
    "_dbm": "dBm",
    "_db": "dB",
    "_ghz": "GHz",
    "_mhz": "MHz",
    "_percent": "%",
    "_c": "°C",
}
_NAMES = {
    "to_part": "far terminal",
    "height_m": "first antenna",
    "to_height_m": "far antenna",
    "antenna": "antenna",  # also of the far end where that names none
    "to_antenna": "far antenna",
    "tx_power_dbm": "power",
    "frequency_ghz": "frequency",
    "to_frequency_ghz": "far frequency",
    "channel_mhz": "channel",
    "strand": "strands",
    "port": "port",
    "to_port": "far port",
    "length_m": "length",
    "diversity_m": "a second antenna at the first end",
    "route": "route",
    "to_diversity_m": "a second antenna at the far end",
}


def sentence(edits: Sequence[Edit], *, sites: bool = True) -> str:
    """All edits of one remedy, what is done alike at several places once.

    sites: whether the site of a row that is put in is named.

    >>> from backhaul.design.edits import SET
    >>> sentence([Edit("segments", SET, {"path": "mast", "step": 4}, "part", "1000base-zx",
    ...                "1000base-lx10")])
    'fit 1000base-lx10 in place of 1000base-zx (mast step 4)'
    >>> sentence([Edit("segments", SET, {"path": "a", "step": 3}, "channel_mhz", 20, 40, hub="H")])
    'channel 40 MHz, now 20 MHz (all hops of H)'
    """
    places: dict[str, list[tuple]] = {}
    for edit in edits:
        place = (edit.key.get("path"), edit.key.get("step"))
        if edit.hub:
            place = (f"all hops of {edit.hub}", None)
        places.setdefault(_said(edit, sites), []).append(place)
    return "; ".join(f"{said} {_at(found)}".rstrip() for said, found in places.items())


def _at(places: list[tuple]) -> str:
    """Where, in brackets; nothing of a project's settings."""
    words = steps_text(place for place in places if place[0])
    return f"({words})" if words else ""


def _said(edit: Edit, sites: bool) -> str:
    if edit.action == INSERT:
        row = edit.row
        count = row.get("count")
        many = f"{count} × " if count and count > 1 else ""
        title = KINDS[row["kind"]].name
        where = f" at {row['site']}" if sites and row.get("site") else ""
        return f"add {many}{named(title, row['part'])}{where}"
    if edit.action == REMOVE:
        return "take the row out"
    if edit.column == "part":
        return f"fit {edit.to} in place of {edit.before}"
    if edit.to is None:
        return f"leave {edit.column} blank"
    if edit.column in ("height_m", "to_height_m"):
        change = edit.to - edit.before
        verb = "raise" if change > 0 else "lower"
        height = f"{edit.to:.10g} m ± {tolerance_of(edit):g} m"
        return f"{verb} the {_NAMES[edit.column]} by {abs(change):.10g} m to {height}"
    if edit.column in ("diversity_m", "to_diversity_m"):
        if edit.to is None:
            return f"leave out {_NAMES[edit.column].removeprefix('a ')}".replace(
                "second", "the second"
            )
        side = "above" if edit.to > 0 else "below"
        return f"{_NAMES[edit.column]}, {abs(edit.to):.10g} m {side} the other"
    name = _NAMES.get(edit.column, edit.column)
    return f"{name} {_figure(edit.column, edit.to)}, now {_figure(edit.column, edit.before)}"


def _figure(column: str, value: Any) -> str:
    if value is None:
        return "blank"
    if not isinstance(value, (int, float)):
        return str(written(value))
    unit = next((unit for tail, unit in _UNITS.items() if column.endswith(tail)), "")
    digits = ".10g" if unit == "m" else "g"  # a length may be a round one of feet
    return f"{value:{digits}} {unit}".strip()
