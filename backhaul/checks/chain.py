"""What the reader, the chain and the ports had to say already."""

from collections.abc import Iterator

from backhaul.checks.context import Context
from backhaul.findings import Finding


def reading_notes(context: Context) -> Iterator[Finding]:
    """Notes of the reader: what it ignored or took for granted."""
    yield from context.design.notes


def chain(context: Context) -> Iterator[Finding]:
    """chain-broken, optics-port and assumption: how the rows join and where they plug in."""
    yield from context.network.findings
