"""Rows that speak of other rows: each must be there."""

from collections.abc import Collection, Iterable, Mapping

from backhaul.catalog.reading import Row
from backhaul.tables.collector import Collector
from backhaul.tables.names import shown, squash
from backhaul.tables.table import Table

#: family of the row, its column, the families that know the name, the column of those
REFERENCES = (
    ("ports", "part", ("devices", "radios"), "part"),
    ("radio_modes", "part", ("radios",), "part"),
    ("optic_reach", "part", ("optics",), "part"),
    ("optic_reach", "fiber_class", ("fibers",), "fiber_class"),
)


def check_references(
    rows: Mapping[str, Iterable[Row]],
    known: Mapping[tuple[str, str], Collection[str]],
    collector: Collector,
) -> None:
    """Problems of `rows` (by family) against the names `known` by (family, column)."""
    for family, column, targets, target_column in REFERENCES:
        if not rows.get(family):
            continue
        names = [name for target in targets for name in known[target, target_column]]
        spelled = {squash(name) for name in names}
        for row in rows[family]:
            name = getattr(row.record, column)
            if squash(name) in spelled:
                continue
            collector.problem(
                Table(family, row.file),
                row.line,
                column,
                shown(name),
                f"a {target_column} of " + " or ".join(f"{target}.csv" for target in targets),
                collector.nearest(name, names) or f"add it to {targets[0]}.csv",
            )
