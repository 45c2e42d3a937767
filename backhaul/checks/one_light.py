"""An optic or an attenuator is in the way of one light, whatever bears its label."""

from collections import defaultdict
from collections.abc import Iterator
from typing import Any

from backhaul.checks.context import Context, on_link
from backhaul.checks.filters import joints_of_kind, may_share
from backhaul.findings import FAIL, Finding
from backhaul.path.equipment import row_key
from backhaul.path.links import Link

#: Behind these one light serves several links.
_SPLITTER = "splitter"


def one_light(context: Context) -> Iterator[Finding]:
    """optics-port: one labelled optic or attenuator in the way of two links."""
    users: dict[tuple, list[tuple[Link, Any]]] = defaultdict(list)
    for link in context.optical.links:
        if joints_of_kind(link, context, _SPLITTER):
            continue
        for row in link.rows:
            if row.label and row.kind in ("optic", "attenuator"):
                users[row_key(row)].append((link, row))
    for used in users.values():
        (first, _), *others = used
        for link, row in others:
            if row.kind == "attenuator" and may_share(first, link, row, context):
                continue  # on what both share between the filters
            yield on_link(
                "optics-port",
                FAIL,
                link,
                row,
                "label",
                f"{row.label} is one {row.kind}, and stands in the light of path {first.paths[0]}, "
                f"step {first.first_step:g}, too",
                remedy="give each its own label, and the optics ports of their own",
                paths=tuple(dict.fromkeys((*link.paths, *first.paths))),
            )
