"""What the reader, the chain and the ports had to say already."""

from collections.abc import Iterator

import numpy as np

from backhaul.checks.context import Context, on_equipment, on_row
from backhaul.design.kinds import KINDS
from backhaul.design.model import Segment
from backhaul.findings import FAIL, NOTE, Finding
from backhaul.path.chain_parts import CutLink
from backhaul.path.equipment import row_key
from backhaul.path.links import COPPER, FEED


def reading_notes(context: Context) -> Iterator[Finding]:
    """Notes of the readers of design and catalogues: what was ignored or taken for granted."""
    yield from context.design.notes
    yield from context.catalog.notes


def readings_taken(context: Context) -> Iterator[Finding]:
    """assumption: what the table `readings` changes in the budgets."""
    built = context.built
    if built is None:
        return
    links = int(np.sum(~np.isnan(np.reshape(built.loss_max_db, (-1, 2))).all(axis=1)))
    hops = [
        link.rows[0]
        for link in context.network.links["radio"]
        if link.rows[0].id in built.fixed_loss_db
    ]
    words = [f"readings taken into account: {built.taken}"]
    if links:
        words.append(f"optical links whose measured loss stands for the computed: {links}")
    for row in hops:
        typed = next(r for r in built.designed.design.segments if r.id == row.id).extra_loss_db or 0
        words.append(
            f"levels make the further loss of {row.label or f'{row.path[0]} step {row.step:g}'} "
            f"{row.extra_loss_db:.1f} dB, {typed:g} dB were designed"
        )
    if built.off or built.unused:
        words.append(f"off: {built.off}, not usable: {built.unused}")
    yield Finding(
        "assumption",
        NOTE,
        "; ".join(words),
        where=context.design.readings[0].at("value"),
        remedy="backhaul readings tells each",
    )


def chain(context: Context) -> Iterator[Finding]:
    """chain-broken, optics-port and assumption: how the rows join and where they plug in."""
    yield from context.network.findings


def one_run(context: Context) -> Iterator[Finding]:
    """chain-broken: a labelled run or protector of copper or a feed that joins other things elsewhere.

    One label is one thing: a drop has two ends, a feed one source, a protector one run beside it.
    """
    first: dict[tuple, tuple[frozenset, str, Segment]] = {}
    told: set[tuple] = set()
    for path, each in context.network.chains.items():
        for cut in each.cut:
            if cut.kind not in (COPPER, FEED):
                continue
            for row in (row for row in cut.rows if row.label):
                key = row_key(row)
                joins = _joined(cut, row)
                before, other, _ = first.setdefault(key, (joins, path, row))
                if joins == before or key in told:
                    continue
                told.add(key)
                what = "starts at" if cut.kind == FEED else "joins"
                yield on_row(
                    "chain-broken",
                    FAIL,
                    row,
                    "label",
                    f"{row.label} {what} {_ends(cut)} here, something else in {other}: one "
                    f"{row.kind} cannot",
                    paths=tuple(dict.fromkeys((path, other))),
                    remedy="give each its own label, or the things at its ends one label in both "
                    "paths",
                )


def _joined(cut: CutLink, row: Segment) -> frozenset:
    """What a labelled row of a link joins: both ends, of a feed its source, and the runs beside a
    protector."""
    ends = (cut.near,) if cut.kind == FEED else (cut.near, cut.far)
    found: set = {end.key for end in ends if end is not None}
    if KINDS[row.kind].protects and cut.kind == COPPER:
        place = cut.rows.index(row)
        found |= {
            row_key(other)
            for other in cut.rows[max(place - 1, 0) : place + 2]
            if KINDS[other.kind].is_run
        }
    return frozenset(found)


def _ends(cut: CutLink) -> str:
    ends = (cut.near,) if cut.kind == FEED else (cut.near, cut.far)
    return " and ".join(end.name for end in ends if end is not None)


def alike(context: Context) -> Iterator[Finding]:
    """assumption: one device part twice at a site without labels is taken as two devices."""
    by_place: dict[tuple, list] = {}
    for equipment in context.network.all_equipment.values():
        if not equipment.label and equipment.site and not equipment.end:
            by_place.setdefault((equipment.part, equipment.site), []).append(equipment)
    for (part, site), all_equipment in by_place.items():
        if len(all_equipment) < 2:
            continue
        paths = tuple(
            dict.fromkeys(path for equipment in all_equipment for path in equipment.paths)
        )
        yield on_equipment(
            "assumption",
            NOTE,
            all_equipment[1],
            "label",
            f"{len(all_equipment)} rows of {part} at {site} have no label: taken as {len(all_equipment)} devices",
            paths=paths,
            remedy="give rows of one device one label, and others labels of their own",
        )
