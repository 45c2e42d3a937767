"""One difference of the tables of two revisions."""

from typing import Any, NamedTuple

from backhaul.design.edits import written

CHANGED, ADDED, REMOVED, RENAMED, MOVED = "changed", "added", "removed", "renamed", "moved"


class Change(NamedTuple):
    """What was done to which thing, the cell, from and to.

    what: changed, added, removed, renamed or moved. where: the cell in the old revision and in the
    new one, blank where there is none. text: of what has no single cell.
    """

    table: str
    what: str
    name: str
    column: str = ""
    before: Any = None
    after: Any = None
    where_before: str = ""
    where_after: str = ""
    path: str = ""
    step: float | None = None
    text: str = ""


def of_cell(table: str, what: str, name: str, one: Any, other: Any, column: str, **more) -> Change:
    """The difference of one column between two rows; `before`, `after`, `other_column`, `path`,
    `step` and `text` stand in for what the rows hold."""
    was = more.pop("before", None) if "before" in more else getattr(one, column)
    now = more.pop("after", None) if "after" in more else getattr(other, column)
    there = more.pop("other_column", column)
    return Change(
        table,
        what,
        name,
        column,
        _cell(was),
        _cell(now),
        one.at(column),
        other.at(there),
        **more,
    )


def whole(table: str, what: str, name: str, row: Any, column: str, value: Any, **more) -> Change:
    """A row that one of the revisions lacks."""
    if what == ADDED:
        return Change(table, what, name, column, None, value, "", row.at(column), **more)
    return Change(table, what, name, column, value, None, row.at(column), "", **more)


def _cell(value: Any) -> Any:
    return None if value == () else written(value)
