"""Room for modes that an offered radio has beside as many as ours: rows of a hop, cells to type into.

Keys: `alt.radio_modes.{part}.{channel}.further{k}.{rate_mbps|sensitivity_dbm|tx_power_dbm}` of what is
typed, `air.{index}.{a|b}.mode{n}.…` of what comes of it, n counting on behind our own modes. A mode
counts where all that it takes is typed, for both ends. Radio hops leaves the rows, Alternatives fills
them, since it alone has the cells to type into.
"""

from collections.abc import Callable

from backhaul.book.plan import Plan
from backhaul.spreadsheet.cells import Calc, SheetCell, Text
from backhaul.spreadsheet.grid import Row, Sheet

#: Further modes of a radio; of more hops than that a book takes none, so that it stays small.
SPARE_MODES, MOST_HOPS = 3, 40
TYPED = ("rate_mbps", "sensitivity_dbm", "tx_power_dbm")
NOTHING = "–"
#: Outage of a mode of which nothing is known [%].
_ALWAYS_OUT = 100


def spare_key(part: str, channel_mhz: float, number: int, name: str) -> str:
    """Key of what is typed of a further mode, numbers counting from 0."""
    return f"alt.radio_modes.{part}.{channel_mhz:g}.further{number}.{name}"


def spare_name(number: int) -> str:
    """How a further mode is called."""
    return f"offered {number + 1}"


def where_typed(test: str, text: str) -> str:
    """Formula text of a figure where its mode is typed, a dash where not."""
    return f'IF({test},{text},"{NOTHING}")'


def placeholders(keys: list[str]) -> list[Text]:
    """Cells of a row whose mode is not offered."""
    return [Text(NOTHING, "text right", key=key) for key in keys]


def leave_row(plan: Plan, sheet: Sheet, cells: Callable[[], list[SheetCell]]) -> None:
    """Remember the last row of a sheet, and what fills it once there is something to type into."""
    plan.spare_rows.append((sheet, len(sheet.rows), cells))


def fill_rows(plan: Plan) -> None:
    """Let the rows of the hops follow what is typed."""
    for sheet, number, cells in plan.spare_rows:
        row, filled = sheet.rows[number - 1], cells()
        if filled:
            sheet.rows[number - 1] = Row(tuple(filled), row.height, row.style)


def figure(key: str, text: str, shown: str) -> Calc:
    """A figure of a further mode, none now."""
    return Calc(key, text, NOTHING, format=shown, style="calc")


def reflection_bound(margin: str, known: list[tuple[str, str]]) -> str:
    """Formula text of the reflection outage of a mode, never below the truth.

    It falls as the margin rises, so that of any of our modes with less margin bounds it. margin: of
    the mode; known: margin and outage of each of ours, as texts.

    >>> reflection_bound("{m}", [("{a}", "{x}")])
    'MIN(100,IF({a}<={m},{x},100))'
    """
    terms = [f"IF({own}<={margin},{outage},{_ALWAYS_OUT})" for own, outage in known]
    return f"MIN({_ALWAYS_OUT},{','.join(terms)})"
