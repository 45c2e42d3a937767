"""The share of the year in which each hop carries its load, live, beside Chain.

Key: `carried.{hop}`.
"""

from backhaul.book.plan import Plan
from backhaul.book.sheets.path_loads import load_key
from backhaul.book.sheets.shared import is_known
from backhaul.budgets.hop_rates import RATE_TOLERANCE
from backhaul.path.links import RADIO, Link
from backhaul.spreadsheet.cells import Calc, Number, SheetCell
from backhaul.spreadsheet.grid import Sheet


def carried_key(link: Link) -> str:
    """Key of the share of the year in which a hop carries its load."""
    return f"carried.{link.index}"


def lay_carried(plan: Plan, sheet: Sheet) -> None:
    """Lay, beside the sheet, the share of the year in which each hop carries its load."""
    rows = []
    for link in plan.evaluation.network.links[RADIO]:
        cell = _carried(plan, link)
        if cell is not None:
            rows.append((plan.link_steps(link), cell))
    if rows:
        sheet.helper("Share of the year in which hops carry their load", ("hop", "%"), rows)


def _carried(plan: Plan, link: Link) -> SheetCell | None:
    """The worse direction of the best mode whose rate is enough."""
    evaluation = plan.evaluation
    hops, radio = evaluation.performance.hops, evaluation.radio
    key = carried_key(link)
    value = float(hops.carried_percent[2 * link.index : 2 * link.index + 2].min())
    if not is_known(value):
        return None
    if link.key not in plan.anchors:  # no sheet of hops in this book
        return Number(value, key=key)
    ways = []
    for direction, end in enumerate("ab"):
        start, stop = radio.mode_start[2 * link.index + direction :][:2].tolist()
        load = load_key(link, direction) if link.key in evaluation.performance.load else ""
        modes = []
        for number, place in enumerate(range(start, stop)):
            if not is_known(radio.modes["availability_percent"][place]):
                continue
            mode = f"air.{link.index}.{end}.mode{number}"
            share = f"{{{mode}.availability_percent}}"
            if load:
                enough = f"{{{mode}.user_rate_mbps}}>={{{load}}}-{RATE_TOLERANCE:.6f}"
                share = f"IF(OR({enough},{{{load}}}<=0),{share},0)"
            modes.append(share)
        ways.append(f"MAX({','.join(modes)})" if modes else "0")
    return Calc(key, f"MIN({','.join(ways)})", value, format="0.0000")
