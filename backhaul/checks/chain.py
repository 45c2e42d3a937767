"""What the reader, the chain and the ports had to say already."""

from collections.abc import Iterator

from backhaul.checks.context import Context, on_equipment
from backhaul.findings import NOTE, Finding


def reading_notes(context: Context) -> Iterator[Finding]:
    """Notes of the readers of design and catalogues: what was ignored or taken for granted."""
    yield from context.design.notes
    yield from context.catalog.notes


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
