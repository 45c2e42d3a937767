"""Cells of demand and load: what each path asks for, what runs over each link, live.

Keys: `demand.{path}.{up|down}` of a path's own demand, `load.{kind}.{index}.{0|1}` of what runs
over a link from near to far (0) and back (1).
"""

from collections.abc import Sequence
from typing import Any

from backhaul.book.keys import safe
from backhaul.book.plan import Plan
from backhaul.budgets.hop_rates import target_percent
from backhaul.figures.path_figures import DOWN, TARGET, UP, WAYS
from backhaul.path.links import Link
from backhaul.spreadsheet.cells import Calc
from backhaul.spreadsheet.grid import Sheet

#: Cells that one formula adds: more are added in groups, since a formula has a longest length.
MOST_ADDED = 100


def demand_key(path: str, way: str) -> str:
    """Key of a path's own demand."""
    return f"demand.{safe(path)}.{way}"


def load_key(link: Link, direction: int) -> str:
    """Key of what runs over a link: 0 from near to far, 1 back."""
    return f"load.{link.kind}.{link.index}.{direction}"


def lay_loads(plan: Plan, sheet: Sheet) -> None:
    """Lay the cells of demand and load beside a sheet, once a book."""
    if plan.has_loads:
        return
    plan.has_loads = True
    network, running = plan.evaluation.network, plan.evaluation.performance.traffic
    terms: dict[str, list[Added]] = {}
    for row in plan.evaluation.design.demand:
        if row.path in network.chains:
            for way in WAYS:
                added = _asked(plan, row, way)
                terms.setdefault(demand_key(row.path, way), []).extend(added)
    rows: list[tuple] = []
    parts: list[tuple] = []
    for path in running.demand:
        if path in network.chains:
            keys = [demand_key(path, way) for way in WAYS]
            rows.append((path, *(add_up(key, terms[key], parts) for key in keys)))
    sheet.helper("Demand of paths", ("path", *WAYS), rows)
    rows = []
    for links in network.links.values():
        for link in links:
            if link.key in running.shares:
                cells = (_load(plan, link, direction, parts) for direction in (0, 1))
                rows.append((plan.link_steps(link), *cells))
    sheet.helper("Load of links", ("link", "near to far", "back"), rows)
    if parts:
        sheet.helper("Parts of sums", ("Mb/s",), parts)


#: A formula text that is added, and its figure now.
Added = tuple[str, float]


def _asked(plan: Plan, row: Any, way: str) -> list[Added]:
    """What a row of the demand table asks for one way."""
    each = _given(plan, row, f"{way}_mbps", f"{way}, each", "Mb/s")
    if each is None:
        return [("0", 0.0)]
    count = _given(plan, row, "count", "count", "")
    value = getattr(row, f"{way}_mbps") or 0.0
    if count is None:
        return [(f"{{{each}}}", value)]
    return [(f"{{{count}}}*{{{each}}}", row.count * value)]


def _load(plan: Plan, link: Link, direction: int, parts: list[tuple]) -> Calc:
    running = plan.evaluation.performance.traffic
    added = []
    for share in running.shares[link.key]:
        way = WAYS.index(UP) if share.is_reversed != bool(direction) else WAYS.index(DOWN)
        value = running.demand[share.path][way]
        added.append(("{" + demand_key(share.path, WAYS[way]) + "}", value))
    return add_up(load_key(link, direction), added, parts)


def add_up(key: str, added: Sequence[Added], parts: list[tuple]) -> Calc:
    """A cell that adds up formula texts; where they are many, in groups that go into `parts`."""
    terms, stage = list(added), 0
    while len(terms) > MOST_ADDED:
        groups = [terms[n : n + MOST_ADDED] for n in range(0, len(terms), MOST_ADDED)]
        terms = []
        for number, group in enumerate(groups):
            cell = _sum(f"{key}.part{stage}.{number}", group)
            parts.append((cell,))
            terms.append((f"{{{cell.key}}}", cell.value))
        stage += 1
    return _sum(key, terms)


def _sum(key: str, added: Sequence[Added]) -> Calc:
    value = float(sum(value for _, value in added))
    return Calc(key, "+".join(text for text, _ in added), value, format="0.0")


def _given(plan: Plan, row: Any, column: str, label: str, unit: str) -> str | None:
    what = f" {row.what}" if row.what else ""
    return plan.inputs.add(
        f"given.demand.{row.row}.{safe(row.path)}.{column}",
        group="Demand",
        label=f"{row.path}{what}: {label}",
        value=getattr(row, column),
        unit=unit,
        source=row.at(column),
        where=row.at(column),
    )


def target_given(plan: Plan, path: str) -> str | None:
    """Yellow cell of the availability that a path is to reach: its own, else the project's."""
    row = plan.evaluation.design.paths.get(path)
    if row is not None and row.availability_percent is not None:
        return plan.inputs.add(
            f"given.path.{safe(path)}.availability_percent",
            group="Project",
            label=f"{path}: {TARGET.label.removesuffix(' of a path')}",
            value=target_percent(path, plan.evaluation.design),
            unit=TARGET.unit,
            source=row.at("availability_percent"),
            where=row.at("availability_percent"),
        )
    return plan.inputs.project(plan.evaluation, "availability_percent", TARGET.label, TARGET.unit)
