"""Sizes of conductors by the American wire gauge, as the trade writes them."""

import re
from typing import NamedTuple

from backhaul.physics.copper import awg_area_mm2

#: One circular mil, the area of a round of 0.001 in: ASTM B258.
MM2_PER_KCMIL = 0.506707
THICKEST_GAUGE, THINNEST_GAUGE = -3, 40  # 4/0 to 40, as ASTM B258 tabulates
#: Conductors thicker than 4/0 go by their area: sizes of the trade (common practice).
KCMIL_SIZES = (250, 300, 350, 400, 500, 600, 700, 750, 800, 900, 1000, 1250, 1500, 1750, 2000)
#: A conductor this near to a gauge is that gauge: IEC and AWG sizes of one name lie further apart.
SAME_SIZE = 0.02
WANTED = "a size of the American wire gauge such as 12, 2/0 or 250 kcmil"
_AUGHTS = re.compile(r"([1-4])/0|(0{1,4})")
_NUMBER = re.compile(r"\d{1,2}")
_KCMIL = re.compile(r"(\d{3,4})(?:kcmil|mcm)")


class Size(NamedTuple):
    """A size of a conductor: its name and area."""

    name: str
    area_mm2: float


def _gauge_name(gauge: int) -> str:
    return f"{gauge} AWG" if gauge > 0 else f"{1 - gauge}/0 AWG"


def _sizes() -> tuple[Size, ...]:
    gauges = range(THINNEST_GAUGE, THICKEST_GAUGE - 1, -1)
    thin = [Size(_gauge_name(gauge), float(awg_area_mm2(gauge=gauge))) for gauge in gauges]
    return (*thin, *(Size(f"{size} kcmil", size * MM2_PER_KCMIL) for size in KCMIL_SIZES))


#: Every size, the thinnest first.
SIZES = _sizes()
_AREAS = {size.name: size.area_mm2 for size in SIZES}


def spelled_gauge(cell: str) -> str:
    """The one spelling of a size; raises ValueError where it is none.

    >>> spelled_gauge("#12"), spelled_gauge("00"), spelled_gauge("4/0 awg"), spelled_gauge("250MCM")
    ('12 AWG', '2/0 AWG', '4/0 AWG', '250 kcmil')
    """
    text = cell.lower().replace(" ", "").removeprefix("#").removeprefix("no.")
    text = text.removeprefix("awg").removesuffix("awg")
    if found := _AUGHTS.fullmatch(text):
        name = _gauge_name(1 - (int(found[1]) if found[1] else len(found[2])))
    elif found := _KCMIL.fullmatch(text):
        name = f"{int(found[1])} kcmil"
    elif _NUMBER.fullmatch(text):
        name = _gauge_name(int(text))
    else:
        raise ValueError(cell)
    if name not in _AREAS:
        raise ValueError(cell)
    return name


def gauge_area_mm2(name: str) -> float:
    """Area of a size by its one spelling [mm²].

    >>> round(gauge_area_mm2("12 AWG"), 2), round(gauge_area_mm2("4/0 AWG"), 1)
    (3.31, 107.2)
    """
    return _AREAS[name]


def gauge_of(area_mm2: float) -> str | None:
    """The size that an area is, None where it lies between two.

    >>> gauge_of(3.31), gauge_of(2.5), gauge_of(0.205)
    ('12 AWG', None, '24 AWG')
    """
    nearest = min(SIZES, key=lambda size: abs(size.area_mm2 - area_mm2))
    is_near = abs(nearest.area_mm2 - area_mm2) <= SAME_SIZE * nearest.area_mm2
    return nearest.name if is_near else None


def gauge_not_below(area_mm2: float) -> str | None:
    """The thinnest size that has that area at the least, None beyond the thickest.

    >>> gauge_not_below(2.5), gauge_not_below(3.31), gauge_not_below(95)
    ('12 AWG', '12 AWG', '4/0 AWG')
    """
    if (same := gauge_of(area_mm2)) is not None:
        return same
    sold = (s for s in SIZES if s.area_mm2 >= area_mm2 and _is_sold(s.name))
    return next((size.name for size in sold), None)


def _is_sold(name: str) -> bool:
    """Whether supply cable comes in that size: even gauges, 1 and thicker (common practice)."""
    gauge = name.removesuffix(" AWG")
    return not gauge.isdecimal() or int(gauge) % 2 == 0 or gauge == "1"
