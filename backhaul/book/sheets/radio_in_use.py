"""What a direction of a hop delivers: mode in use, rate, best margin and availability, target."""

import numpy as np

from backhaul.book.formula_cells import NOT_KNOWN
from backhaul.book.sheets.path_loads import target_given
from backhaul.book.sheets.radio_direction import Direction, in_use, mode_span
from backhaul.book.sheets.radio_hop import HopBlock
from backhaul.book.sheets.shared import is_known
from backhaul.budgets.hop_rates import target_percent
from backhaul.findings import FAIL
from backhaul.physics.availability import hop_target_percent
from backhaul.spreadsheet.cells import Calc, Number, SheetCell, Text
from backhaul.spreadsheet.formula import Cell
from backhaul.units import DECIMALS
from backhaul.wording import AVAILABILITY_FORMAT

#: What a hop that fails does not carry, and what is said of it there.
COUNTED_ON = ("mode_at_target", "rate_at_target_mbps")
NOT_TO_COUNT_ON = "the hop fails: not to count on"


def summary_cells(block: HopBlock, way: int, direction: Direction) -> dict[str, SheetCell]:
    """Mode in use, its rate, the best margin and availability of a direction."""

    def unknown(name: str) -> SheetCell:
        return Text(NOT_KNOWN, "text right", key=block.end(way, name))

    place = direction.in_use
    if place < 0:
        return {
            name: unknown(name)
            for name in (
                "place_in_use",
                "mode_at_target",
                "rate_at_target_mbps",
                "margin_in_use_db",
                "best_margin_db",
                "best_availability_percent",
            )
        }
    held, margins, available = (
        mode_span(block, way, direction, name)
        for name in ("held_mbps", "margin_db", "availability_percent")
    )
    key = block.end(way, "place_in_use")
    cells: dict[str, SheetCell] = {
        "place_in_use": Calc(
            key,
            f"IF(MAX({held})>0,MATCH(MAX({held}),{held},0),MATCH(MAX({margins}),{margins},0))",
            place + 1,
            format="0",
        ),
        "mode_at_target": Calc(
            block.end(way, "mode_at_target"),
            f"INDEX({mode_span(block, way, direction, 'name')},{{{key}}})",
            direction.names[place],
            style="calc word",
        ),
        "rate_at_target_mbps": Calc(
            block.end(way, "rate_at_target_mbps"),
            in_use(block, way, direction, "user_rate_mbps"),
            float(block.performance.user_rate_mbps[block.direction(way)]),
            format="0.0",
        ),
        "margin_in_use_db": Calc(
            block.end(way, "margin_in_use_db"),
            f"INDEX({margins},{{{key}}})",
            float(direction.margins[place]),
            format="0.0",
        ),
        "best_margin_db": Calc(
            block.end(way, "best_margin_db"),
            f"MAX({margins})",
            float(np.nanmax(direction.margins)),
            format="0.0",
        ),
    }
    if not any(map(is_known, direction.available)):
        cells["best_availability_percent"] = unknown("best_availability_percent")
    else:
        cells["best_availability_percent"] = Calc(
            block.end(way, "best_availability_percent"),
            f"MAX({available})",
            float(np.nanmax(direction.available)),
            format=AVAILABILITY_FORMAT,
        )
    return cells


def target_cell(block: HopBlock, way: int) -> SheetCell:
    """Availability that the hop must reach: the strictest of its paths, shared over their hops."""
    uses = block.evaluation.network.uses
    wanted: dict[tuple[str, int], None] = {}
    for path in block.link.paths:
        hops = sum(1 for use in uses[path] if use.link.kind == block.link.kind)
        given = target_given(block.plan, path)
        wanted.setdefault((given, hops))
    parts = [
        hop_target_percent(path_target_percent=Cell.ref(given), hops=hops).text
        for given, hops in wanted
    ]
    formula = parts[0] if len(parts) == 1 else f"MAX({','.join(parts)})"
    value = float(block.performance.target_percent[block.direction(way)])
    equal = max(
        float(
            hop_target_percent(
                path_target_percent=target_percent(path, block.evaluation.design),
                hops=sum(1 for use in uses[path] if use.link.kind == block.link.kind),
            )
        )
        for path in block.link.paths
    )
    if round(value - equal, DECIMALS):  # shared anew, since a hop of the path misses its share
        return Number(value, key=block.end(way, "target_percent"), format="0.0000")
    return Calc(block.end(way, "target_percent"), formula, value, format="0.0000")


def unless_it_fails(block: HopBlock, name: str, how: str) -> Calc:
    """How a figure comes about; of a hop that fails, that it cannot be counted on, live."""
    fails = block.evaluation.link_verdict(block.link) == FAIL
    formula = f'IF({{{block.key("verdict")}}}="{FAIL}","{NOT_TO_COUNT_ON}","{how}")'
    shown = NOT_TO_COUNT_ON if fails else how
    return Calc(block.key(f"{name}.how"), formula, shown, style="text small", span=2)
