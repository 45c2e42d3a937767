"""Site cards: the three figures of a reading as live cells, and by the water level that is typed."""

from typing import Any, NamedTuple

from backhaul.book.formula_cells import NOT_KNOWN, number_format
from backhaul.book.optical_keys import light_key
from backhaul.book.sheets.shared import is_known
from backhaul.book.sheets.site_card import NONE, Card
from backhaul.book.sheets.wired_plan import line_prefix
from backhaul.budgets.readings_light import fiber_mode, heard
from backhaul.budgets.readings_radio import heard_way, slowest_mode
from backhaul.budgets.site_index import Terminal
from backhaul.budgets.site_reading import (
    BREAKER,
    CHAIN,
    CHANNEL,
    EXPECTED,
    HIGHEST,
    LENGTH,
    LEVEL,
    LIGHT,
    LOSS,
    LOWEST,
    VOLTS,
    Bound,
    SiteReading,
)
from backhaul.budgets.water_bands import WATER_TOLERANCE_M
from backhaul.figures import reading_formulas as formulas
from backhaul.path.routes import STRAIGHT_LINE_TOLERANCE_M
from backhaul.spreadsheet.cells import Calc, Number, SheetCell, Text
from backhaul.spreadsheet.formula import Cell

_PRACTICE = "common practice, to be confirmed"
#: Figures of a formula that stand in it as they are.
_CONSTANT = frozenset(("loops", "split_db"))
_BOUNDS = (EXPECTED, LOWEST, HIGHEST)


class Figure(NamedTuple):
    """A figure of a reading: text of its formula ("" where no sheet holds it), its value now."""

    text: str
    value: float
    digits: int

    def cell(self, key: str, text: str = "", value: Any = None) -> SheetCell:
        """The cell, or that of a formula made of it."""
        shown = number_format(self.digits)
        now = self.value if value is None else value
        if not self.text:
            return Number(now, key=key, format=shown, style="card figure")
        return Calc(key, text or self.text, now, format=shown, style="card figure")


class Band(NamedTuple):
    """Keys of the slices of one water beside the card, and of the cell where its level is typed."""

    water: str
    first: str
    last: str
    low_m: float
    high_m: float

    def slice_text(self, column: str, water: str) -> str:
        """Figure of the slice that a level lies in."""
        area = f"{{{self.first}.{column}}}:{{{self.last}.{column}}}"
        place = f"MATCH(ROUND(MAX({water},{{{self.first}.from}}),6)"
        return f"INDEX({area},{place},{{{self.first}.from}}:{{{self.last}.from}},1))"

    def text(self, all_levels: str, at_level: str) -> str:
        """All levels while none is typed, none beyond those that were computed."""
        water = f"{{{self.water}}}"
        low, high = self.low_m - WATER_TOLERANCE_M, self.high_m + WATER_TOLERANCE_M
        inside = f"AND({water}>={round(low, 6):g},{water}<={round(high, 6):g})"
        return f'IF(ISNUMBER({water}),IF({inside},{at_level},"{NONE}"),{all_levels})'


def limit_cells(card: Card, reading: SiteReading, band: Band | None) -> dict[str, SheetCell]:
    """Expected, lowest and highest as cells; a limit that does not exist is left out."""
    found = {
        name: figure_of(card, reading, reading.bounds[name])
        for name in _BOUNDS
        if name in reading.bounds
    }
    texts = {name: figure.text for name, figure in found.items()}
    if band is not None and all(texts.values()):
        texts = _by_water(card, reading, band, texts)
    low, high = (found.get(name) for name in (LOWEST, HIGHEST))
    cannot = ""
    if low and high and low.text and high.text and not reading.is_bearing:
        cannot = f"{texts[LOWEST]}>{texts[HIGHEST]}"
    elif low and high and not reading.is_bearing and low.value > high.value:
        return {
            name: figure.cell(card.key(f"{reading.key}.{name}"))
            if name == EXPECTED
            else Text(NONE, "card right", key=card.key(f"{reading.key}.{name}"))
            for name, figure in found.items()
        }
    cells: dict[str, SheetCell] = {}
    for name, figure in found.items():
        key = card.key(f"{reading.key}.{name}")
        if not is_known(figure.value):
            cells[name] = Text(NOT_KNOWN, "card right", key=key)
        elif cannot and name != EXPECTED and band is None:
            met = reading.limits.can_be_met
            cells[name] = figure.cell(
                key, f'IF({cannot},"{NONE}",{texts[name]})', figure.value if met else NONE
            )
        else:
            cells[name] = figure.cell(key, texts[name])
    return cells


def _by_water(
    card: Card, reading: SiteReading, band: Band, texts: dict[str, str]
) -> dict[str, str]:
    """Texts of the figures where they follow the water level."""
    received, tolerance = (
        f"{{{term_key(card, reading, term)}}}" for term in ("received_dbm", "tolerance_db")
    )
    water = f"{{{band.water}}}"
    slices = {name: band.slice_text(name, water) for name in _BOUNDS}
    at_level = {
        EXPECTED: f"{received}+{slices[EXPECTED]}",
        LOWEST: heard_text(card, reading, f"{received}+{slices[LOWEST]}-{tolerance}"),
        HIGHEST: f"MIN({texts[HIGHEST]},{received}+{slices[HIGHEST]}+{tolerance})",
    }
    return {name: band.text(text, at_level[name]) for name, text in texts.items()}


