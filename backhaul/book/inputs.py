"""Every input of the book stands once, on the Givens sheet; other sheets refer to it by key."""

from typing import Any, NamedTuple

from backhaul.figures.terms import ROW, SUBJECT


class BookInput(NamedTuple):
    """One input: what it is, its figure and unit, where it comes from."""

    key: str
    group: str
    label: str
    value: float | int | str
    unit: str = ""
    source: str = ""
    where: str = ""


#: Figures that a supplier's data sheet may replace on Alternatives: ends of names by family.
OFFERED = {
    "optics": (
        "launch_min_dbm",
        "launch_max_dbm",
        "sensitivity_dbm",
        "overload_dbm",
        "penalty_db",
        "max_dispersion_ps_nm",
    ),
    "fibers": (
        "attenuation_max_db_per_km",
        "attenuation_mean_db_per_km",
        "attenuation_min_db_per_km",
    ),
    "radios": ("tx_power_dbm", "antenna_dbi"),
    "radio_modes": (".sensitivity_dbm", ".tx_power_dbm"),
    "antennas": ("gain_dbi",),
}
_CHANNEL_LIMITS = "given.reach."


def row_key(row: Any, column: str) -> str:
    """Key of a figure of a row; rows with one label are one thing and share it.

    >>> from backhaul.design.model import Segment
    >>> row_key(Segment(("P1",), 3, "fiber", label="C1", id=7), "length_m")
    'given.label.C1.length_m'
    """
    name = row.label.translate(_NO_BRACES) if row.label else ""
    return f"given.label.{name}.{column}" if name else f"given.row.{row.id}.{column}"


_NO_BRACES = str.maketrans("{}", "()")


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

        >>> Givens.in_use("given.optics.sx.sensitivity_dbm"), Givens.in_use("given.row.3.count")
        ('eff.optics.sx.sensitivity_dbm', 'given.row.3.count')
        """
        family, _, name = key.removeprefix("given.").partition(".")
        if key.startswith(_CHANNEL_LIMITS) or name.endswith(OFFERED.get(family, ())):
            return "eff." + key.removeprefix("given.")
        return key

    def key_on_sheet(self, key: str) -> str:
        """Key that the input bears on Givens: that of the figure in use, unless an offer may
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
        if callable(given.column) and given.of == SUBJECT:
            return None
        record, value = getattr(subject, given.of), given.read(subject)
        column = given.key if callable(given.column) else given.column or given.key
        at = given.at(subject) if given.at else ""
        label = given.label.lower() + (f", {at}" if at else "")
        if record is None or not _has_figure(value):
            return None
        if given.of == ROW:
            return self.row(record, column, label, given.unit, value)
        family = subject.FAMILIES[given.of]
        return self.part(
            family, record, column, label, given.unit, value, f"{at}.{column}" if at else ""
        )

    def project(self, evaluation: Any, setting: str, label: str, unit: str) -> str | None:
        """A setting of the design."""
        project = evaluation.design.project
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

    def row(self, row: Any, column: str, label: str, unit: str, value: Any = None) -> str | None:
        """A figure of a segment row."""
        value = getattr(row, column) if value is None else value
        return self.add(
            row_key(row, column),
            group="Segments",
            label=f"{row.path[0]} step {row.step:g} {row.part}: {label}",
            value=value,
            unit=unit,
            source=row.at(column),
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
