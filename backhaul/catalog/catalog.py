"""All parts by family, with a user's own laid over ours."""

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from pathlib import Path
from typing import Any

from backhaul.catalog.families import FAMILIES
from backhaul.catalog.overlay import Overlay, read_overlays
from backhaul.catalog.reading import Row
from backhaul.catalog.references import check_references
from backhaul.catalog.stock import Stock, View, all_records, first_record
from backhaul.findings import Finding
from backhaul.tables.collector import Collector
from backhaul.tables.names import nearest, squash

_BY_NAME = {family.name: family for family in FAMILIES}
#: the families whose names the rows of a family take up
_OWNERS = {"ports": ("devices", "radios"), "radio_modes": ("radios",), "optic_reach": ("optics",)}


class Catalog:
    """All parts; read only. Families are opened when first asked for, parts parsed likewise.

    >>> load_catalog().optics["1000base-lx10"].sensitivity_dbm
    -19.5
    """

    def __init__(self, overlays: Sequence[Overlay] = ()):
        self._overlays = overlays
        self._stocks: dict[str, Stock] = {}
        self._alone: dict[str, tuple[Any, ...]] = {}
        self._spelled: dict[str, dict[str, str]] = {}
        #: what was noticed in a user's files and does no harm
        self.notes: tuple[Finding, ...] = ()

    @cached_property
    def fibers(self) -> Mapping[str, Any]:
        return View(self.stock("fibers"), first_record)

    @cached_property
    def joints(self) -> Mapping[str, Any]:
        return View(self.stock("joints"), first_record)

    @cached_property
    def optics(self) -> Mapping[str, Any]:
        return View(self.stock("optics"), first_record)

    @cached_property
    def devices(self) -> Mapping[str, Any]:
        return View(self.stock("devices"), first_record)

    @cached_property
    def radios(self) -> Mapping[str, Any]:
        return View(self.stock("radios"), first_record)

    @cached_property
    def antennas(self) -> Mapping[str, Any]:
        return View(self.stock("antennas"), first_record)

    @cached_property
    def coppers(self) -> Mapping[str, Any]:
        return View(self.stock("coppers"), first_record)

    @cached_property
    def feeds(self) -> Mapping[str, Any]:
        return View(self.stock("feeds"), first_record)

    @cached_property
    def protectors(self) -> Mapping[str, Any]:
        return View(self.stock("protectors"), first_record)

    @cached_property
    def hardware(self) -> Mapping[str, Any]:
        return View(self.stock("hardware"), first_record)

    @cached_property
    def bands(self) -> tuple[Any, ...]:
        return tuple(row.record for row in self.rows("bands"))

    @cached_property
    def ports(self) -> Mapping[str, tuple[Any, ...]]:
        """Ports by device or radio; () for one that has none."""
        return View(_WithOwners(self.stock("ports"), self.devices, self.radios), all_records)

    @cached_property
    def radio_modes(self) -> Mapping[str, tuple[Any, ...]]:
        """Modes by radio; () for one that has none."""
        return View(_WithOwners(self.stock("radio_modes"), self.radios), all_records)

    @cached_property
    def optic_reach(self) -> Mapping[tuple[str, str], Any]:
        """Reach rows by optic and fiber class."""
        return _Reach(self.stock("optic_reach"), self.stock("fibers"))

    @cached_property
    def copper_reach(self) -> Mapping[str, tuple[Any, ...]]:
        """Reach rows by cable: those that name the cable, else those of its category."""
        by_part = self.stock("copper_reach").spellings()
        by_category: dict[str, list[Any]] = {}
        cables = {squash(part) for part in self.coppers}
        for row in self.rows("copper_reach"):
            if squash(row.record.part) in cables:
                continue  # a cable's own reach is no rule of its category
            by_category.setdefault(squash(row.record.category), []).append(row.record)
        reach = {}
        for part, copper in self.coppers.items():
            own = by_part.get(squash(part))
            if own is not None:
                reach[part] = all_records(self.stock("copper_reach")[own])
            else:
                reach[part] = tuple(by_category.get(squash(copper.category), ()))
        return reach

    def stock(self, family: str) -> Stock:
        """A family's rows by part, each with its place; a user's in the place of ours."""
        if family not in self._stocks:
            stock = Stock(_BY_NAME[family])
            for overlay in self._overlays:
                rows = overlay.get(family)
                if rows:
                    stock.lay_over(self._our_classes(family, rows), self._spellings(family, stock))
            self._stocks[family] = stock
        return self._stocks[family]

    def rows(self, family: str) -> list[Row]:
        """Every row of a family with its place."""
        return [row for rows in self.stock(family).values() for row in rows]

    def find(self, family: str, part: str) -> Any | None:
        """The record (or the rows) of a part, however its name is spelled; None if unknown.

        >>> load_catalog().find("optics", "1000BASE LX10").part
        '1000base-lx10'
        """
        parts = getattr(self, family)
        if part in parts:
            return parts[part]
        if family not in self._spelled:
            self._spelled[family] = {squash(name): name for name in parts}
        name = self._spelled[family].get(squash(part))
        return None if name is None else parts[name]

    def nearest(self, family: str, part: str, count: int = 3) -> tuple[str, ...]:
        """Names of the family that are most like an unknown one."""
        return tuple(nearest(part, getattr(self, family), count))

    def _spellings(self, family: str, stock: Stock) -> dict[str, str]:
        spelled = stock.spellings()
        for owner in _OWNERS.get(family, ()):
            spelled |= self.stock(owner).spellings()
        return spelled

    def _our_classes(self, family: str, rows: Sequence[Row]) -> list[Row]:
        """Reach rows with the fiber class spelled as in the fibers."""
        if family != "optic_reach":
            return list(rows)
        spelled = {squash(name): name for name in reversed(self.fiber_classes())}
        return [
            row._replace(
                record=row.record._replace(
                    fiber_class=spelled.get(squash(row.record.fiber_class), row.record.fiber_class)
                )
            )
            for row in rows
        ]

    def fiber_classes(self) -> list[str]:
        """Every fiber class there is, ours first."""
        return list(dict.fromkeys(row.record.fiber_class for row in self.rows("fibers")))

    def is_hybrid(self, part: str) -> bool:
        """Whether a cable has glass and conductors: a row of the fibers and one of the feeds.

        >>> load_catalog().is_hybrid("hybrid-os2-4-6mm2")
        True
        """
        return part in self.feeds and part in self.fibers

    def alone(self, family: str) -> Sequence[Any]:
        """All parts of a family that stand by themselves, no half of a hybrid cable."""
        if family not in self._alone:
            parts = getattr(self, family).items()
            self._alone[family] = tuple(part for name, part in parts if not self.is_hybrid(name))
        return self._alone[family]

    def modes_of(self, fiber_class: str) -> frozenset[str]:
        """Modes of the fibers of a class.

        >>> load_catalog().modes_of("OM3")
        frozenset({'multi'})
        """
        fibers = self.alone("fibers")
        return frozenset(each.mode for each in fibers if each.fiber_class == fiber_class)

    def better_classes(self, fiber_class: str) -> tuple[str, ...]:
        """Fiber classes that do all that one does and more, in the order of the catalogue.

        >>> load_catalog().better_classes("OM3")
        ('OM4', 'OM5')
        """
        fibers = (row.record for row in self.rows("fibers"))
        found = (each.fiber_class for each in fibers if fiber_class in each.replaces_classes)
        return tuple(dict.fromkeys(found))

    def core_um(self, fiber: Any) -> float | None:
        """Core of a fiber [µm], else that of the others of its class; None where none tells.

        >>> catalog = load_catalog()
        >>> catalog.core_um(catalog.fibers["om3-12"]._replace(core_um=None))
        50.0
        """
        if fiber.core_um is not None or fiber.mode == "single":
            return fiber.core_um
        alike = (row.record for row in self.rows("fibers"))
        cores = (each.core_um for each in alike if each.fiber_class == fiber.fiber_class)
        return next((core for core in cores if core is not None), None)


