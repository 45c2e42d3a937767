"""Rows that speak of other rows: each must be there."""

from collections.abc import Collection, Iterable, Iterator, Mapping

from backhaul.catalog.names import nearest, normal
from backhaul.catalog.reading import Row
from backhaul.errors import Problem

#: family of the row, its column, the families that know the name, the column of those
REFERENCES = (
    ("ports", "part", ("devices", "radios"), "part"),
    ("radio_modes", "part", ("radios",), "part"),
    ("optic_reach", "part", ("optics",), "part"),
    ("optic_reach", "fiber_class", ("fibers",), "fiber_class"),
)


def reference_problems(
    rows: Mapping[str, Iterable[Row]], known: Mapping[tuple[str, str], Collection[str]]
) -> Iterator[Problem]:
    """Problems of `rows` (by family) against the names `known` by (family, column)."""
    for family, column, targets, target_column in REFERENCES:
        if not rows.get(family):
            continue
        names = [name for target in targets for name in known[target, target_column]]
        spelled = {normal(name) for name in names}
        for row in rows[family]:
            name = getattr(row.record, column)
            if normal(name) in spelled:
                continue
            near = nearest(name, names)
            remedy = f"nearest: {', '.join(near)}" if near else f"add it to {targets[0]}.csv"
            needed = f"a {target_column} of " + " or ".join(f"{target}.csv" for target in targets)
            yield Problem(row.where(column), repr(name), needed, remedy)
