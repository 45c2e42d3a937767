"""The parts: read family by family when first asked for, with a user's own laid over ours."""

from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property
from pathlib import Path
from typing import Any

from backhaul.catalog.families import FAMILIES, Family
from backhaul.catalog.names import nearest, normal
from backhaul.catalog.reading import Row, Table, read_table
from backhaul.catalog.references import reference_problems
from backhaul.errors import InputError, Problem
from backhaul.findings import NOTE, Finding

_PACKAGE = Path(__file__).parent.parent
_INSTALLED = _PACKAGE / "_catalogs"  # where the build puts them
_IN_THE_TREE = _PACKAGE.parent / "catalogs"
BUILT_IN = _INSTALLED if _INSTALLED.is_dir() else _IN_THE_TREE
_BY_NAME = {family.name: family for family in FAMILIES}
_BY_FILE = {normal(family.file): family for family in FAMILIES}


class Catalog:
    """All parts by family; read only.

    >>> load_catalog().optics["1000base-lx10"].sensitivity_dbm
    -19.5
    """

    def __init__(self, overlays: Sequence[Mapping[str, Sequence[Row]]] = (),
                 notes: Iterable[Finding] = ()):
        self._overlays = overlays
        self._rows: dict[str, list[Row]] = {}
        self._spellings: dict[str, dict[str, str]] = {}
        #: what was noticed in a user's files and does no harm
        self.notes = tuple(notes)

    @cached_property
    def fibers(self) -> dict[str, Any]:
        return self._by_part("fibers")

    @cached_property
    def joints(self) -> dict[str, Any]:
        return self._by_part("joints")

    @cached_property
    def optics(self) -> dict[str, Any]:
        return self._by_part("optics")

    @cached_property
    def devices(self) -> dict[str, Any]:
        return self._by_part("devices")

    @cached_property
    def radios(self) -> dict[str, Any]:
        return self._by_part("radios")

    @cached_property
    def antennas(self) -> dict[str, Any]:
        return self._by_part("antennas")

    @cached_property
    def coppers(self) -> dict[str, Any]:
        return self._by_part("coppers")

    @cached_property
    def feeds(self) -> dict[str, Any]:
        return self._by_part("feeds")

    @cached_property
    def protectors(self) -> dict[str, Any]:
        return self._by_part("protectors")

    @cached_property
    def bands(self) -> tuple[Any, ...]:
        return tuple(row.record for row in self.rows("bands"))

    @cached_property
    def ports(self) -> dict[str, tuple[Any, ...]]:
        """Ports by device or radio."""
        return self._grouped("ports", [*self.devices, *self.radios])

    @cached_property
    def radio_modes(self) -> dict[str, tuple[Any, ...]]:
        """Modes by radio."""
        return self._grouped("radio_modes", self.radios)

    @cached_property
    def optic_reach(self) -> dict[tuple[str, str], Any]:
        """Reach rows by optic and fiber class, spelled as in optics and fibers."""
        optics = {normal(name): name for name in self.optics}
        classes = {normal(fiber.fiber_class): fiber.fiber_class
                   for fiber in reversed(self.fibers.values())}
        found = {}
        for row in self.rows("optic_reach"):
            part = optics.get(normal(row.record.part), row.record.part)
            fiber = classes.get(normal(row.record.fiber_class), row.record.fiber_class)
            found[part, fiber] = row.record._replace(part=part, fiber_class=fiber)
        return found

    @cached_property
    def copper_reach(self) -> dict[str, tuple[Any, ...]]:
        """Reach rows by cable: those that name the cable, else those of its category."""
        by_name: dict[str, list[Any]] = {}
        for row in self.rows("copper_reach"):
            by_name.setdefault(normal(row.record.part), []).append(row.record)
            by_name.setdefault(_category(row.record.category), []).append(row.record)
        return {
            part: tuple(by_name.get(normal(part)) or by_name.get(_category(copper.category), ()))
            for part, copper in self.coppers.items()
        }

    def rows(self, family: str) -> list[Row]:
        """Every row of a family with its place; a user's in the place of ours."""
        if family not in self._rows:
            declared = _BY_NAME[family]
            table = read_table(declared, BUILT_IN / declared.file, f"catalogs/{declared.file}")
            if table.problems:
                raise InputError(table.problems)
            rows = table.rows
            for overlay in self._overlays:
                rows = _laid_over(rows, overlay.get(family, ()))
            self._rows[family] = rows
        return self._rows[family]

    def find(self, family: str, part: str) -> Any | None:
        """The record (or the rows) of a part, however its name is spelled; None if unknown.

        >>> load_catalog().find("optics", "1000BASE LX10").part
        '1000base-lx10'
        """
        parts = getattr(self, family)
        if part in parts:
            return parts[part]
        if family not in self._spellings:
            self._spellings[family] = {normal(name): name for name in parts}
        name = self._spellings[family].get(normal(part))
        return None if name is None else parts[name]

    def nearest(self, family: str, part: str, count: int = 3) -> tuple[str, ...]:
        """Names of the family that are most like an unknown one."""
        return nearest(part, getattr(self, family), count)

    def names(self, family: str, column: str) -> list[str]:
        """Every name that a column of a family holds."""
        return list(dict.fromkeys(getattr(row.record, column) for row in self.rows(family)))

    def _by_part(self, family: str) -> dict[str, Any]:
        return {row.record.part: row.record for row in self.rows(family)}

    def _grouped(self, family: str, owners: Iterable[str]) -> dict[str, tuple[Any, ...]]:
        found: dict[str, list[Any]] = {owner: [] for owner in owners}
        spelled = {normal(owner): owner for owner in found}
        for row in self.rows(family):
            owner = spelled.get(normal(row.record.part))
            if owner is not None:
                same = row.record.part == owner
                found[owner].append(row.record if same else row.record._replace(part=owner))
        return {owner: tuple(rows) for owner, rows in found.items()}


