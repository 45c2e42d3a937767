"""Which cells and rows differ between two designs, and the list of edits as a table."""

from collections.abc import Sequence
from typing import Any

from backhaul.design.edits import INSERT, SET, Edit, written
from backhaul.design.model import Design
from backhaul.tables.twins import feet

HEADS = ("Table", "Change", "Path", "Step", "Column", "From", "To", "Cell")


def change_rows(edits: Sequence[Edit], design: Design) -> list[tuple[Any, ...]]:
    """A row a change, in the columns and units of the design that was read."""
    rows = []
    for edit in (_as_written(edit, design) for edit in edits):
        to = written(edit.to)
        if edit.action == INSERT:
            to = ", ".join(
                f"{name} {written(value)}" for name, value in edit.row.items() if value is not None
            )
        rows.append(
            (
                edit.table,
                edit.action,
                edit.key.get("path", edit.key.get("site", "")),
                edit.key.get("step", edit.key.get("setting", "")),
                edit.column,
                _shown(written(edit.before)),
                _shown(to),
                edit.where,
            )
        )
    return rows


def _as_written(edit: Edit, design: Design) -> Edit:
    """A change of a length as it stands in a column in feet, where the row has it so."""
    path, step = edit.key.get("path"), edit.key.get("step")
    row = next((r for r in design.segments if r.step == step and path in r.path), None)
    if edit.action != SET or row is None or row.table is None:
        return edit
    column = row.table.written(row.row, edit.column)
    if column == edit.column:
        return edit
    before, to = (None if v is None else feet(v) for v in (edit.before, edit.to))
    return edit._replace(column=column, before=before, to=to)


def _shown(value: Any) -> Any:
    return "" if value is None else value


class Difference:
    """Cells and rows of a table that differ between two designs."""

    def __init__(self, design: Design, changed: Design):
        old = {(row.path, row.step): row for row in design.segments}
        new = {(row.path, row.step): row for row in changed.segments}
        #: row number -> column -> value, in the table of the segments
        self.cells: dict[int, dict[str, Any]] = {}
        for key in old.keys() & new.keys():
            before, after = old[key], new[key]
            differing = {
                name: getattr(after, name)
                for name in before._fields
                if name not in ("id", "row", "table")
                and getattr(before, name) != getattr(after, name)
            }
            if differing:
                self.cells[before.row] = differing
        self.removed = {old[key].row for key in old.keys() - new.keys()}
        self.inserted = [
            {
                name: getattr(row, name)
                for name in row._fields
                if name not in ("id", "row", "table") and getattr(row, name) not in (None, ())
            }
            for key, row in new.items()
            if key not in old
        ]
        self.settings = {
            name: getattr(changed.project, name)
            for name in changed.project.typed
            if getattr(changed.project, name) != getattr(design.project, name)
        }
        self.sites = {
            site.row: {
                name: getattr(changed.sites[site.site], name)
                for name in site._fields
                if name not in ("row", "table")
                and getattr(changed.sites[site.site], name) != getattr(site, name)
            }
            for site in design.sites.values()
        }

    def of_table(self, name: str) -> dict[int, dict[str, Any]]:
        return {"segments": self.cells, "sites": self.sites}.get(name, {})
