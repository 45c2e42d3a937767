"""Site cards, kit: what is brought to a site, each thing once, by part."""

from collections import defaultdict
from collections.abc import Iterator
from typing import Any, NamedTuple

from backhaul.book.sheets.cable_runs import Run
from backhaul.book.sheets.site_card import Card, listed
from backhaul.book.sheets.site_index import site_of
from backhaul.budgets.order_terminals import Terminal, add_terminals
from backhaul.budgets.terminations import strands_needed, terminations_to_fit
from backhaul.design.kinds import AIR, KINDS
from backhaul.design.model import Segment
from backhaul.path.equipment import row_key
from backhaul.path.links import OPTICAL
from backhaul.spreadsheet.cells import Head, Link, Number, Text

_TO_ORDER = ""
#: Characters of a link at most: not every program wraps one.
_LINKED = 32
MOST_LABELS = 8


class Item(NamedTuple):
    """Some of one part at a site."""

    site: str | None
    group: str
    part: str
    description: str
    count: float
    unit: str
    label: str
    by: str
    note: str = ""
    #: key of the run, for a link to its row
    run: Any = None


_GROUPS = (
    "device",
    "optic",
    "radio",
    "antenna",
    "protector",
    "joint",
    "plug",
    "cord",
    "cable",
    "extra",
)


def all_kit(evaluation: Any, runs: list[Run]) -> dict[str | None, list[Item]]:
    """What every site takes."""
    found: dict[str | None, list[Item]] = defaultdict(list)
    for item in (
        *_pieces(evaluation),
        *_terminals(evaluation),
        *_runs(runs),
        *_plugs(evaluation),
        *_extras(evaluation),
    ):
        found[item.site].append(item)
    return found


def write_kit(card: Card, items: list[Item]) -> None:
    """The table: one row a part, its count and labels."""
    if not items:
        return
    card.section(
        "Kit to bring",
        "Part",
        "What it is",
        Head("Count", "head right"),
        "Unit",
        Head("Labels, or where to", span=3),
        "By",
    )
    groups: dict[tuple, list[Item]] = defaultdict(list)
    for item in items:
        groups[(item.group, item.part, item.by, item.unit, item.note)].append(item)
    for key in sorted(groups, key=lambda key: (bool(key[2]), _GROUPS.index(key[0]))):
        same = groups[key]
        first = same[0]
        where = _few([item.label for item in same])
        text = "; ".join(word for word in (where, first.note) if word)
        anchor = card.plan.anchors.get(("cable", first.run)) if len(same) == 1 else None
        count = sum(item.count for item in same)
        card.sheet.row(
            first.part,
            Text(first.description, "text small"),
            Number(float(count), format="General") if count else "",
            first.unit,
            Link(text, anchor, span=3) if anchor and len(text) <= _LINKED else Text(text, span=3),
            first.by,
        )


def _few(labels: list[str]) -> str:
    """Labels once each; of many the first, since Cables and strands names every run."""
    names = list(dict.fromkeys(label for label in labels if label))
    rest = len(names) - MOST_LABELS
    return listed(names[:MOST_LABELS]) + (f" and {rest} more" if rest > 0 else "")


def _once(evaluation: Any) -> Iterator[tuple[tuple, Segment]]:
    """The first row of every thing."""
    seen = set()
    for row in evaluation.design.segments:
        key = row_key(row)
        if key not in seen:
            seen.add(key)
            yield key, row


def _pieces(evaluation: Any) -> Iterator[Item]:
    strands: dict[tuple, int] = {}
    for link in evaluation.network.links[OPTICAL]:
        for row in link.rows[1:-1]:
            key = row_key(row)
            strands[key] = max(strands.get(key, 1), strands_needed(link, evaluation.catalog))
    for key, row in _once(evaluation):
        kind = KINDS[row.kind]
        if kind.is_run or kind.medium == AIR:
            continue
        record = getattr(evaluation.catalog, kind.families[0])[row.part]
        count, note, unit = 1, "", "piece"
        if kind.per_strand:
            count = (1 if row.count is None else row.count) * strands.get(key, 1)
            unit = "splice" if kind.divides_run else "piece"
            note = "all strands in use"
        group = {"device": "device", "optic": "optic", "protector": "protector"}.get(
            row.kind, "joint"
        )
        yield Item(
            evaluation.network.places[row.id][0],
            group,
            row.part,
            record.description or "",
            count,
            unit,
            row.label or "",
            row.by or _TO_ORDER,
            note,
        )


def _terminals(evaluation: Any) -> Iterator[Item]:
    """Terminals of hops, and their antennas."""
    found: dict[tuple, Terminal] = {}
    for rows in _hops(evaluation).values():
        add_terminals(rows, evaluation.catalog, found)
    for equipment in evaluation.network.all_equipment.values():
        if KINDS[equipment.segment.kind].medium != AIR:
            continue
        terminal, site = found[equipment.key], site_of(evaluation, equipment)
        antenna = evaluation.catalog.antennas.get(terminal.antenna)
        for group, record in (("radio", equipment.record), ("antenna", antenna)):
            if record is not None:
                yield Item(
                    site,
                    group,
                    record.part,
                    record.description or "",
                    1,
                    "piece",
                    equipment.label or "",
                    terminal.by,
                )


def _hops(evaluation: Any) -> dict[tuple, list[Segment]]:
    """Rows of the air by what they name."""
    rows: dict[tuple, list[Segment]] = defaultdict(list)
    for row in evaluation.design.segments:
        if KINDS[row.kind].medium == AIR:
            rows[row_key(row)].append(row)
    return rows


def _runs(runs: list[Run]) -> Iterator[Item]:
    """Cords where they are; cables where they begin, and noted where they end."""
    for run in runs:
        sites = [end.site for end in run.ends]
        length = f"{run.row.length_m:g} m" if run.row.length_m is not None else "length not given"
        group = "cord" if run.is_made else "cable"
        label = run.row.label or ""
        inside = sites[0] == sites[1]
        where = length if inside else f"{length} to {sites[1]}"
        yield _run_item(run, sites[0], group, 1, f"{label} {where}".strip())
        if not inside:
            yield _run_item(run, sites[1], group, 0, f"{label} {length} from {sites[0]}".strip())


def _run_item(run: Run, site: str | None, group: str, count: int, label: str) -> Item:
    return Item(
        site,
        group,
        run.row.part,
        run.record.description or "",
        count,
        "run" if count else "arrives",
        label,
        run.row.by or _TO_ORDER,
        "",
        run.row.id,
    )


def _plugs(evaluation: Any) -> Iterator[Item]:
    network = evaluation.network
    for need in terminations_to_fit(network, evaluation.catalog):
        yield Item(
            network.places[need.run.id][need.end],
            "plug",
            f"plug {need.termination}",
            "Pigtail or field plug for a bare end of cable",
            need.count,
            "piece",
            need.run.label or "",
            need.run.by or _TO_ORDER,
            "strands in use",
        )


def _extras(evaluation: Any) -> Iterator[Item]:
    for extra in evaluation.design.extras:
        yield Item(
            extra.site or None,
            "extra",
            extra.part or "",
            extra.description or "",
            1 if extra.count is None else extra.count,
            extra.unit or "piece",
            "",
            extra.by or _TO_ORDER,
            extra.note or "",
        )
