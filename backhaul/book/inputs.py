"""Every input of the book stands once, on the Inputs sheet; other sheets refer to it by key."""

from typing import Any, NamedTuple

from backhaul.book.keys import safe
from backhaul.catalog.families import FAMILIES
from backhaul.figures.terms import lowered_label
from backhaul.path.ends import MODES, POE_CLASS, PORTS, PROJECT, SITES
from backhaul.tables.column import NUMBER


class BookInput(NamedTuple):
    """One input: what it is, its figure and unit, where it comes from."""

    key: str
    group: str
    label: str
    value: float | int | str
    unit: str = ""
    source: str = ""
    where: str = ""


#: Families of which every figure may be offered.
_WHOLE = ("radios", "antennas", "devices", "ports", "coppers", "feeds", "protectors")
#: Figures that a supplier's data sheet may replace on Alternatives: ends of names by family.
OFFERED = {
    "optics": (
        "launch_min_dbm",
        "launch_max_dbm",
        "sensitivity_dbm",
        "overload_dbm",
        "penalty_db",
        "max_dispersion_ps_nm",
        ".watts",
    ),
    "fibers": (
        "attenuation_max_db_per_km",
        "attenuation_mean_db_per_km",
        "attenuation_min_db_per_km",
    ),
    "joints": (".max_db", ".min_db", ".typical_db"),
    "optic_reach": ("channel_loss_max_db",),
    "radio_modes": (".rate_mbps", ".sensitivity_dbm", ".tx_power_dbm"),
    **{
        family.name: tuple(f".{column.name}" for column in family.columns if column.type == NUMBER)
        for family in FAMILIES
        if family.name in _WHOLE
    },
}
OFFERED["radios"] += (".chains",)


def row_key(row: Any, column: str) -> str:
    """Key of a figure of a row; rows with one label are one thing and share it.

    >>> from backhaul.design.model import Segment
    >>> row_key(Segment(("P1",), 3, "fiber", label="C1", id=7), "length_m")
    'given.label.C1.length_m'
    """
    name = safe(row.label) if row.label else ""
    return f"given.label.{name}.{column}" if name else f"given.row.{row.id}.{column}"


def mode_key(mode: Any, column: str) -> str:
    """End of the key of a figure of a radio's mode, which its channel and name tell apart."""
    return f"{mode.channel_mhz:g}.{safe(mode.mode)}.{column}"


def _has_figure(value: Any) -> bool:
    return value is not None and value == value


