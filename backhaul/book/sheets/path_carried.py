"""Share of the year in which hops carry what runs over them, live over their modes.

Keys: `carried.{hop}`.
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
    hops = plan.evaluation.performance.hops
    key = carried_key(link)
    value = float(hops.carried_percent[2 * link.index : 2 * link.index + 2].min())
    if not is_known(value):
        return None
    if link.key not in plan.anchors:  # no sheet of hops in this book
        return Number(value, key=key)
    ways = ",".join(_way(plan, link, direction) for direction in (0, 1))
    return Calc(key, f"MIN({ways})", value, format="0.0000")


def _way(plan: Plan, link: Link, direction: int) -> str:
    """Formula text of one direction: our modes, and those that an offered radio may have besides."""
    radio = plan.evaluation.radio
    start, stop = radio.mode_start[2 * link.index + direction :][:2].tolist()
    known = [
        number
        for number, place in enumerate(range(start, stop))
        if is_known(radio.modes["availability_percent"][place])
    ]
    shares = [_share(plan, link, direction, number) for number in known]
    further = range(stop - start, stop - start + plan.spares.get((link.index, direction), 0))
    for number in further:
        available = f"{{{_mode(link, direction, number)}.availability_percent}}"
        text = _share(plan, link, direction, number)
        shares.append(f"IF(ISNUMBER({available}),{text},0)")
    return f"MAX({','.join(shares)})" if shares else "0"


def _mode(link: Link, direction: int, number: int) -> str:
    return f"air.{link.index}.{'ab'[direction]}.mode{number}"


def _share(plan: Plan, link: Link, direction: int, number: int) -> str:
    mode = _mode(link, direction, number)
    share = f"{{{mode}.availability_percent}}"
    if link.key not in plan.evaluation.performance.load:
        return share
    load = load_key(link, direction)
    enough = f"{{{mode}.user_rate_mbps}}>={{{load}}}-{RATE_TOLERANCE:.6f}"
    return f"IF(OR({enough},{{{load}}}<=0),{share},0)"
