"""Sources of power and cables of a design, as records."""

from collections.abc import Iterator
from typing import Any

from backhaul.budgets.terminations import strand_name
from backhaul.checks.power import sources
from backhaul.checks.results import Results
from backhaul.path.equipment import row_key
from backhaul.path.links import OPTICAL, Link


def source_records(evaluation: Results) -> list[dict[str, Any]]:
    return [
        {
            "label": source["equipment"].label,
            "site": source["equipment"].site,
            "part": source["equipment"].part,
            "limit_w": source["limit_w"],
            "used_w": source["used_w"],
            "class_w": source["class_w"],
        }
        for source in sources(evaluation.context)
    ]


def cable_records(evaluation: Results) -> list[dict[str, Any]]:
    """Labelled cables with their strands and those in use."""
    used: dict[tuple, set[str]] = {}
    cables: dict[tuple, Any] = {}
    optics = evaluation.catalog.optics
    for link in evaluation.network.links[OPTICAL]:
        needed = max(optics[row.part].strands or 1 for row in (link.rows[0], link.rows[-1]))
        for row in fiber_rows(link, evaluation):
            if not row.label:
                continue
            key = row_key(row)
            cables.setdefault(key, row)
            names = tuple(map(strand_name, row.strand or ())) or tuple(
                f"{link.index}.{n}" for n in range(int(needed))
            )
            used.setdefault(key, set()).update(names)
    return [
        {
            "label": row.label,
            "strands": evaluation.catalog.fibers[row.part].strands,
            "used": len(used[key]),
        }
        for key, row in cables.items()
    ]


def fiber_rows(link: Link, evaluation: Results) -> Iterator[Any]:
    """Rows of glass on an optical link."""
    return (row for row in link.rows if row.part in evaluation.catalog.fibers)