def load_catalog(extra_dirs: Sequence[Path] = ()) -> Catalog:
    """Our catalogues with a user's laid over, the last on top; all faults of those at once.

    >>> sorted(load_catalog().fibers["os2-12"].max_db_km)[0]
    1260
    """
    overlays: list[dict[str, list[Row]]] = []
    problems: list[Problem] = []
    notes: list[Finding] = []
    for folder in extra_dirs:
        overlay = {}
        for family, table in _read_folder(Path(folder), problems, notes):
            problems += table.problems
            notes += table.notes
            overlay[family.name] = table.rows
        overlays.append(overlay)
    catalog = Catalog(overlays, notes)
    if any(overlays):
        problems += _reference_problems(catalog, overlays)
    if problems:
        raise InputError(problems)
    return catalog


def _read_folder(
    folder: Path, problems: list[Problem], notes: list[Finding]
) -> Iterable[tuple[Family, Table]]:
    if not folder.is_dir():
        problems.append(Problem(str(folder), "no such folder", "a folder with catalogue files"))
        return
    read = 0
    for path in sorted(folder.glob("*.[cC][sS][vV]")):
        name = f"{folder.name}/{path.name}"
        family = _BY_FILE.get(normal(path.name))
        if family is None:
            near = nearest(path.name, [known.file for known in FAMILIES], 1)
            notes.append(Finding(
                check="unread-file", severity=NOTE, where=name,
                message=f"{path.name} is not the name of a catalogue and is not read",
                remedy=f"is {near[0]} meant?" if near else None,
            ))
            continue
        read += 1
        yield family, read_table(family, path, name)
    if not read:
        needed = "one of " + ", ".join(family.file for family in FAMILIES)
        problems.append(Problem(str(folder), "no catalogue file", needed))


def _reference_problems(
    catalog: Catalog, overlays: Sequence[Mapping[str, Sequence[Row]]]
) -> Iterable[Problem]:
    known = {
        (family, column): catalog.names(family, column)
        for family, column in (("devices", "part"), ("radios", "part"), ("optics", "part"),
                               ("fibers", "fiber_class"))
    }
    for overlay in overlays:
        yield from reference_problems(overlay, known)


def _laid_over(rows: Sequence[Row], over: Sequence[Row]) -> list[Row]:
    """A part that the upper file names replaces all of that part's rows.

    A new row stands where the part stood, so lists keep their order.
    """
    upper: dict[str, list[Row]] = {}
    for row in over:
        upper.setdefault(normal(row.record.part), []).append(row)
    laid: list[Row] = []
    for row in rows:
        key = normal(row.record.part)
        if key not in upper:
            laid.append(row)
        else:
            laid += upper[key]
            upper[key] = []
    return laid + [row for rest in upper.values() for row in rest]


def _category(name: str) -> str:
    """The bare category: "Cat 6A", "cat6a" and "Category 6A" are one.

    >>> _category("Category 6A") == _category("cat6a")
    True
    """
    return normal(name).removeprefix("category").removeprefix("cat")