def heard_text(card: Card, reading: SiteReading, text: str) -> str:
    """Formula text of a lowest level, never below what the slowest mode needs."""
    values = reading.bounds[LOWEST].values
    if "slowest_dbm" not in values:
        return text
    floor = f"{{{term_key(card, reading, 'slowest_dbm')}}}-{values['split_db']!r}"
    return f"MAX({text},{floor})"


def figure_of(card: Card, reading: SiteReading, bound: Bound) -> Figure:
    """One figure with the text of its formula."""
    keys = {name: term_key(card, reading, name) for name in bound.values}
    live = is_known(bound.value) and all(
        key is not None or name in _CONSTANT for name, key in keys.items()
    )
    if not live:
        return Figure("", bound.value, bound.digits)
    refs = {
        name: Cell.ref(key) if key is not None else bound.values[name] for name, key in keys.items()
    }
    made = bound.formula(**refs) if bound.formula else next(iter(refs.values()))
    return Figure(made.text, bound.value, bound.digits)


def term_key(card: Card, reading: SiteReading, term: str) -> str | None:
    """Key of a figure that a reading rests on; None where no sheet before this one holds it."""
    if term in ("tolerance_db", "tolerance_m", "uncertainty_db"):
        return _rule(card, reading)
    if reading.kind == LENGTH:
        return _of_length(card, reading, term)
    link = reading.subject.link if reading.kind in (VOLTS, BREAKER) else reading.subject
    if not card.is_live(link):
        return None
    if reading.kind in (VOLTS, BREAKER):
        return _of_line(card, reading, term)
    if reading.kind == CHANNEL:
        return f"copper.{link.index}.{term}"
    if reading.kind in (LOSS, LIGHT):
        own = heard(card.evaluation, link, reading.end)
        name = "accepted_loss_db" if term == "limit_db" else term
        return f"{light_key(own)}.{name}"
    if term == "split_db":
        return None
    terminal = Terminal(link, reading.end)
    if term == "slowest_dbm":
        mode = slowest_mode(card.evaluation.radio, heard_way(terminal))
        return f"{terminal.hears}.mode{mode}.sensitivity_dbm"
    return _of_hop(terminal, reading, term)


def _of_hop(terminal: Terminal, reading: SiteReading, term: str) -> str:
    if reading.kind in (LEVEL, CHAIN):
        name = term
        if term == "received_dbm" and reading.kind == CHAIN:
            name = "received_chain_dbm"
        return f"{terminal.hears}.{name}"
    names = {"angle_deg": f"{reading.kind}_deg", "height_m": "above_m"}
    return f"{terminal.sends}.{names.get(term, term)}"


def _of_line(card: Card, reading: SiteReading, term: str) -> str:
    line, prefix = reading.subject, line_prefix(card.plan, reading.subject.link)
    if term != "stands_v":
        return f"{prefix}.{term}"
    wanted = reading.bounds[HIGHEST].values[term]
    place = next(n for n, values in enumerate(line.load_values) if values[term] == wanted)
    return f"{prefix}.load{place}.stands_v"


def _of_length(card: Card, reading: SiteReading, term: str) -> str | None:
    inputs, evaluation = card.plan.inputs, card.evaluation
    if term == "length_m":
        return inputs.row(reading.subject.row, "length_m", "length", "m")
    if term == "slack_percent":
        return inputs.project(evaluation, "cable_slack_percent", "slack of a run", "%")
    if term == "straight_m":
        return card.rule(
            f"straight_m.{reading.key}",
            f"straight line of {reading.subject.name}, less {STRAIGHT_LINE_TOLERANCE_M:g} m",
            reading.bounds[LOWEST].values[term],
            "m",
            "WGS 84 geodesic; places are rounded (common practice)",
        )
    if term == "loop_m":
        return inputs.project(evaluation, "loop_m", "slack loop at each end outdoors", "m")
    return None


def _rule(card: Card, reading: SiteReading) -> str:
    """The tolerance of a reading, on Inputs."""
    if reading.kind == LOSS:
        mode = fiber_mode(card.evaluation, reading.subject)
        return card.rule(
            f"loss_uncertainty_db.{mode}",
            f"uncertainty of a measured loss, {mode}-mode",
            formulas.LOSS_UNCERTAINTY_DB[mode],
            "dB",
            formulas.LOSS_UNCERTAINTY_SOURCE[mode],
        )
    if reading.kind == CHAIN:
        return card.rule(
            "chain_tolerance_db",
            "level read of one chain against the budget",
            formulas.CHAIN_TOLERANCE_DB,
            "dB",
            _PRACTICE,
        )
    if reading.kind == LEVEL:
        return card.rule(
            "level_tolerance_db",
            "level read at a radio against the budget",
            formulas.LEVEL_TOLERANCE_DB,
            "dB",
            _PRACTICE,
        )
    return card.rule(
        "height_tolerance_m",
        "height of an antenna as mounted",
        formulas.HEIGHT_TOLERANCE_M,
        "m",
        _PRACTICE,
    )
