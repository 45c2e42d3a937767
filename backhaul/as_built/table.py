"""Readings that were taken, as a `readings` table of the design has them."""

from collections.abc import Iterator
from typing import Any

from backhaul.as_built.acceptance import Acceptance
from backhaul.design.columns import READINGS
from backhaul.design.settings import US
from backhaul.tables.twins import FOOT, METRE, feet, in_us_units


def table_heads(acceptance: Acceptance) -> list[str]:
    """Heads of the table, in feet where the project is."""
    columns = in_us_units(READINGS) if _in_feet(acceptance) else READINGS
    return [column.name for column in columns]


def table_rows(acceptance: Acceptance) -> Iterator[tuple[Any, ...]]:
    """Rows of a `readings` table: figures only, ticks and numbers of things stay in the record."""
    in_feet = _in_feet(acceptance)
    for taken in acceptance.taken:
        value, unit, water = taken.value, taken.reading.unit, taken.water_level_m
        if isinstance(value, bool | str):
            continue
        if in_feet and unit == METRE:
            value, unit = feet(value), FOOT
        if in_feet and water is not None:
            water = feet(water)
        yield (
            taken.reading.site or "no site given",
            taken.reading.key,
            value,
            unit,
            "" if water is None else water,
            taken.by,
            taken.date,
            taken.remark,
        )


def _in_feet(acceptance: Acceptance) -> bool:
    return acceptance.results.design.project.units == US
