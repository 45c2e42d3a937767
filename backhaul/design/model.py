"""A design as its writer meant it: frozen records whose attributes are the columns' names.

Records are made from the declarations of columns and settings. A blank cell is the column's
default, else None; what hangs on a link is settled where the link is known.
"""

from collections import namedtuple
from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from backhaul.design.change import changed_rows
from backhaul.design.columns import (
    ACCEPTED,
    DEMAND,
    EXTRAS,
    OUTDOOR_RISE_C,
    PATHS,
    READINGS,
    SEGMENTS,
    SITES,
    WATER_BODIES,
)
from backhaul.design.settings import SETTINGS
from backhaul.findings import Finding
from backhaul.tables.column import Column
from backhaul.tables.table import Table


def _record(name: str, columns: Sequence[Column], **more: Any) -> Any:
    """A named tuple with a field a column, and `more` fields with their defaults.

    The first columns that must be filled have no default.
    """
    fields = [column.attribute for column in columns]
    defaults = [column.default for column in columns]
    needed = 0
    while needed < len(columns) and columns[needed].required:
        needed += 1
    return namedtuple(name, (*fields, *more), defaults=(*defaults[needed:], *more.values()))


def _in_row(name: str, columns: Sequence[Column], **more: Any) -> Any:
    """A record that knows its row."""
    return _record(name, columns, **more, row=0, table=None)


class _Row:
    """A record that can name its cells."""

    __slots__ = ()
    row: int
    table: Table | None

    def at(self, column: str) -> str:
        """The cell of a column of this row."""
        if self.table is None:
            return f"{type(self).__name__.lower()}:{self.row} {column}"
        return self.table.cell(self.row, column)


class Project(
    _record("Project", SETTINGS, typed=frozenset(), table=None, rows={})  # type: ignore[misc]
):
    """Settings of the design; `typed` names those that the designer wrote."""

    __slots__ = ()

    def at(self, setting: str) -> str:
        """The cell of a setting."""
        if self.table is None or setting not in self.rows:
            return f"project {setting}"
        return self.table.cell(self.rows[setting], "value")


class Site(_Row, _in_row("Site", SITES)):  # type: ignore[misc]
    """A place; see `design/columns.py` for the units."""

    __slots__ = ()

    @property
    def rise_c(self) -> float:
        """Temperature inside the enclosure above ambient [K]."""
        if self.enclosure_rise_c is not None:
            return self.enclosure_rise_c
        return OUTDOOR_RISE_C if self.outdoor else 0.0


class Segment(_Row, _in_row("Segment", SEGMENTS, id=0)):  # type: ignore[misc]
    """One row of the segment table; `id` is its place in the design."""

    __slots__ = ()


class PathRow(_Row, _in_row("PathRow", PATHS)):  # type: ignore[misc]
    """A path's own row: its title, target and the path that it backs up."""

    __slots__ = ()


class Water(_Row, _in_row("Water", WATER_BODIES)):  # type: ignore[misc]
    """A body of water."""

    __slots__ = ()


class Terrain(NamedTuple):
    """The profile of one hop: arrays of one length, in order of distance from the first end.

    `ground_m` is NaN where a cell is blank; `surface` holds "land", "sea", "fresh" or the name
    of one of the design's waters. `source` and `error_m` tell of rows from an elevation file.
    """

    distance_m: Any
    ground_m: Any
    cover_m: Any
    surface: Any
    row: int = 0
    table: Table | None = None
    #: file that each level is from, None where it was typed
    source: tuple[str | None, ...] = ()
    #: row number of each in its table
    rows: tuple[int, ...] = ()
    #: vertical error of the files, NaN beside typed rows; None where all are
    error_m: Any = None

    @property
    def sources(self) -> tuple[str, ...]:
        """The elevation files that the profile is from, each once."""
        return tuple(dict.fromkeys(name for name in self.source if name))

    def at(self, column: str, place: int = 0) -> str:
        """The cell of one of its points; place: from 0, negative from the far end."""
        row = self.rows[place] if self.rows else self.row
        return self.table.cell(row, column) if self.table else f"terrain:{row} {column}"


class Accepted(_Row, _in_row("Accepted", ACCEPTED)):  # type: ignore[misc]
    """A finding that somebody answers for."""

    __slots__ = ()


class Reading(_Row, _in_row("Reading", READINGS)):  # type: ignore[misc]
    """What was measured at a site."""

    __slots__ = ()


class Demand(_Row, _in_row("Demand", DEMAND)):  # type: ignore[misc]
    """What a path carries."""

    __slots__ = ()


class Extra(_Row, _in_row("Extra", EXTRAS)):  # type: ignore[misc]
    """A thing for the order list."""

    __slots__ = ()


class Design(NamedTuple):
    """Everything that was read; `notes` are findings of the reading itself."""

    project: Project
    sites: Mapping[str, Site]
    segments: tuple[Segment, ...]
    paths: Mapping[str, PathRow]
    #: by ("label", label) or by (path, step)
    terrain: Mapping[tuple[str, Any], Terrain] = {}
    demand: tuple[Demand, ...] = ()
    extras: tuple[Extra, ...] = ()
    waters: Mapping[str, Water] = {}
    accepted: tuple[Accepted, ...] = ()
    readings: tuple[Reading, ...] = ()
    notes: tuple[Finding, ...] = ()
    digest: str = ""
    name: str = ""

    def changed(self, path: str, step: float, catalog: Any = None, **columns: Any) -> "Design":
        """The same design with other figures at one place, every row of that label with it.

        What is put in passes the reader's own checks; parts are looked up in `catalog`,
        without one among those of the design. Raises KeyError where no row stands at the step, InputError where a value cannot
        stand there. The digest stays that of what was read.
        """
        rows = changed_rows(self.segments, path, step, columns, self.sites, catalog)
        return self._replace(segments=rows)