class _WithOwners(Mapping[str, list[Row]]):
    """The rows of a stock, and none for an owner that has none."""

    def __init__(self, stock: Stock, *owners: Mapping[str, Any]):
        self._stock, self._owners = stock, owners

    def __getitem__(self, part: str) -> list[Row]:
        if part in self._stock:
            return self._stock[part]
        if part in self:
            return []
        raise KeyError(part)

    def __iter__(self) -> Iterator[str]:
        for owners in self._owners:
            yield from owners

    def __len__(self) -> int:
        return sum(map(len, self._owners))

    def __contains__(self, part: object) -> bool:
        return any(part in owners for owners in self._owners)


class _Reach(Mapping[tuple[str, str], Any]):
    """Reach rows of a stock by optic and fiber class; a class may stand on the rows of another."""

    def __init__(self, stock: Stock, fibers: Stock):
        self._stock, self._fibers = stock, fibers
        self._as: dict[str, str | None] = {}

    def __getitem__(self, key: tuple[str, str]) -> Any:
        part, fiber_class = key
        for name in (fiber_class, self._reach_as):
            wanted = name if isinstance(name, str) else name(fiber_class)
            for row in self._stock[part]:
                if row.record.fiber_class == wanted:
                    return row.record
        raise KeyError(key)

    def _reach_as(self, fiber_class: str) -> str | None:
        if fiber_class not in self._as:
            alike = (each.record for each in self._fibers.holding(fiber_class))
            found = (each.reach_as for each in alike if each.fiber_class == fiber_class)
            self._as[fiber_class] = next(filter(None, found), None)
        return self._as[fiber_class]

    def __iter__(self) -> Iterator[tuple[str, str]]:
        for part, rows in self._stock.items():
            for row in rows:
                yield part, row.record.fiber_class

    def __len__(self) -> int:
        return sum(1 for _ in self)


def load_catalog(extra_dirs: Sequence[Path] = ()) -> Catalog:
    """Our catalogues with a user's laid over, the last on top; all faults of those at once.

    >>> load_catalog().fibers["os2-12"].max_db_km[1550]
    0.4
    """
    collector = Collector({family.name: family.columns for family in FAMILIES})
    overlays = read_overlays(extra_dirs, collector)
    catalog = Catalog(overlays)
    if any(overlays):
        known = {
            (family, "part"): list(catalog.stock(family))
            for family in ("devices", "radios", "optics")
        }
        if any("optic_reach" in overlay for overlay in overlays):
            known["fibers", "fiber_class"] = catalog.fiber_classes()
        for overlay in overlays:
            check_references(overlay, known, collector)
    collector.raise_problems()
    catalog.notes = collector.notes()
    return catalog
