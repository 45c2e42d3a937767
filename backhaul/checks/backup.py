"""A path that backs up another: what one cut takes from both."""

from collections.abc import Iterator

from backhaul.checks.context import Context
from backhaul.design.kinds import AIR, KINDS
from backhaul.findings import THIN, Finding
from backhaul.path.equipment import row_key
from backhaul.path.network import Network


def backup_shared(context: Context) -> Iterator[Finding]:
    """backup-shared: a cable, feed, hop, device or mast that both paths of a pair hang on."""
    for path, row in context.design.paths.items():
        if not row.backs_up or path not in context.network.chains:
            continue
        shared = _shared(context.network, path, row.backs_up)
        if shared:
            yield Finding(
                "backup-shared",
                THIN,
                f"{path} backs up {row.backs_up}, yet both depend on {', '.join(shared)}: one cut "
                "takes both",
                path=path,
                paths=(path, row.backs_up),
                where=row.at("backs_up"),
                remedy="lead one of the two over a route and equipment of its own",
            )


def _shared(network: Network, path: str, other: str) -> list[str]:
    """Names of what stands in both paths, but for the equipment at their two ends."""
    mine, theirs = _things(network, path), _things(network, other)
    ends = _end_keys(network, path) | _end_keys(network, other)
    found = [name for key, name in mine.items() if key in theirs and key not in ends]
    masts = _masts(network, path) & _masts(network, other)
    feeds = _feeds(network, path) & _feeds(network, other)
    found += [f"the mast at {site}" for site in sorted(masts)]
    return list(dict.fromkeys([*found, *(f"the feed {name}" for name in sorted(feeds))]))


def _things(network: Network, path: str) -> dict[tuple, str]:
    """Labelled cables, hops and equipment of a path, and rows that stand in several."""
    all_equipment = {}
    for row in network.chains[path].rows:
        kind = KINDS[row.kind]
        if (row.label or len(row.path) > 1) and (kind.is_run or kind.has_ports):
            all_equipment[row_key(row)] = f"{row.kind} {row.label or row.part}"
    return all_equipment


def _end_keys(network: Network, path: str) -> set[tuple]:
    rows = [row for row in network.chains[path].rows if KINDS[row.kind].has_ports]
    return {row_key(row) for row in (rows[0], rows[-1])} if rows else set()


def _masts(network: Network, path: str) -> set[str]:
    """Sites at which a hop of the path has a terminal, but for those at its ends."""
    sites = {
        site
        for row in network.chains[path].rows
        if KINDS[row.kind].medium == AIR and row.to_site
        for site in (row.site, row.to_site)
        if site
    }
    rows = network.chains[path].rows
    return sites - {network.places[rows[0].id][0], network.places[rows[-1].id][1]}


def _feeds(network: Network, path: str) -> set[str]:
    """Labelled feeds that power anything of the path."""
    all_equipment = {node.enters.key for node in network.chains[path].nodes}
    all_equipment |= {node.leaves.key for node in network.chains[path].nodes}
    return {
        link.rows[0].label or link.near.name
        for link in network.links["feed"]
        if link.near is not None and any(load.key in all_equipment for load in link.loads)
    }
