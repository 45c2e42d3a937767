"""The modes of a hop: margin and availability of each, and the mode in use, live.

Keys: `air.{index}.{a|b}.mode{n}.{term}`, n counting from 0 for the slowest.
"""

from backhaul.book.formula_cells import NOT_KNOWN
from backhaul.book.sheets.path_loads import lay_loads, load_key
from backhaul.book.sheets.radio_direction import Direction, in_use
from backhaul.book.sheets.radio_hop import HopBlock
from backhaul.book.sheets.radio_hub import hub_of, write_share
from backhaul.book.sheets.radio_mode_texts import (
    FORMATS,
    HOLDS,
    IN_USE,
    NO,
    TERMS,
    TOUGHEST,
    held_text,
    term_text,
    use_text,
    user_rate_text,
)
from backhaul.book.sheets.radio_spare import spare_held, write_spare
from backhaul.book.sheets.shared import is_known
from backhaul.budgets.hop_modes import common_modes
from backhaul.budgets.hop_rates import (
    LEAST_SHARE_PERCENT,
    MOST_SHARE_PERCENT,
    share_by_load_percent,
)
from backhaul.budgets.performance import along
from backhaul.figures.mode_terms import MODE_TERMS, PART_POWER, TYPED_POWER
from backhaul.figures.radio_terms import LIMIT
from backhaul.figures.terms import Input
from backhaul.path.ends import TDD, ModeOfDirection
from backhaul.spreadsheet.cells import Calc, Head, Number, SheetCell, Text
from backhaul.spreadsheet.formula import Cell
from backhaul.units import PERCENT

_HEADS = (
    "Mode",
    "Rate on air",
    "Power",
    "Sensitivity",
    "Margin, calm",
    "Margin",
    "Snow",
    "Rain outage",
    "Multipath",
    "Reflection",
    "Available",
    "Outage per year",
    "User rate",
    "Use",
)
_UNITS = (
    "",
    "Mb/s",
    "dBm",
    "dBm a chain",
    "dB",
    "dB",
    "× rain",
    "%",
    "%",
    "%",
    "%",
    "min",
    "Mb/s",
    "",
)
_BEFORE_MARGIN = ("rate_mbps", "mode_power_dbm", "sensitivity_dbm")


def write_modes(block: HopBlock, way: int, direction: Direction) -> None:
    """The table of one direction; its shares of the rate stand above it."""
    sheet = block.sheet
    block.begin()
    sheet.row(
        Text(
            f"Modes from {block.names[way]}, {block.hops.channel_mhz[block.index]:g} MHz "
            "(margin, calm: without reflection)",
            "strong",
            sheet.width,
        )
    )
    _shares(block, way, direction)
    sheet.row(
        *(Head(head, "head" if n in (0, 13) else "head right") for n, head in enumerate(_HEADS))
    )
    sheet.row(
        *(
            Text(unit, "text small" if n in (0, 13) else "text right")
            for n, unit in enumerate(_UNITS)
        )
    )
    held = []
    for number, place in enumerate(block.modes(way)):
        sheet.row(*_mode_row(block, way, direction, number, place))
        held.append(_held_cell(block, way, direction, number))
    block.plan.spares[block.index, way] = direction.spares
    for number in range(direction.spares):
        write_spare(block, way, direction, number)
        held.append(spare_held(block, way, direction, number))
    if held:
        title = f"Rates that hold, from {block.names[way]}, {block.plan.link_title(block.link)}"
        sheet.helper(title, ("Mb/s",), [(cell,) for cell in held])


def _shares(block: HopBlock, way: int, direction: Direction) -> None:
    declared = LIMIT["mac_efficiency"]
    efficiency = float(declared.read(block.ways[way]))
    given = block.given(declared, block.ways[way])
    key = block.end(way, "time_share")
    time_share, formula, how = _time_share(block, way, direction, efficiency)
    cell = (
        Calc(key, formula, time_share, format="0.000")
        if formula
        else Number(time_share, key=key, format="0.000")
    )
    block.pair(
        "Share of the rate for user data",
        Calc(block.end(way, "mac_efficiency"), f"{{{given}}}", efficiency, format="0.00"),
        "",
        "",
        "Inputs; of both ways in TDD",
    )
    block.pair("Share of the airtime", cell, "", "", how)
    hub = hub_of(block)
    if hub is not None:
        rate = in_use(block, way, direction, "rate_mbps") if direction.in_use >= 0 else "0"
        write_share(block, way, hub, f"{rate}*{{{block.end(way, 'mac_efficiency')}}}")


def _time_share(block, way: int, direction: Direction, efficiency: float) -> tuple[float, str, str]:
    """Share of the time that a direction sends: figure, formula, where it comes from."""
    if block.ends[0].radio.duplex != TDD:
        return 1.0, "", "both directions at once"
    row, is_reversed = block.row, block.link.uses[0].is_reversed
    up_runs = is_reversed == (way == 0)
    if row.up_share_percent is not None:
        given = block.given(LIMIT["up_share_percent"], block.ways[way])
        share = row.up_share_percent / PERCENT
        how = "Inputs"
    else:
        return _share_by_load(block, up_runs=up_runs)
    if up_runs:
        return share, f"{{{given}}}/{PERCENT:g}", how
    return 1 - share, f"1-{{{given}}}/{PERCENT:g}", how


