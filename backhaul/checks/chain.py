"""What the reader, the chain and the ports had to say already."""

from collections.abc import Iterator

from backhaul.checks.context import Context, on_thing
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
    for thing in context.network.things.values():
        if not thing.label and thing.site and not thing.end:
            by_place.setdefault((thing.part, thing.site), []).append(thing)
    for (part, site), things in by_place.items():
        if len(things) < 2:
            continue
        paths = tuple(dict.fromkeys(path for thing in things for path in thing.paths))
        yield on_thing(
            "assumption",
            NOTE,
            things[1],
            "label",
            f"{len(things)} rows of {part} at {site} have no label: taken as {len(things)} devices",
            paths=paths,
            remedy="give rows of one device one label, and others labels of their own",
        )
