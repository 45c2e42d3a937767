"""What every check reads, and how it words a finding."""

from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import Any, NamedTuple

from backhaul.budgets.copper import CopperBudget
from backhaul.budgets.optical import OpticalBudget
from backhaul.budgets.performance import Performance
from backhaul.budgets.power import PowerBudget, PowerSource
from backhaul.budgets.radio import RadioBudget
from backhaul.design.model import Design, Segment
from backhaul.findings import Finding
from backhaul.path.branches import Branches
from backhaul.path.equipment import Equipment
from backhaul.path.links import Link
from backhaul.path.network import Network
from backhaul.path.placed import Placed
from backhaul.path.routes import is_outdoor


class Context(NamedTuple):
    """The design, its network, and the budgets of all links."""

    design: Design
    catalog: Any
    network: Network
    optical: OpticalBudget
    copper: CopperBudget
    power: PowerBudget
    radio: RadioBudget
    branches: Branches
    performance: Performance
    placed: tuple[Placed, ...] = ()
    sources: tuple[PowerSource, ...] = ()
    #: what readings say of the design, None without them
    built: Any = None
    #: paths that are dark, broken or unfed, each with the finding that says why
    stops: Mapping[str, Any] = MappingProxyType({})

    @property
    def written(self) -> Design:
        """The design as its writer has it, without what readings change in its figures."""
        return self.design if self.built is None else self.built.designed.design

    def site_of(self, row: Segment, *, end: int = 0):
        """The site record where a row begins (0) or ends (1), None if it is not known."""
        name = self.network.places[row.id][end]
        return self.design.sites.get(name) if name else None

    def sites_of(self, rows: Iterable[int]) -> list[str]:
        """Names of the sites at which rows begin and end, by the ids of the rows."""
        return [name for row in rows for name in self.network.places[row] if name]

    def is_outdoor(self, row: Segment) -> bool:
        """A run by its route, another row by its site."""
        return is_outdoor(row, self.network, self.design.sites)


def on_equipment(
    check: str,
    severity: str,
    equipment: Equipment,
    column: str,
    message: str,
    *,
    paths: tuple[str, ...] = (),
    **details: Any,
) -> Finding:
    """A finding on equipment, which counts for every path that it stands in."""
    finding = on_row(
        check,
        severity,
        equipment.segment,
        column,
        message,
        paths=paths or tuple(equipment.paths),
        **details,
    )
    return finding._replace(rows=tuple(equipment.row_ids))


def on_row(
    check: str,
    severity: str,
    row: Segment,
    column: str,
    message: str,
    *,
    paths: tuple[str, ...] = (),
    remedy: str | None = None,
    value: Any = None,
    limit: Any = None,
    unit: str | None = None,
    source: str | None = None,
    direction: int | None = None,
    shared: str = "",
) -> Finding:
    """A finding at a cell of a row; `paths` are all that it counts for, the row's own if blank."""
    paths = paths or row.path
    return Finding(
        check,
        severity,
        message,
        path=paths[0],
        paths=paths,
        step=row.step,
        where=row.at(column),
        remedy=remedy,
        value=plain_value(value),
        limit=plain_value(limit),
        unit=unit,
        source=source,
        rows=(row.id,),
        direction=direction,
        shared=shared,
    )


def on_link(
    check: str, severity: str, link: Link, row: Segment, column: str, message: str, **details
) -> Finding:
    """A finding on a link, at a cell of one of its rows."""
    details.setdefault("paths", link.paths)
    return on_row(check, severity, row, column, message, **details)


def plain_value(value: Any) -> Any:
    """A figure for the record: None where it is NaN, a Python number where it is numpy's."""
    if value is None or isinstance(value, str):
        return value
    number = float(value)
    return number if number == number and abs(number) != float("inf") else None
