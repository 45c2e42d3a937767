"""Readings that were taken, as a `readings` table of the design has them."""

from collections.abc import Iterator
from typing import Any

from backhaul.as_built.acceptance import Acceptance


def table_rows(acceptance: Acceptance) -> Iterator[tuple[Any, ...]]:
    """Rows of a `readings` table: figures only, ticks and numbers of things stay in the record."""
    for taken in acceptance.taken:
        if isinstance(taken.value, bool | str):
            continue
        yield (
            taken.reading.site or "no site given",
            taken.reading.key,
            taken.value,
            taken.reading.unit,
            "" if taken.water_level_m is None else taken.water_level_m,
            taken.by,
            taken.date,
            taken.remark,
        )
