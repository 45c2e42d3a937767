"""What the reader, the chain and the ports had to say already."""

from collections.abc import Iterator

import numpy as np

from backhaul.checks.context import Context, on_equipment
from backhaul.findings import NOTE, Finding


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
