"""Formula texts of the figures of a mode, with the keys of a mode and of its direction put in."""

from collections.abc import Callable
from functools import cache
from typing import Any

from backhaul.book.formula_cells import number_format
from backhaul.book.sheets.radio_direction import Direction, held_mbps, mode_span
from backhaul.book.sheets.radio_hop import HopBlock
from backhaul.book.sheets.radio_hub import hub_of
from backhaul.figures.mode_terms import MODE_TERMS
from backhaul.figures.terms import Term, arguments
from backhaul.spreadsheet.formula import Cell
from backhaul.wording import AVAILABILITY_FORMAT

TERMS = {term.key: term for term in MODE_TERMS}
_OWN = frozenset(TERMS)
FORMATS = {
    **{term.key: number_format(term.digits) for term in MODE_TERMS},
    # far below a thousandth of a percent a fixed number of digits shows nothing
    "multipath_outage_percent": "[=0]0;0.0E+00",
    "snow_factor": "0.00",
    "availability_percent": AVAILABILITY_FORMAT,
    "user_rate_mbps": "0.0",
    "held_mbps": "0.0",
}
IN_USE, HOLDS, TOUGHEST, NO = "in use", "holds", "most robust", "no"


def term_text(block: HopBlock, way: int, number: int, name: str, variant: str) -> str:
    """Formula text of a term of one mode."""
    return _put_in(_template(name, variant), block, way, number)


def held_text(block: HopBlock, way: int, number: int) -> str:
    """Formula text of the rate that a mode holds."""
    return _put_in(_held_template(), block, way, number)


def user_rate_text(block: HopBlock, way: int, number: int) -> str:
    """Formula text of what a mode leaves for users."""
    names = ["mac_efficiency", "time_share"]
    if hub_of(block) is not None:
        names.append("hub_share")
    text = f"{{{block.end(way, f'mode{number}.rate_mbps')}}}"
    return text + "".join(f"*{{{block.end(way, name)}}}" for name in names)


def use_text(block: HopBlock, way: int, direction: Direction, number: int) -> str:
    """Formula text of what a mode is used for."""
    place, held = block.end(way, "place_in_use"), block.end(way, f"mode{number}.held_mbps")
    best = mode_span(block, way, direction, "held_mbps")
    return (
        f'IF({{{place}}}={number + 1},IF(MAX({best})>0,"{IN_USE}","{TOUGHEST}"),'
        f'IF({{{held}}}>0,"{HOLDS}","{NO}"))'
    )


def _put_in(template: str, block: HopBlock, way: int, number: int) -> str:
    text = template.replace("{m:", "{" + block.end(way, f"mode{number}."))
    return text.replace("{d:", "{" + block.end(way, ""))


@cache
def _template(name: str, variant: str) -> str:
    """Formula text of a term with `{m:…}` for cells of the mode, `{d:…}` for the direction."""
    term: Term = TERMS[name]
    formula: Any = term.formula_for(variant)
    return _text(formula, lambda key: f"{'m' if key in _OWN else 'd'}:{key}")


def _text(formula: Callable, key_of: Callable[[str], str]) -> str:
    return formula(**{name: Cell.ref(key_of(name)) for name in arguments(formula)}).text


@cache
def _held_template() -> str:
    own = ("margin_db", "availability_percent", "rate_mbps")
    return _text(held_mbps, lambda key: f"{'m' if key in own else 'd'}:{key}")
