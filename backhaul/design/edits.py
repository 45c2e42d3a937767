"""Changes of a design as data: cells set, rows put in, rows taken out."""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any, NamedTuple

from backhaul.design.hubs import SHARED
from backhaul.design.model import Design, Segment

SET, INSERT, REMOVE = "set", "insert", "remove"


class Edit(NamedTuple):
    """One change: `set` puts `to` into a column of the row with that key, `insert` puts in `row`
    (its step lies between its neighbours'), `remove` takes the row out."""

    table: str
    action: str
    key: Mapping[str, Any]
    column: str = ""
    before: Any = None
    to: Any = None
    row: Mapping[str, Any] = {}
    where: str = ""
    #: label of the hub whose hops all change with the row, "" where it changes alone
    hub: str = ""

    @property
    def cell(self) -> tuple:
        """What it changes: a cell, the cells of all hops of a hub, or a row."""
        if self.hub:
            return self.table, self.hub, self.column
        return self.table, tuple(self.key.items()), self.column

    def record(self) -> dict[str, Any]:
        """As it stands in the JSON.

        >>> Edit("segments", SET, {"path": "P", "step": 2}, "part", "a", "b").record()["to"]
        'b'
        """
        return {
            "table": self.table,
            "action": self.action,
            "key": dict(self.key),
            "column": self.column or None,
            "from": written(self.before),
            "to": written(self.to),
            "row": {name: written(value) for name, value in self.row.items()} or None,
            "where": self.where or None,
            "hub": self.hub or None,
        }


def written(value: Any) -> Any:
    """A value as a designer writes it into a cell; several in one cell are parted by `/`.

    >>> written(("1", "2")), written(2.5)
    ('1/2', 2.5)
    """
    if isinstance(value, tuple):
        return "/".join(map(str, value))
    return value.item() if hasattr(value, "item") else value


def set_cell(row: Segment, path: str, column: str, to: Any) -> Edit:
    """The change of one cell of a segment row, as it stands in a path."""
    key = {"path": path, "step": _plain(row.step)}
    hub = row.hub if row.hub and column in SHARED else ""
    where = row.at(column)
    return Edit("segments", SET, key, column, getattr(row, column), to, where=where, hub=hub)


def put_in(row: Segment, path: str, step: float, **cells: Any) -> Edit:
    """A new row beside `row`, at a step of its own."""
    new = {"path": path, "step": _plain(step), **cells}
    return Edit(
        "segments", INSERT, {"path": path, "step": _plain(step)}, row=new, where=row.at("step")
    )


def take_out(row: Segment, path: str) -> Edit:
    """A row taken out of its path."""
    return Edit("segments", REMOVE, {"path": path, "step": _plain(row.step)}, where=row.at("step"))


def merged(edits: Iterable[Edit]) -> tuple[Edit, ...]:
    """Edits with the last one of each cell; a cell that is set back to what it was has none.

    >>> first = Edit("segments", SET, {"path": "P", "step": 2}, "part", "a", "b")
    >>> [one.to for one in merged([first, first._replace(before="b", to="c")])]
    ['c']
    >>> merged([first, first._replace(before="b", to="a")])
    ()
    """
    found: dict[tuple, Edit] = {}
    for number, edit in enumerate(edits):
        key = edit.cell if edit.action == SET else (*edit.cell, number)
        first = found.pop(key, edit)
        found[key] = edit._replace(before=first.before)
    return tuple(e for e in found.values() if e.action != SET or e.to != e.before)


def edited(design: Design, edits: Iterable[Edit], catalog: Any = None) -> Design:
    """The design with the changes made, in turn; a label changes as one thing.

    What is put in passes the reader's own checks. Raises KeyError where a row that an edit names
    is not there, InputError where a value cannot stand in its cell.
    """
    for edit in edits:
        design = _edited(design, edit, catalog)
    rows = tuple(
        row if row.id == place else row._replace(id=place)
        for place, row in enumerate(design.segments)
    )
    return design._replace(segments=rows)


def in_every_row(design: Design, edits: Iterable[Edit], catalog: Any = None) -> tuple[Edit, ...]:
    """The edits, and after each those of the other rows of its label or hub, in their own columns.

    Whoever makes them by hand, cell by cell, has the same design as `edited` gives. Raises as that.
    """
    found: list[Edit] = []
    for edit in edits:
        changed = _edited(design, edit, catalog)
        found.append(edit)
        if edit.table == "segments" and edit.action == SET:
            found += _in_others(design.segments, changed.segments, edit)
        design = changed
    return merged(found)


def _in_others(before: Iterable[Segment], after: Iterable[Segment], edit: Edit) -> Iterator[Edit]:
    for old, new in zip(before, after, strict=True):
        if old == new:
            continue
        is_named = edit.key["path"] in old.path and edit.key["step"] == old.step
        for column in old._fields:
            to = getattr(new, column)
            if getattr(old, column) != to and not (is_named and column == edit.column):
                yield set_cell(old, old.path[0], column, to)._replace(hub="")


def _edited(design: Design, edit: Edit, catalog: Any) -> Design:
    if edit.table == "project":
        name, project = edit.key["setting"], design.project
        typed = project.typed | {name}
        return design._replace(project=project._replace(**{name: edit.to}, typed=typed))
    if edit.table == "sites":
        site = design.sites[edit.key["site"]]
        changed = {site.site: site._replace(**{edit.column: edit.to})}
        return design._replace(sites={**design.sites, **changed})
    if edit.action == INSERT:
        return _with_row(design, edit, catalog)
    if edit.action == REMOVE:
        place = _place(design.segments, edit.key)
        rows = (*design.segments[:place], *design.segments[place + 1 :])
        return design._replace(segments=rows)
    path, step = edit.key["path"], edit.key["step"]
    return design.changed(path, step, catalog, **{edit.column: edit.to})


def _place(segments: tuple[Segment, ...], key: Mapping[str, Any]) -> int:
    for place, row in enumerate(segments):
        if row.step == key["step"] and key["path"] in row.path:
            return place
    raise KeyError(f"path {key['path']} has no step {key['step']:g}")


def _with_row(design: Design, edit: Edit, catalog: Any) -> Design:
    cells = {name: value for name, value in edit.row.items() if value is not None}
    path, step, kind = cells.pop("path"), cells.pop("step"), cells.pop("kind")
    before = [
        place for place, row in enumerate(design.segments) if path in row.path and row.step < step
    ]
    place = before[-1] + 1 if before else 0
    model = design.segments[before[-1] if before else 0]
    row = model.__class__(
        path=(path,), step=step, kind=kind, table=model.table, row=model.row, id=model.id
    )
    rows = (*design.segments[:place], row, *design.segments[place:])
    return design._replace(segments=rows).changed(path, step, catalog, **cells)


def _plain(step: float) -> float | int:
    return int(step) if step == int(step) else step