class Inputs:
    """Collects inputs while the sheets are laid out; the same key stands once.

    A figure that an offer may replace is referred to by the key of what is in use,
    `eff.optics.{part}.launch_min_dbm` for `given.optics.{part}.launch_min_dbm`.
    """

    def __init__(self) -> None:
        self.rows: dict[str, BookInput] = {}
        #: keys of inputs whose figure in use stands on Alternatives
        self.replaced: set[str] = set()

    @staticmethod
    def in_use(key: str) -> str:
        """Key of the cell that holds what the book uses of an input.

        >>> Inputs.in_use("given.optics.sx.sensitivity_dbm"), Inputs.in_use("given.row.3.count")
        ('eff.optics.sx.sensitivity_dbm', 'given.row.3.count')
        """
        family, _, name = key.removeprefix("given.").partition(".")
        if name.endswith(OFFERED.get(family, ())):
            return "eff." + key.removeprefix("given.")
        return key

    def key_on_sheet(self, key: str) -> str:
        """Key that the input bears on Inputs: that of the figure in use, unless an offer may
        replace it."""
        return key if key in self.replaced else self.in_use(key)

    def add(
        self,
        key: str,
        *,
        group: str,
        label: str,
        value: Any,
        unit: str = "",
        source: str = "",
        where: str = "",
    ) -> str | None:
        """Register an input; returns the key of what is in use, None where there is no figure."""
        if key in self.rows:
            return self.in_use(key)
        if value is None or (isinstance(value, float) and value != value):
            return None
        self.rows[key] = BookInput(key, group, label, value, unit, source, where)
        return self.in_use(key)

    def groups(self) -> dict[str, list[BookInput]]:
        """Inputs by group, in the order in which the sheets asked for them."""
        groups: dict[str, list[BookInput]] = {}
        for given in self.rows.values():
            groups.setdefault(given.group, []).append(given)
        return groups

    def of(self, given: Any, subject: Any) -> str | None:
        """The yellow cell of a declared `Input`, for one subject; None where there is no figure."""
        place = given.place(subject)
        value = None if place is None else given.read(subject)
        if place is None or not _has_figure(value):
            return None
        at = given.at(subject) if given.at else ""
        label = lowered_label(given) + (f", {at}" if at else "")
        if not place.family:
            source = given.source if place.read() is None else ""
            return self.row(place.record, place.column, label, given.unit, value, source)
        if place.family == PROJECT:
            if place.read() is None:
                return self.rule(f"{place.column}.{at}", label, given.unit, value, given.source)
            plain = lowered_label(given)
            return self.setting(place.record, place.column, plain, given.unit)
        if place.family == POE_CLASS:
            return None  # a figure of the standard is no input
        if place.family == SITES:
            return self.site(place.record, place.column, label, given.unit)
        key = f"{at}.{place.column}" if at else ""
        if place.family == PORTS:
            key, label = f"{place.record.port}.{place.column}", f"port {place.record.port}, {label}"
        if place.family == MODES:
            key = mode_key(place.record, place.column)
        return self.part(place.family, place.record, place.column, label, given.unit, value, key)

    def rule(self, key: str, label: str, unit: str, value: Any, source: str) -> str | None:
        """What a blank setting means, where that hangs on the link."""
        return self.add(
            f"given.rule.{key}",
            group="Rules",
            label=label,
            value=value,
            unit=unit,
            source=source,
        )

    def site(self, site: Any, column: str, label: str, unit: str) -> str | None:
        """A figure of a site, None where it is none of the design's."""
        if site is None:
            return None
        return self.add(
            f"given.site.{safe(site.site)}.{column}",
            group="Sites",
            label=f"{site.site}: {label}",
            value=getattr(site, column),
            unit=unit,
            source=site.at(column),
            where=site.at(column),
        )

    def project(self, evaluation: Any, setting: str, label: str, unit: str) -> str | None:
        """A setting of the design."""
        return self.setting(evaluation.design.project, setting, label, unit)

    def setting(self, project: Any, setting: str, label: str, unit: str) -> str | None:
        """The same, of the project's record."""
        typed = setting in project.typed
        return self.add(
            f"given.project.{setting}",
            group="Project",
            label=label,
            value=getattr(project, setting),
            unit=unit,
            source="typed in the design" if typed else "default of the tool",
            where=project.at(setting) if typed else "",
        )

    def row(
        self, row: Any, column: str, label: str, unit: str, value: Any = None, source: str = ""
    ) -> str | None:
        """A figure of a segment row; source: where the figure of a blank cell comes from."""
        value = getattr(row, column) if value is None else value
        return self.add(
            row_key(row, column),
            group="Segments",
            label=f"{row.path[0]} step {row.step:g} {row.part}: {label}",
            value=value,
            unit=unit,
            source=source or row.at(column),
            where=row.at(column),
        )

    def part(
        self,
        family: str,
        record: Any,
        name: str,
        label: str,
        unit: str,
        value: Any = None,
        key: str = "",
    ) -> str | None:
        """A figure of a part of the catalogues."""
        value = getattr(record, name) if value is None else value
        return self.add(
            f"given.{family}.{record.part}.{key or name}",
            group="Parts",
            label=f"{record.part}: {label}",
            value=value,
            unit=unit,
            source=f"{record.source} ({record.basis})",
            where=f"catalogs/{family}.csv",
        )
