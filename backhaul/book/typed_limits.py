"""What a yellow cell may hold: the limits of its column, and neighbours that must rise with it."""

from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

from backhaul.catalog.families import FAMILIES
from backhaul.catalog.reading import least_ohm_per_km
from backhaul.design.columns import DEMAND, PATHS, SEGMENTS, SITES, WATER_BODIES
from backhaul.design.settings import SETTINGS
from backhaul.tables.column import INTEGER, NUMBER, Column

#: Figures of inputs that are no column of their own: attenuation at a wavelength and like [unit of
#: the input]; no part of the trade lies outside.
_OTHERS = {
    "attenuation_max_db_per_km": (0.0, 100.0),
    "attenuation_mean_db_per_km": (0.0, 100.0),
    "attenuation_min_db_per_km": (0.0, 100.0),
    "dispersion_ps_per_nm_km": (-1000.0, 1000.0),
    "end_pair_db": (0.0, 60.0),
    "loss_uncertainty_db": (0.0, 20.0),
    "level_tolerance_db": (0.0, 60.0),
    "efficiency": (0.01, 1.0),
    "power_factor": (0.01, 1.0),
    "rain_rate_mm_h": (0.0, 300.0),
}
_ROWS = {"row": SEGMENTS, "label": SEGMENTS, "site": SITES, "demand": DEMAND, "path": PATHS}
_ROWS |= {"water": WATER_BODIES, "project": SETTINGS}
_BY_FAMILY = {family.name: family for family in FAMILIES}
#: Columns of one record that rise from left to right, beside those that the families declare.
_RISING: dict[str, tuple[tuple[str, ...], ...]] = {
    "fibers": (
        ("attenuation_min_db_per_km", "attenuation_mean_db_per_km", "attenuation_max_db_per_km"),
    ),
    "project": (("water_low_m", "water_high_m"),),
    "water": (("low_m", "high_m"),),
    "site": (("ambient_min_c", "ambient_max_c"),),
}


class Limits(NamedTuple):
    """Least and most of a figure, whether it is whole, and how its column is called."""

    least: float | None = None
    most: float | None = None
    whole: bool = False

    @property
    def words(self) -> str:
        """The range in words.

        >>> Limits(0.0, 60.0).words, Limits(1, None, True).words
        ('0 to 60', 'at least 1, whole')
        """
        if self.least is None and self.most is None:
            text = "any number"
        elif self.most is None:
            text = f"at least {self.least:g}"
        elif self.least is None:
            text = f"at most {self.most:g}"
        else:
            text = f"{self.least:g} to {self.most:g}"
        return text + (", whole" if self.whole else "")


def family_of(key: str) -> str:
    """Family of parts, or kind of record, that an input stands on.

    >>> family_of("given.optics.1000base-lx10.watts"), family_of("given.row.7.length_m")
    ('optics', 'row')
    """
    return key.split(".", 2)[1]


def column_of(key: str) -> str:
    """Name of the column of an input by its key.

    >>> column_of("given.fibers.os2-12.at 1310 nm.attenuation_max_db_per_km")
    'attenuation_max_db_per_km'
    >>> column_of("given.rule.optical_margin_db.budget form P")
    'optical_margin_db'
    """
    _, family, name = key.split(".", 2)
    return name.split(".", 1)[0] if family == "rule" else name.rpartition(".")[2]


def limits_of(key: str) -> Limits:
    """What an input may hold, by its key; nothing beyond a number where no column says.

    >>> limits_of("given.optics.1000base-lx10.launch_min_dbm")
    Limits(least=-60, most=30, whole=False)
    """
    family, name = family_of(key), column_of(key)
    column = _COLUMNS.get((family, name)) or (
        _COLUMNS.get(("project", name)) if family == "rule" else None
    )
    if column is not None:
        return Limits(column.low, column.high, column.type == INTEGER)
    return Limits(*_OTHERS.get(name, (None, None)))


def _columns() -> Iterator[tuple[tuple[str, str], Column]]:
    for family in FAMILIES:
        for column in family.columns:
            if column.type in (NUMBER, INTEGER):
                yield (family.name, column.name), column
    for kind, columns in _ROWS.items():
        for column in columns:
            if column.type in (NUMBER, INTEGER):
                yield (kind, column.name), column


_COLUMNS = dict(_columns())


def neighbours(key: str, known: Mapping[str, Any]) -> tuple[list[str], list[str]]:
    """Inputs of the same record that must not lie above this one, and not below it.

    >>> key = "given.optics.x.{}_dbm"
    >>> neighbours(key.format("launch_min"), [key.format("launch_max"), key.format("overload")])
    ([], ['given.optics.x.launch_max_dbm'])
    """
    stem = key.removesuffix(column_of(key))
    below, above = _neighbour_columns(key)
    return (
        [stem + other for other in below if stem + other in known],
        [stem + other for other in above if stem + other in known],
    )


def _neighbour_columns(key: str) -> tuple[list[str], list[str]]:
    family, name = family_of(key), column_of(key)
    declared = _BY_FAMILY[family].rising if family in _BY_FAMILY else ()
    below: list[str] = []
    above: list[str] = []
    for rising in (*declared, *_RISING.get(family, ())):
        if name in rising:
            place = rising.index(name)
            below += rising[:place]
            above += rising[place + 1 :]
    return below, above


def fixed_neighbours(evaluation: Any, key: str, known: Mapping[str, Any]) -> Limits:
    """Bounds by columns of the same record that stand on no sheet."""
    record = _record(evaluation, key)
    if record is None:
        return Limits()
    stem = key.removesuffix(column_of(key))

    def figures(names: list[str]) -> list[float]:
        found = [getattr(record, name, None) for name in names if stem + name not in known]
        return [value for value in found if value is not None]

    below, above = _neighbour_columns(key)
    lows = figures(below)
    if column_of(key) == "ohm_per_km" and (copper := least_ohm_per_km(record)) is not None:
        lows.append(copper)
    return Limits(max(lows, default=None), min(figures(above), default=None))


def _record(evaluation: Any, key: str) -> Any:
    """The record that an input stands on; None where several make one."""
    family, middle = family_of(key), key.split(".", 2)[2].rpartition(".")[0]
    if family == "project":
        return evaluation.design.project
    if family == "site":
        return evaluation.design.sites.get(middle)
    if family == "water":
        return evaluation.design.waters.get(middle)
    if family == "ports":
        part, _, port = middle.rpartition(".")
        ports = evaluation.catalog.ports.get(part, ())
        return next((one for one in ports if one.port == port), None)
    if family in _BY_FAMILY and _BY_FAMILY[family].single:
        return getattr(evaluation.catalog, family).get(middle)
    return None
