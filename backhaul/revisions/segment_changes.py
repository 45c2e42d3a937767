"""What of the segments differs between two revisions, thing by thing."""

from collections.abc import Iterator, Mapping

from backhaul.design.edits import written
from backhaul.design.labels import columns_as_written
from backhaul.revisions.change import (
    ADDED,
    CHANGED,
    MOVED,
    REMOVED,
    RENAMED,
    Change,
    of_cell,
    whole,
)
from backhaul.revisions.things import OF_PLACE, Layout, Pairs, Placing, Thing, differing_cells

TABLE = "segments"
_TOLD_BY_NAME = ("part", "site", "to_site", "by")


def segment_changes(
    old: Layout, new: Layout, pairs: Pairs, paths: Mapping[str, str]
) -> Iterator[Change]:
    """Differences of the segments, each once however many rows name the thing.

    paths: name of a path in the old revision -> in the new one.
    """
    yield from _paths(old, new, paths)
    for things, what in ((pairs.removed, REMOVED), (pairs.added, ADDED)):
        for thing in things:
            yield _whole(thing, what)
    for key, after in pairs.things.items():
        yield from _thing(old.things[key], after)
    for one, other in pairs.places:
        yield from _place(one, other)
    yield from _moved(old, pairs, paths)


def _paths(old: Layout, new: Layout, paths: Mapping[str, str]) -> Iterator[Change]:
    kept = set(paths.values())
    for before, after in paths.items():
        if before != after:
            one, other = old.paths[before][0].row, new.paths[after][0].row
            yield of_cell(
                TABLE, RENAMED, f"path {after}", one, other, "path",
                before=before, after=after, path=after,
            )  # fmt: skip
    for names, layout, what in (
        ([name for name in old.paths if name not in paths], old, REMOVED),
        ([name for name in new.paths if name not in kept], new, ADDED),
    ):
        for name in names:
            row = layout.paths[name][0].row
            yield whole(TABLE, what, f"path {name}", row, "path", name, path=name)


def _whole(thing: Thing, what: str) -> Change:
    head = thing.head
    words = [
        f"{name} {value:g}" if isinstance(value, float) else f"{name} {written(value)}"
        for name, value in thing.meant.items()
        if value not in (None, ()) and name not in _TOLD_BY_NAME
    ]
    return whole(
        TABLE, what, thing.name, head, "part", head.part,
        path=min(head.path), step=head.step, text=", ".join(words),
    )  # fmt: skip


def _thing(before: Thing, after: Thing) -> Iterator[Change]:
    """Cells of one thing; another label is another name, another site a move."""
    if before.signature == after.signature:
        return
    one, other = before.head, after.head
    place = {"path": min(other.path), "step": other.step}
    if one.label != other.label:
        yield of_cell(TABLE, RENAMED, after.name, one, other, "label", **place)
    if one.kind != other.kind:
        yield of_cell(TABLE, CHANGED, after.name, one, other, "kind", **place)
    for column, (was, now) in differing_cells(before, after).items():
        turned = columns_as_written(one, other, (column,)) if one.kind == other.kind else {}
        yield of_cell(
            TABLE,
            MOVED if column in ("site", "to_site") else CHANGED,
            after.name,
            one,
            other,
            column,
            before=was,
            after=now,
            other_column=turned.get(column, column),
            **place,
        )


def _place(one: Placing, other: Placing) -> Iterator[Change]:
    """Cells of a row in its path: strand, ports, note."""
    for column in OF_PLACE:
        if getattr(one.row, column) != getattr(other.row, column):
            yield of_cell(
                TABLE, CHANGED, other.thing.name, one.row, other.row, column,
                path=other.path, step=other.row.step,
            )  # fmt: skip


def _moved(old: Layout, pairs: Pairs, paths: Mapping[str, str]) -> Iterator[Change]:
    """Things that stand at another place of their path, or in another path than before."""
    for one, other in pairs.moved:
        yield of_cell(
            TABLE, MOVED, other.thing.name, one.row, other.row, "step",
            path=other.path, step=other.row.step,
        )  # fmt: skip
    kept = set(paths.values())
    for key, after in pairs.things.items():
        before = old.things[key]
        was = {path for row in before.rows for path in row.path if path in paths}
        now = {path for row in after.rows for path in row.path if path in kept}
        if {paths[path] for path in was} != now:
            yield of_cell(
                TABLE, MOVED, after.name, before.head, after.head, "path",
                before=tuple(sorted(was)), after=tuple(sorted(now)),
                path=min(after.head.path), step=after.head.step,
            )  # fmt: skip
