"""Defined names of the key results, so that another workbook can refer to them."""

import re

from backhaul.book.plan import Plan

#: Paths that get names of their own: a district has too many to list.
_MOST_PATHS = 50
_NOT_IN_A_NAME = re.compile(r"[^a-z0-9]+")


def key_results(plan: Plan) -> dict[str, str]:
    """Names and the keys of their cells: the answer, the verdict, and of each path what it delivers."""
    names = {
        "answer_now": "glance.answer",
        "verdict_design": "glance.verdict",
        "figures_typed": "status.changed",
        "figures_not_followed": "status.stale",
        "figures_not_usable": "status.wrong",
        "cells_with_errors": "errors.count",
    }
    paths = dict(list(plan.path_verdicts.items())[:_MOST_PATHS])
    for path, (key, _) in paths.items():
        word = slug(path)
        wanted = {
            f"verdict_{word}": key,
            f"rate_up_mbps_{word}": plan.path_rates.get((path, "up")),
            f"rate_down_mbps_{word}": plan.path_rates.get((path, "down")),
            f"availability_percent_{word}": plan.path_availabilities.get(path),
        }
        names.update((name, cell) for name, cell in wanted.items() if cell and name not in names)
    return names


def slug(path: str) -> str:
    """A path's name as part of a defined name.

    >>> slug("Tower (north)"), slug("\u6865")
    ('tower_north', 'path')
    """
    return _NOT_IN_A_NAME.sub("_", path.lower()).strip("_") or "path"