def _share_by_load(block: HopBlock, *, up_runs: bool) -> tuple[float, str, str]:
    """In proportion to what runs over the hop, as far as radios offer it."""
    use = block.link.uses[0]
    load = block.evaluation.performance.traffic.on(block.link)
    up = float(share_by_load_percent(*load.along(use))) / PERCENT
    share = up if up_runs else 1 - up
    if not any(load):
        return share, "", "even: no demand tells"
    lay_loads(block.plan, block.sheet)
    keys = along((load_key(block.link, 0), load_key(block.link, 1)), use)
    text = share_by_load_percent(*map(Cell.ref, keys)).text
    how = f"by demand, {LEAST_SHARE_PERCENT:g} to {MOST_SHARE_PERCENT:g} %"
    return share, f"({text})/{PERCENT:g}" if up_runs else f"1-({text})/{PERCENT:g}", how


def _mode_row(block, way: int, direction: Direction, number: int, place: int) -> list[SheetCell]:
    modes, prefix = block.radio.modes, block.end(way, f"mode{number}")
    subject = _subjects(block, way)[number]
    cells: list[SheetCell] = [Text(direction.names[number], key=f"{prefix}.name")]
    rate, power, sensitivity = (float(modes[key][place]) for key in _BEFORE_MARGIN)
    cells += [
        _given(block, TERMS["rate_mbps"], subject, prefix, rate),
        _power(block, way, subject, prefix, power),
        _given(block, TERMS["sensitivity_dbm"], subject, prefix, sensitivity),
    ]
    for term in MODE_TERMS[len(_BEFORE_MARGIN) :]:
        value = float(modes[term.key][place])
        key = f"{prefix}.{term.key}"
        if not is_known(value):
            cells.append(Text(NOT_KNOWN, "text right", key=key))
            continue
        if term.formula is None:
            cells.append(Number(value, key=key, format=FORMATS[term.key]))
            continue
        variant = str(block.radio.values[term.by][block.direction(way)]) if term.by else ""
        text = term_text(block, way, number, term.key, variant)
        cells.append(Calc(key, text, value, format=FORMATS[term.key]))
    text = user_rate_text(block, way, number)
    cells.append(Calc(f"{prefix}.user_rate_mbps", text, direction.user[number], format="0.0"))
    cells.append(_use_cell(block, way, direction, number))
    return cells


def _subjects(block: HopBlock, way: int) -> tuple[ModeOfDirection, ...]:
    """Modes of one direction, slowest first."""
    direction, width = block.ways[way], float(block.hops.channel_mhz[block.index])
    sender, receiver = direction.sender.radio, direction.receiver.radio
    return common_modes(sender, receiver, width, block.evaluation.catalog).modes


def _given(
    block, declared: Input, subject: ModeOfDirection, prefix: str, value: float
) -> SheetCell:
    given, key = block.given(declared, subject), f"{prefix}.{declared.key}"
    if given is None:
        return Text(NOT_KNOWN, "text right", key=key)
    return Calc(key, f"{{{given}}}", value, format=FORMATS[declared.key])


def _power(block, way: int, subject: ModeOfDirection, prefix: str, value: float) -> SheetCell:
    """Power in a mode: the smaller of the row's and the mode's."""
    inputs = (block.given(TYPED_POWER, block.ways[way]), block.given(PART_POWER, subject))
    keys = [f"{{{key}}}" for key in inputs if key]
    key = f"{prefix}.mode_power_dbm"
    if not keys or not is_known(value):
        return Text(NOT_KNOWN, "text right", key=key)
    formula = keys[0] if len(keys) == 1 else f"MIN({','.join(keys)})"
    return Calc(key, formula, value, format="0.0")


def _held_cell(block: HopBlock, way: int, direction: Direction, number: int) -> SheetCell:
    key = block.end(way, f"mode{number}.held_mbps")
    if not is_known(direction.margins[number]):
        return Number(0.0, key=key, format="0.0")
    text = held_text(block, way, number)
    return Calc(key, text, direction.held[number], format="0.0")


def _use_cell(block: HopBlock, way: int, direction: Direction, number: int) -> SheetCell:
    key = block.end(way, f"mode{number}.use")
    if direction.in_use < 0:
        return Text(NOT_KNOWN, key=key)
    formula = use_text(block, way, direction, number)
    return Calc(key, formula, _use_word(direction, number))


def _use_word(direction: Direction, number: int) -> str:
    if number == direction.in_use:
        return IN_USE if direction.reached else TOUGHEST
    return HOLDS if direction.held[number] > 0 else NO
