"""Two revisions of a design, evaluated and laid beside each other."""

from functools import cached_property
from typing import Any

from backhaul.checks.results import Results
from backhaul.design.columns import ALL_TABLES
from backhaul.findings import FAIL, PASS, THIN
from backhaul.revisions.cards import CardChange, card_changes
from backhaul.revisions.figures import Moved, moved_figures
from backhaul.revisions.findings import FindingChange, finding_changes
from backhaul.revisions.names import same_paths, same_sites
from backhaul.revisions.orders import Orders, order_changes
from backhaul.revisions.segment_changes import segment_changes
from backhaul.revisions.table_changes import table_changes
from backhaul.revisions.things import Layout, pair_things

_RANK = {PASS: 0, THIN: 1, FAIL: 2}


class Comparison:
    """What changed from one revision to the next: rows, verdicts, findings, figures, order, cards."""

    def __init__(self, old: Results, new: Results):
        self.old, self.new = old, new
        one, other = old.context.written, new.context.written
        self.sites = same_sites(one, other)
        self.paths = same_paths(one, other, self.sites)
        before, after = Layout(one, self.sites), Layout(other)
        pairs = pair_things(before, after, self.paths)
        #: id of a row in the old revision -> of the one at its place in the new
        self.rows = {one.row.id: other.row.id for one, other in pairs.places}
        called = (
            *self.sites.items(),
            *self.paths.items(),
            *((before.things[key].head.label, it.head.label) for key, it in pairs.things.items()),
        )
        #: old and new names of what bears another name now
        self.other_names = {name for both in called if both[0] != both[1] for name in both if name}
        found = [
            *table_changes(before, after, self.sites, self.paths, pairs),
            *segment_changes(before, after, pairs, self.paths),
        ]
        order = {table: place for place, table in enumerate(ALL_TABLES)}
        self.changes = tuple(sorted(found, key=lambda change: order[change.table]))

    @cached_property
    def verdicts(self) -> list[tuple[str, str | None, str | None]]:
        """Paths whose verdict changed, with the verdict before and after; None where there is none."""
        was, now = self.old.path_verdicts, self.new.path_verdicts
        found: list[tuple[str, str | None, str | None]] = [
            (after, was[before], now[after])
            for before, after in self.paths.items()
            if was[before] != now[after]
        ]
        found += [(path, was[path], None) for path in was if path not in self.paths]
        kept = set(self.paths.values())
        return found + [(path, None, now[path]) for path in now if path not in kept]

    @cached_property
    def findings(self) -> list[FindingChange]:
        return finding_changes(self.old, self.new, self.rows, self.paths, self.other_names)

    @cached_property
    def figures(self) -> list[Moved]:
        return moved_figures(self.old, self.new, self.rows, self.paths)

    @cached_property
    def order(self) -> Orders:
        return order_changes(self.old, self.new)

    @cached_property
    def cards(self) -> list[CardChange]:
        return card_changes(self.old, self.new, self.sites)

    @cached_property
    def is_empty(self) -> bool:
        """Whether nothing differs at all."""
        return not (
            self.changes
            or self.verdicts
            or self.findings
            or self.figures
            or self.order.lines
            or self.cards
        )

    @cached_property
    def is_worse(self) -> bool:
        """Whether a verdict, a finding or a figure got worse."""
        return (
            _RANK[self.new.verdict] > _RANK[self.old.verdict]
            or any(_RANK[now or PASS] > _RANK[was or PASS] for _, was, now in self.verdicts)
            or any(change.is_worse for change in self.findings)
            or any(moved.is_worse for moved in self.figures)
        )

    @property
    def exit_status(self) -> int:
        """0 where nothing got worse, else 1."""
        return 1 if self.is_worse else 0

    def frame(self) -> Any:
        """A pandas table of all differences, one a row."""
        import pandas

        rows: list[dict[str, Any]] = [
            {
                "kind": "cell",
                "what": change.what,
                "path": change.path,
                "name": change.name,
                "figure": change.column,
                "before": change.before,
                "after": change.after,
                "unit": "",
                "worse": None,
            }
            for change in self.changes
        ]
        rows += [
            {
                "kind": "verdict",
                "what": "changed",
                "path": path,
                "name": path,
                "figure": "verdict",
                "before": was,
                "after": now,
                "unit": "",
                "worse": _RANK[now or PASS] > _RANK[was or PASS],
            }
            for path, was, now in self.verdicts
        ]
        rows += [
            {
                "kind": "finding",
                "what": change.what,
                "path": change.finding.path,
                "name": change.finding.check,
                "figure": change.finding.check,
                "before": change.before.value if change.before else None,
                "after": change.after.value if change.after else None,
                "unit": change.finding.unit,
                "worse": change.is_worse,
            }
            for change in self.findings
        ]
        rows += [
            {
                "kind": "figure",
                "what": "moved",
                "path": moved.path,
                "name": moved.place,
                "figure": moved.label,
                "before": moved.before,
                "after": moved.after,
                "unit": moved.unit,
                "worse": moved.is_worse,
            }
            for moved in self.figures
        ]
        rows += [
            {
                "kind": "order",
                "what": "changed",
                "path": "",
                "name": f"{line.part} {line.pack}".strip(),
                "figure": "to order",
                "before": line.before,
                "after": line.after,
                "unit": line.unit,
                "worse": None,
            }
            for line in self.order.lines
        ]
        columns = ("kind", "what", "path", "name", "figure", "before", "after", "unit", "worse")
        return pandas.DataFrame(rows, columns=list(columns))
