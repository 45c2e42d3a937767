"""Changes of a design as data: cells set, rows put in, rows taken out."""

from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple

from backhaul.design.model import Design, Segment

SET, INSERT, REMOVE = "set", "insert", "remove"
#: Columns in which rows of one labelled thing may differ; all others change together.
OF_THE_ROW = frozenset({"path", "step", "strand", "port", "to_port", "note", "site", "to_site"})


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
    return Edit("segments", SET, key, column, getattr(row, column), to, {}, row.at(column))


def put_in(row: Segment, path: str, step: float, **cells: Any) -> Edit:
    """A new row beside `row`, at a step of its own."""
    new = {"path": path, "step": _plain(step), **cells}
    return Edit(
        "segments", INSERT, {"path": path, "step": _plain(step)}, row=new, where=row.at("step")
    )


def take_out(row: Segment, path: str) -> Edit:
    """A row taken out of its path."""
    return Edit("segments", REMOVE, {"path": path, "step": _plain(row.step)}, where=row.at("step"))


def edited(design: Design, edits: Iterable[Edit]) -> Design:
    """The design with the changes made, in turn; a label changes as one thing.

    Raises KeyError where a row that an edit names is not there.
    """
    segments = list(design.segments)
    project, sites = design.project, dict(design.sites)
    for edit in edits:
        if edit.table == "project":
            name = edit.key["setting"]
            project = project._replace(**{name: edit.to}, typed=project.typed | {name})
        elif edit.table == "sites":
            site = sites[edit.key["site"]]
            sites[site.site] = site._replace(**{edit.column: edit.to})
        elif edit.action == INSERT:
            _insert(segments, edit)
        elif edit.action == REMOVE:
            del segments[_place(segments, edit.key)]
        else:
            _set(segments, edit)
    numbered = tuple(
        row if row.id == place else row._replace(id=place) for place, row in enumerate(segments)
    )
    return design._replace(project=project, sites=sites, segments=numbered)


def _place(segments: list[Segment], key: Mapping[str, Any]) -> int:
    for place, row in enumerate(segments):
        if row.step == key["step"] and key["path"] in row.path:
            return place
    raise KeyError(f"path {key['path']} has no step {key['step']:g}")


def _set(segments: list[Segment], edit: Edit) -> None:
    place = _place(segments, edit.key)
    row = segments[place]
    segments[place] = row._replace(**{edit.column: edit.to})
    if not row.label or edit.column in OF_THE_ROW:
        return
    for other, mate in enumerate(segments):
        if mate.label == row.label and other != place:
            column = edit.column
            if mate.site and mate.site == row.to_site and mate.site != row.site:
                column = _OTHER_END.get(column, column)
            segments[other] = mate._replace(**{column: edit.to})


_ENDS = ("part", "height_m", "antenna", "frequency_ghz", "diversity_m")
_OTHER_END = {name: f"to_{name}" for name in _ENDS} | {f"to_{name}": name for name in _ENDS}


def _insert(segments: list[Segment], edit: Edit) -> None:
    cells = dict(edit.row)
    path = cells.pop("path")
    before = [
        place for place, row in enumerate(segments) if path in row.path and row.step < cells["step"]
    ]
    place = before[-1] + 1 if before else 0
    model = segments[before[-1] if before else 0]
    segments.insert(place, Segment((path,), table=model.table, row=model.row, **cells))


def _plain(step: float) -> float | int:
    return int(step) if step == int(step) else step
