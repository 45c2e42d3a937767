"""Site cards, kit: what is mounted at a site and what is brought besides, each thing once."""

from collections import defaultdict
from collections.abc import Iterator
from typing import Any, NamedTuple

from backhaul.book.sheets.site_card import COLUMNS, Card
from backhaul.budgets.cable_runs import Run
from backhaul.budgets.order_lines import (
    ANTENNAS,
    DEVICES,
    EXTRAS,
    FITTINGS,
    JOINTS,
    OPTICS,
    PAIR,
    PIECE,
    PROTECTORS,
    RADIOS,
    SPLICE,
    WORK,
    OrderList,
)
from backhaul.budgets.orders import pieces_of
from backhaul.budgets.site_reading import SERIAL
from backhaul.budgets.site_supply import site_volts
from backhaul.budgets.terminations import strands_needed
from backhaul.design.kinds import AIR, KINDS
from backhaul.figures.power_terms import AC, DC
from backhaul.path.equipment import Equipment
from backhaul.spreadsheet.cells import Head, SheetCell, Text, ToFill
from backhaul.wording import each_once

_TO_ORDER = ""
MOST_LABELS = 8
#: What feeds a device that takes no supply and has an output.
_SOURCES = {AC: "outlet of the site's mains", DC: "source of its own"}
#: Groups that stand in the table of what is mounted; what nobody brings.
_MOUNTED = ("device", "radio")
_NOT_BROUGHT = ("existing", "client", "later")
_MOUNT_SPANS = (1, 3, 4, 3, 1)


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
    "fitting",
    "cord",
    "cable",
    "extra",
)
#: Group of a line of the order list, by its section.
_GROUP = {
    DEVICES: "device",
    OPTICS: "optic",
    RADIOS: "radio",
    ANTENNAS: "antenna",
    PROTECTORS: "protector",
    JOINTS: "joint",
    WORK: "joint",
    FITTINGS: "fitting",
    EXTRAS: "extra",
}


def all_kit(evaluation: Any, runs: list[Run], orders: OrderList) -> dict[str | None, list[Item]]:
    """What every site takes; the counts are those of the order list."""
    found: dict[str | None, list[Item]] = defaultdict(list)
    for item in (
        *_counted(orders),
        *_runs(evaluation, runs),
    ):
        found[item.site].append(item)
    return found


def write_equipment(card: Card) -> None:
    """What is mounted here, what feeds it, with room for its serial number and a photo."""
    all_equipment = card.here.all_equipment
    if not all_equipment:
        return
    card.section(
        "Mount",
        *(
            Head(text, "card head", span)
            for text, span in zip(
                ("Key", "What", "Fed by", "Serial number", "Photo"),
                _MOUNT_SPANS,
                strict=True,
            )
        ),
    )
    serials = {id(reading.subject): reading for reading in card.readings if reading.kind == SERIAL}
    for equipment in all_equipment:
        reading = serials[id(equipment)]
        row = equipment.segment
        note = row.note if KINDS[row.kind].medium != AIR else ""  # of a hop: with its aim
        remarks = "; ".join(word for word in (_by_words(row.by), note or "") if word)
        name = f"{equipment.label}: " if equipment.label else ""
        cells: tuple[SheetCell, ...] = (
            Text(reading.key, "card text"),
            Text(f"{name}{equipment.part}" + (f"; {remarks}" if remarks else ""), "card text"),
            Text(fed_by(card.evaluation, equipment), "card text"),
            ToFill(card.key(f"{reading.key}.reading"), style="card fill"),
            ToFill(card.key(f"{reading.key}.photo"), style="card fill"),
        )
        card.sheet.row(
            *(cell._replace(span=span) for cell, span in zip(cells, _MOUNT_SPANS, strict=True))
        )


def _by_words(by: str | None) -> str:
    return {"existing": "there already", "client": "by the client", "later": "later"}.get(
        by or "", by or ""
    )


def fed_by(evaluation: Any, equipment: Equipment) -> str:
    """What feeds a device or terminal, in words."""
    record, power = equipment.record, evaluation.power
    line = next(iter(power.to_load.get(equipment.key, ())), None)
    if line is not None:
        source = line.source.equipment
        name = source.label or source.part
        port = f" port {line.source.port.port}" if line.source.port else ""
        how = "PoE" if line.is_poe else record.supply or "feed"
        return f"{how} from {name}{port}"
    if record.supply in ("AC", "DC"):
        volts = site_volts(record, evaluation.design.project.region)
        return (
            f"{record.supply} {volts:g} V, plugged in" if volts else f"{record.supply}, plugged in"
        )
    if record.supply == "PoE":
        return "nothing feeds it"
    return _SOURCES.get(getattr(record, "output", None), "needs no power")


def write_kit(card: Card, items: list[Item]) -> None:
    """What is brought besides what is mounted, without what is there already."""
    groups: dict[tuple, list[Item]] = defaultdict(list)
    for item in items:
        if item.group not in _MOUNTED and item.by not in _NOT_BROUGHT and item.count:
            groups[(item.group, item.part, item.unit)].append(item)
    if not groups:
        return
    card.section("Also bring")
    words = [
        _item_words(groups[key])
        for key in sorted(groups, key=lambda key: (_GROUPS.index(key[0]), key[1:]))
    ]
    card.sheet.row(Text("; ".join(words) + ".", "card text", len(COLUMNS)))


def _item_words(same: list[Item]) -> str:
    """Count and part; of runs their lengths, of extras what they are."""
    first = same[0]
    count = sum(item.count for item in same)
    unit = "" if first.unit in (PIECE, SPLICE, "run") else f" {first.unit}"
    words = f"{count:g}{unit} × {first.part}"
    if first.group in ("cable", "cord"):
        words += f" ({_few([item.label for item in same])})"
    elif first.group == "extra" and first.description:
        words += f" ({first.description})"
    return words


def _few(labels: list[str]) -> str:
    """Labels once each; of many the first, since Cables and strands names every run."""
    names = list(dict.fromkeys(label for label in labels if label))
    rest = len(names) - MOST_LABELS
    return each_once(names[:MOST_LABELS]) + (f" and {rest} more" if rest > 0 else "")


def _pieces_of_run(evaluation: Any, run: Run) -> int:
    strands = (strands_needed(use.link, evaluation.catalog) for use in run.uses if run.is_fiber)
    return pieces_of(run.record, max(strands, default=1))


def _runs(evaluation: Any, runs: list[Run]) -> Iterator[Item]:
    """Cords where they are; cables where they begin, and noted where they end.

    Where one leads stands under Connect.
    """
    for run in runs:
        sites = [end.site for end in run.ends]
        length = f"{run.row.length_m:g} m" if run.row.length_m is not None else "length not given"
        group = "cord" if run.is_made else "cable"
        label = run.row.label or ""
        words = f"{label} {length}".strip()
        yield _run_item(run, sites[0], group, _pieces_of_run(evaluation, run), words)
        if sites[0] != sites[1]:
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


def _counted(orders: OrderList) -> Iterator[Item]:
    """What is no run, as the order list counts it for every site."""
    for line in orders.lines:
        for at in line.at_sites:
            yield Item(
                at.site,
                "plug"
                if line.section == JOINTS and line.part.startswith("plug ")
                else _GROUP[line.section],
                line.part,
                line.description,
                at.count,
                PIECE if line.unit == PAIR else line.unit,
                "",
                line.by,
            )
