"""Hops of one hub have one terminal at their first end: they agree on it, or cannot be used."""

from collections.abc import Container, Iterable, Mapping
from typing import Any

from backhaul.design.kinds import AIR, KINDS
from backhaul.tables.collector import Collector
from backhaul.tables.names import plain, shown

#: What the hops of a hub say of their one terminal.
OF_TERMINAL = ("site", "part", "antenna", "height_m", "diversity_m", "hub_azimuth_deg")
#: Hops of a hub are on one channel: what says so.
OF_CHANNEL = ("frequency_ghz", "to_frequency_ghz", "channel_mhz", "polarization")
#: Set at its one terminal for all of its hops.
OF_SETTING = ("tx_power_dbm", "up_share_percent")
#: A change of these in one hop is one of all hops of its hub.
SHARED = frozenset((*OF_TERMINAL, *OF_CHANNEL, *OF_SETTING))


def check_hubs(
    segments: Iterable[Any], faulty: Mapping[str, Container[int]], collector: Collector
) -> None:
    """Every hub is one terminal at one site, described alike in all of its hops."""
    labelled: dict[str, Any] = {}
    hubs: dict[str, list[Any]] = {}
    for row in segments:
        if row.label:
            labelled.setdefault(row.label, row)
        if row.hub and row.kind is not None and KINDS[row.kind].medium == AIR:
            hubs.setdefault(row.hub, []).append(row)
    for hub, rows in hubs.items():
        owner = labelled.get(hub)
        if owner is not None and not _is_terminal(owner):
            what = f"a hop to {owner.to_site}" if owner.kind == "radio" else f"a {owner.kind}"
            collector.problem(
                rows[0].table,
                rows[0].row,
                "hub",
                f"{shown(hub)}, at {owner.at('label')} the label of {what}",
                "the label of a terminal that hops share",
                "give the hub a label of its own",
            )
            continue
        for row in rows[1:]:
            _compare(hub, rows[0], row, faulty, collector)
        if owner is not None:
            _compare(hub, rows[0], owner, faulty, collector, ("site", "part"))


def _is_terminal(row: Any) -> bool:
    return row.kind is not None and KINDS[row.kind].medium == AIR and row.to_site is None


def _compare(
    hub: str, first: Any, row: Any, faulty, collector: Collector, names=OF_TERMINAL
) -> None:
    for name in names:
        own, other = getattr(row, name), getattr(first, name)
        if own == other or row.id in faulty.get(name, ()) or first.id in faulty.get(name, ()):
            continue
        if row.to_site is None and own is None:
            continue  # a terminal alone says less than its hops
        collector.problem(
            row.table,
            row.row,
            name,
            f"{_value(own)} for the hub {shown(hub)}, at {first.at(name)} {_value(other)}",
            "the same in every hop of the hub: it is one terminal",
            "correct one of them, or give one another hub",
        )


def _value(value: object) -> str:
    if value is None:
        return "a blank"
    return shown(plain(value) if isinstance(value, float) else value)
