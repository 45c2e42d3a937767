"""One reading as somebody wrote it down, with its place."""

from typing import Any, NamedTuple

from backhaul.design.model import Reading
from backhaul.tables.twins import METRE


class Entry(NamedTuple):
    """A filled row of a card or of a `readings` table; cells as they were found.

    where: file, sheet and cell of the figure. digest, revision: of the design that the card tells.
    what: what the card says is read.
    faults: what is wrong with the row as such, whatever its figure.
    """

    key: str
    value: Any
    where: str
    file: str
    site: str | None = None
    unit: Any = None
    water: Any = None
    by: Any = None
    date: Any = None
    remark: Any = None
    digest: str = ""
    revision: str = ""
    faults: tuple[str, ...] = ()
    what: Any = None
    water_unit: str = METRE


def of_table(rows: tuple[Reading, ...], file: str = "") -> list[Entry]:
    """Entries of a `readings` table."""
    return [
        Entry(
            row.reading,
            row.value,
            f"{file}: {row.at('value')}"
            if file and file not in row.at("value")
            else row.at("value"),
            file,
            row.site,
            row.unit,
            row.water_level_m,
            row.by,
            row.date,
            row.remark,
        )
        for row in rows
    ]
