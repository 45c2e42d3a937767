"""Rows of a hop for further modes of an offered radio: empty now, live once they are typed."""

from functools import partial

from backhaul.book.sheets.radio_direction import Direction
from backhaul.book.sheets.radio_hop import HopBlock
from backhaul.book.sheets.radio_mode_texts import (
    FORMATS,
    held_text,
    term_text,
    use_text,
    user_rate_text,
)
from backhaul.book.sheets.spare_modes import (
    TYPED,
    figure,
    leave_row,
    placeholders,
    reflection_bound,
    spare_key,
    spare_name,
    where_typed,
)
from backhaul.figures.mode_terms import MODE_TERMS, TYPED_POWER
from backhaul.spreadsheet.cells import Calc, SheetCell, Text

_GIVEN = ("rate_mbps", "mode_power_dbm", "sensitivity_dbm")
_TERMS = [term for term in MODE_TERMS if term.key not in _GIVEN]


def write_spare(block: HopBlock, way: int, direction: Direction, spare: int) -> None:
    """A row that says nothing until Alternatives fills it."""
    number = direction.count + spare
    names = (*_GIVEN, *(term.key for term in _TERMS), "user_rate_mbps", "use")
    keys = [block.end(way, f"mode{number}.{name}") for name in names]
    name = Text(spare_name(spare), key=block.end(way, f"mode{number}.name"))
    block.sheet.row(name, *placeholders(keys))
    leave_row(block.plan, block.sheet, partial(_cells, block, way, direction, spare))


def spare_held(block: HopBlock, way: int, direction: Direction, spare: int) -> Calc:
    """What a further mode holds, 0 as long as there is none."""
    number = direction.count + spare
    margin = block.end(way, f"mode{number}.margin_db")
    text = f"IF(ISNUMBER({{{margin}}}),{held_text(block, way, number)},0)"
    return Calc(block.end(way, f"mode{number}.held_mbps"), text, 0.0, format="0.0")


def _cells(block: HopBlock, way: int, direction: Direction, spare: int) -> list[SheetCell]:
    """The row over what is typed; none where there is nothing to type into."""
    number, prefix = direction.count + spare, block.end(way, f"mode{direction.count + spare}")
    of, channel = block.ways[way], float(block.hops.channel_mhz[block.index])
    sends, hears = of.sender.radio.part, of.receiver.radio.part
    keys = [
        spare_key(part, channel, spare, name)
        for part, name in zip((sends, hears, sends), TYPED, strict=True)
    ]
    if not all(key in block.plan.together for key in keys):
        return []
    rate, sensitivity, power = (f"{{{key}}}" for key in keys)
    most = block.given(TYPED_POWER, of)
    sent = f"MIN({{{most}}},{power})" if most else power
    is_whole = f"COUNT({rate},{power},{sensitivity})=3"
    cells: list[SheetCell] = [Text(spare_name(spare), key=f"{prefix}.name")]
    for name, text in zip(_GIVEN, (rate, sent, sensitivity), strict=True):
        cells.append(figure(f"{prefix}.{name}", where_typed(is_whole, text), FORMATS[name]))
    is_typed = f"ISNUMBER({{{prefix}.sensitivity_dbm}})"
    for term in _TERMS:
        text = _term(block, way, number, direction.count, term)
        cells.append(figure(f"{prefix}.{term.key}", where_typed(is_typed, text), FORMATS[term.key]))
    user = where_typed(is_typed, user_rate_text(block, way, number))
    cells.append(figure(f"{prefix}.user_rate_mbps", user, FORMATS["user_rate_mbps"]))
    use = where_typed(is_typed, use_text(block, way, direction, number))
    cells.append(Calc(f"{prefix}.use", use, "–", style="calc text"))
    return cells


def _term(block: HopBlock, way: int, number: int, own: int, term) -> str:
    """Formula text of a term; what none of ours computes is bounded by ours."""
    if term.formula is not None:
        variant = str(block.radio.values[term.by][block.direction(way)]) if term.by else ""
        return term_text(block, way, number, term.key, variant)

    def of(mode: int, name: str) -> str:
        return f"{{{block.end(way, f'mode{mode}.{name}')}}}"

    if term.key != "reflection_outage_percent":
        return of(0, term.key)
    if block.value("reflection_loss_db", way) == 0:  # no mirror: it takes from no mode
        return "0"
    known = [(of(mode, "clear_margin_db"), of(mode, term.key)) for mode in range(own)]
    return reflection_bound(of(number, "clear_margin_db"), known)
