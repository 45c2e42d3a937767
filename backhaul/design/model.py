"""A design as its writer meant it: frozen records whose attributes are the columns' names.

A blank cell is None. Defaults that hold for every link stand in `Project`; those that depend on
a link are settled where the link is known.
"""

from collections.abc import Mapping
from typing import Any, NamedTuple

from backhaul.findings import Finding

OUTDOOR_RISE_C = 15.0  # rules of the project: sun-loaded cabinet, common practice 15 to 20 K


class Table(NamedTuple):
    """Where rows come from, so that a message can name the cell."""

    name: str
    file: str
    #: spreadsheet column letters by column name; None for a CSV
    letters: Mapping[str, str] | None = None

    def cell(self, row: int, column: str) -> str:
        """The cell as a designer would look for it.

        >>> Table("segments", "path.xlsx", {"part": "F"}).cell(7, "part")
        'segments!F7'
        >>> Table("segments", "segments.csv").cell(7, "part")
        'segments.csv:7 part'
        """
        if self.letters is None:
            return f"{self.file}:{row} {column}"
        return f"{self.name}!{self.letters.get(column, '')}{row}"


class Project(NamedTuple):
    """Settings of the design; `typed` names those that the designer wrote."""

    title: str | None = None
    client: str | None = None
    document: str | None = None
    revision: str | None = None
    date: str | None = None
    prepared_by: str | None = None
    checked_by: str | None = None
    approved_by: str | None = None
    status: str | None = None
    region: str | None = None
    currency: str | None = None
    optical_margin_db: float | None = None
    overload_margin_db: float = 0.0
    repair_allowance_db: float | None = None
    radio_margin_db: float = 10.0
    noise_rise_db: float = 0.0
    availability_percent: float = 99.9
    rate_headroom_percent: float = 30.0
    feed_drop_percent: float = 5.0
    spare_percent: float = 10.0
    cable_slack_percent: float = 5.0
    loop_m: float = 10.0
    supply_reserve_percent: float = 20.0
    sun_rise_c: float = 20.0
    autonomy_days: float = 3.0
    worst_k_factor: float | None = None
    water_low_m: float | None = None
    water_high_m: float | None = None
    wave_height_m: float = 0.0
    water: str | None = None
    typed: frozenset[str] = frozenset()
    table: Table | None = None
    rows: Mapping[str, int] = {}

    def at(self, setting: str) -> str:
        """The cell of a setting."""
        if self.table is None or setting not in self.rows:
            return f"project {setting}"
        return self.table.cell(self.rows[setting], "value")


class Site(NamedTuple):
    """A place; see `design/columns.py` for the units."""

    site: str
    latitude: float | None = None
    longitude: float | None = None
    ground_m: float | None = None
    ambient_min_c: float | None = None
    ambient_max_c: float | None = None
    enclosure_rise_c: float | None = None
    corrosivity: str | None = None
    outdoor: bool | None = None
    hazardous_area: str | None = None
    rain_rate_mm_h: float | None = None
    dn1: float | None = None
    roughness_m: float | None = None
    log_k: float | None = None
    dn75: float | None = None
    vapour_g_m3: float | None = None
    temperature_c: float | None = None
    pressure_hpa: float | None = None
    wind_m_s: float | None = None
    sway_deg: float | None = None
    declination_deg: float | None = None
    sun_hours: float | None = None
    row: int = 0
    table: Table | None = None

    def at(self, column: str) -> str:
        return self.table.cell(self.row, column) if self.table else f"sites {self.site} {column}"

    @property
    def rise_c(self) -> float:
        """Temperature inside the enclosure above ambient [K]."""
        if self.enclosure_rise_c is not None:
            return self.enclosure_rise_c
        return OUTDOOR_RISE_C if self.outdoor else 0.0


class Segment(NamedTuple):
    """One row of the segment table; `id` is its place in the design."""

    path: tuple[str, ...]
    step: float
    kind: str
    site: str | None = None
    to_site: str | None = None
    part: str = ""
    to_part: str | None = None
    port: str | None = None
    to_port: str | None = None
    length_m: float | None = None
    count: int | None = None
    strand: tuple[str, ...] = ()
    height_m: float | None = None
    to_height_m: float | None = None
    antenna: str | None = None
    to_antenna: str | None = None
    frequency_ghz: float | None = None
    to_frequency_ghz: float | None = None
    channel_mhz: float | None = None
    tx_power_dbm: float | None = None
    polarization: str | None = None
    eirp_limit_dbm: float | None = None
    up_share_percent: float | None = None
    extra_loss_db: float | None = None
    measured_db: float | None = None
    cable_temperature_c: float | None = None
    route: str | None = None
    by: str | None = None
    label: str | None = None
    note: str | None = None
    id: int = 0
    row: int = 0
    table: Table | None = None

    def at(self, column: str) -> str:
        """The cell of a column of this row."""
        return self.table.cell(self.row, column) if self.table else f"segments:{self.row} {column}"


class PathRow(NamedTuple):
    path: str
    title: str | None = None
    availability_percent: float | None = None
    backs_up: str | None = None
    note: str | None = None
    row: int = 0
    table: Table | None = None

    def at(self, column: str) -> str:
        return self.table.cell(self.row, column) if self.table else f"paths {self.path} {column}"


class Terrain(NamedTuple):
    """The profile of one hop: arrays of one length, in order of distance from the first end.

    `ground_m` is NaN where a cell is blank; `surface` holds "land", "sea", "fresh".
    """

    distance_m: Any
    ground_m: Any
    cover_m: Any
    surface: Any
    row: int = 0
    table: Table | None = None

    def at(self, column: str) -> str:
        return self.table.cell(self.row, column) if self.table else f"terrain:{self.row} {column}"


class Demand(NamedTuple):
    path: str
    what: str | None = None
    count: float = 1.0
    up_mbps: float = 0.0
    down_mbps: float = 0.0
    note: str | None = None
    row: int = 0
    table: Table | None = None

    def at(self, column: str) -> str:
        return self.table.cell(self.row, column) if self.table else f"demand {self.path} {column}"


class Extra(NamedTuple):
    site: str | None = None
    part: str | None = None
    description: str | None = None
    count: float = 1.0
    unit: str | None = None
    by: str | None = None
    note: str | None = None
    row: int = 0
    table: Table | None = None


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
    notes: tuple[Finding, ...] = ()
    digest: str = ""
    name: str = ""

    def changed(self, path: str, step: float, **columns: Any) -> "Design":
        """The same design with other figures in one row: for sweeps.

        Raises KeyError where no row stands at the step. The digest stays that of what was read.
        """
        rows = list(self.segments)
        for place, row in enumerate(rows):
            if path in row.path and row.step == step:
                rows[place] = row._replace(**columns)
                return self._replace(segments=tuple(rows))
        raise KeyError(f"path {path} has no step {step:g}")
