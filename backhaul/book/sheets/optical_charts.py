"""Level along the fiber, worst case, both ways, between overload and sensitivity."""

from typing import Any

from backhaul.book.sheets.optical_link import LinkBlock
from backhaul.book.sheets.shared import is_known
from backhaul.spreadsheet.axis_scale import Axis
from backhaul.spreadsheet.cells import Calc, Range
from backhaul.spreadsheet.charts import LinesChart, Series

#: Share of the window between overload and sensitivity below which a fall of the level tells nothing.
_FLAT = 0.25
_SENSITIVITY, _OVERLOAD = "C05A4E", "D9A441"


def level_chart(block: LinkBlock) -> LinesChart | None:
    """The chart of one link; None where a level is not known, or would be drawn flat."""
    if not all(is_known(block.value("received_min_dbm", way)) for way in (0, 1)):
        return None
    if _is_flat(block):
        return None
    lengths = [_length_km(block, row) for row in block.items]
    title, axis = block.plan.link_title(block.link), "km from the first end"
    if not sum(lengths):  # measured losses without lengths: one row after the other
        lengths = [1.0] * len(lengths)
        axis = "rows from the first end"
    total = round(sum(lengths), 6) or 1.0
    series = [_line(block, way, lengths, total, title) for way in (0, 1)]
    series += _limits(block, total)
    return LinesChart(
        "Level along the fiber, worst case",
        Axis(axis, least=0.0, most=total),
        Axis("dBm"),
        series,
        f"Level along the fiber in both directions, {title}",
    )


def _is_flat(block: LinkBlock) -> bool:
    """Whether the level falls by little of what lies between overload and sensitivity."""
    window = float(block.value("overload_dbm", 0)) - float(block.value("sensitivity_dbm", 0))
    falls = [float(block.value("loss_max_db", way)) for way in (0, 1)]
    return is_known(window) and max(falls) < _FLAT * window


def _length_km(block: LinkBlock, row: Any) -> float:
    arrays, place = block.item(row, 0)
    length = float(arrays["length_km"][place]) if "length_km" in arrays else 0.0
    return length if is_known(length) else 0.0


def _line(block: LinkBlock, way: int, lengths: list[float], total: float, title: str) -> Series:
    """Level of one direction: a point before and after every row."""
    level = float(block.value("launch_min_dbm", way))
    formula, x = f"{{{block.key(way, 'launch_min_dbm')}}}", 0.0 if way == 0 else total
    rows, chart = [], f"{block.prefix}.chart.{block.directions[way].letter}"
    steps = list(zip(block.items, lengths, strict=True))
    for number, (row, length) in enumerate([(None, 0.0), *(steps if way == 0 else steps[::-1])]):
        key = f"{chart}.{number}"
        if row is not None:
            arrays, place = block.item(row, way)
            level -= float(arrays["loss_max_db"][place])
            x += length if way == 0 else -length
            above = f"{chart}.{number - 1}"
            formula = f"{{{above}}}-{{{block.row_key(way, row, 'loss_max_db')}}}"
        rows.append((round(x, 6), Calc(key, formula, level)))
    made = block.sheet.helper(f"Level {block.way(way)}, {title}", ("km", "dBm"), rows)
    return Series(block.way(way), made[1], at=made[0], dashed=bool(way))


def _limits(block: LinkBlock, total: float) -> list[Series]:
    """Sensitivity and overload, where they are known, of what the near end sends."""
    series = []
    for name, label, colour in (
        ("sensitivity_dbm", "sensitivity", _SENSITIVITY),
        ("overload_dbm", "overload", _OVERLOAD),
    ):
        value = float(block.value(name, 0))
        if not is_known(value):
            continue
        formula = f"{{{block.key(0, name)}}}"
        made: list[Range] = block.sheet.helper(
            label, ("km", "dBm"), [(x, Calc("", formula, value)) for x in (0.0, total)]
        )
        series.append(Series(label, made[1], at=made[0], colour=colour, width_pt=1.0))
    return series
