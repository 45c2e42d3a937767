"""The time of a hub on Radio hops: what the loads of its hops take, and the share of each; live.

Keys: `air.{i}.{a|b}.whole_rate_mbps`, `.busy`, `.hub_busy`, `.hub_share`.
"""

from backhaul.book.sheets.path_loads import lay_loads, load_key
from backhaul.book.sheets.radio_hop import HopBlock
from backhaul.budgets.hub_time import busy_share, hub_share
from backhaul.budgets.hubs import Hub
from backhaul.path.ends import FDD
from backhaul.spreadsheet.cells import Calc, Number, SheetCell
from backhaul.spreadsheet.formula import Cell


def hub_of(block: HopBlock) -> Hub | None:
    """The hub of a hop, None where no other hop shares its terminal."""
    return block.hops.hubs.shared(block.index)


def write_share(block: HopBlock, way: int, hub: Hub, whole_rate: str) -> None:
    """What a hop takes of its hub's time and what it has; whole_rate: formula, all time its own."""
    served, place = block.performance, block.direction(way)
    rate_key, busy_key = block.end(way, "whole_rate_mbps"), block.end(way, "busy")
    has_load = block.link.key in block.evaluation.performance.traffic.shares
    busy: SheetCell = Number(0.0, key=busy_key, format="0.000")
    if has_load:
        lay_loads(block.plan, block.sheet)
        text = busy_share(
            load_mbps=Cell.ref(load_key(block.link, way)), rate_mbps=Cell.ref(rate_key)
        ).text
        busy = Calc(busy_key, text, float(served.busy[place]), format="0.000")
    rate = float(served.whole_rate_mbps[place])
    block.pair(
        "Rate with all the airtime", Calc(rate_key, whole_rate, rate, format="0.0"), "", "Mb/s"
    )
    block.pair("Airtime that the load takes", busy, "", "", "load over that rate")
    together = "+".join(f"{{{key}}}" for key in _busy_keys(block, way, hub.hops))
    key = block.end(way, "hub_busy")
    block.pair(
        f"All {len(hub.hops)} hops of {hub.label}",
        Calc(key, together, float(served.hub_busy[place]), format="0.000"),
    )
    own = "+".join(f"{{{busy}}}" for busy in _busy_keys(block, way, (block.index,)))
    text = hub_share(busy=Cell(f"({own})"), hub_busy=Cell.ref(key), hops=len(hub.hops)).text
    block.pair(
        "Share of the hub's airtime",
        Calc(block.end(way, "hub_share"), text, float(served.hub_share[place]), format="0.000"),
        "",
        "",
        "in proportion to the loads",
    )


def _busy_keys(block: HopBlock, way: int, hops) -> list[str]:
    """Keys of what counts together: both directions where they share the time."""
    letters = "ab"[way] if block.ends[0].radio.duplex == FDD else "ab"
    return [f"air.{hop}.{letter}.busy" for hop in hops for letter in letters]
