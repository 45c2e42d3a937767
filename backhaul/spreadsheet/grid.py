"""Sheets and books as plain rows of cells."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import NamedTuple

from backhaul.spreadsheet.cells import Head, Range, SheetCell, Text, as_cell
from backhaul.spreadsheet.charts import Chart
from backhaul.spreadsheet.shapes import Picture

Content = SheetCell | str | float | None
HELPER_WIDTH = 11.0
#: Between two sections of a sheet.
GAP_PT = 7.0


class Row(NamedTuple):
    """One row: its cells from the left, its height in points (None: from the text).

    A picture fills it over all printed columns, stretched to them.
    """

    cells: tuple[Content, ...]
    height: float | None = None
    style: str = ""
    picture: Picture | None = None


class PlacedChart(NamedTuple):
    """A chart and the cells that it covers."""

    chart: Chart
    first_row: int
    last_row: int
    first_column: int
    last_column: int


@dataclass(slots=True)
class Sheet:
    """One sheet: column widths in characters, rows from the top, helpers beside the print area.

    About 138 characters fill an A4 page in landscape, 94 upright; a wider sheet is shrunk to fit.
    """

    name: str
    title: str
    columns: Sequence[float]
    subtitle: str = ""
    landscape: bool = True
    one_page: bool = False
    tab_color: str = ""
    rows: list[Row] = field(default_factory=list)
    helpers: list[tuple[int, int, SheetCell]] = field(default_factory=list)
    charts: list[PlacedChart] = field(default_factory=list)
    page_breaks: list[int] = field(default_factory=list)
    repeated_rows: tuple[int, int] | None = None
    frozen: tuple[int, int] | None = None
    #: head row, last row of a table with a filter over the printed columns
    filtered: tuple[int, int] | None = None
    #: count by key that stays 0 while figures without a formula hold, and what they show else
    held_until: str = ""
    held_words: str = ""
    #: only yellow cells may be changed, without a password
    locked: bool = False
    #: the row at which print begins: an index above it is for the screen; without `prints`, none
    first_printed: int = 1
    prints: bool = True
    helper_row: int = 1
    helper_columns: int = 0
    #: the first ones; all where it is not said
    printed_columns: int | None = None

    def __post_init__(self) -> None:
        if self.title:
            self.say(self.title, "title")
        if self.subtitle:
            self.say(self.subtitle, "muted")

    @property
    def width(self) -> int:
        """How many columns are printed."""
        return self.printed_columns or len(self.columns)

    @property
    def next_row(self) -> int:
        """The row that comes next."""
        return len(self.rows) + 1

    def row(self, *cells: Content, height: float | None = None, style: str = "") -> int:
        """Add a row; returns its number. `style` is one of styles.ROW_STYLES."""
        self.rows.append(Row(cells, height, style))
        return len(self.rows)

    def table(self, rows: Iterable[Sequence[Content]]) -> Sequence[int]:
        """Add many rows; returns their numbers."""
        first = self.next_row
        self.rows.extend(Row(tuple(cells)) for cells in rows)
        return range(first, self.next_row)

    def blank(self, count: int = 1) -> None:
        """Add empty rows."""
        self.rows.extend([Row(())] * count)

    def gap(self) -> None:
        """Add a low empty row, as between two sections."""
        self.rows.append(Row((), GAP_PT))

    def say(self, text: str, style: str = "plain") -> int:
        """Add words over the whole width."""
        return self.row(Text(text, style, self.width))

    def heading(self, text: str) -> int:
        """Begin a section: a gap and its name."""
        self.gap()
        return self.say(text, "heading")

    def head(self, *names: Content, repeat: bool = False, freeze_columns: int = 0) -> int:
        """Add column headings; `repeat` prints them on every page and keeps them in sight."""
        number = self.row(*(Head(name) if isinstance(name, str) else name for name in names))
        if repeat:
            self.repeated_rows = (number, number)
            self.frozen = (number, freeze_columns)
        return number

    def block(
        self, title: str, head: Sequence[Content], rows: Iterable[Sequence[Content]]
    ) -> Sequence[int]:
        """A section with column headings and rows; returns the numbers of the rows."""
        self.heading(title)
        self.head(*head)
        return self.table(rows)

    def range(self, column: int, first: int, last: int) -> Range:
        """Rows `first` to `last` of a column."""
        return Range(self.name, column, first, last)

    def helper(
        self, title: str, head: Sequence[str], rows: Sequence[Sequence[Content]]
    ) -> list[Range]:
        """Put figures for a chart beside the print area; returns the range of each column."""
        left = len(self.columns) + 2
        top = self.helper_row
        self.helpers.append((top, left, Text(title, "helper head")))
        for offset, name in enumerate(head):
            self.helpers.append((top + 1, left + offset, Text(name, "helper head")))
        for row, cells in enumerate(rows, top + 2):
            for column, content in enumerate(cells, left):
                cell = as_cell(content)
                if cell is not None:
                    role = "helper text" if isinstance(cell, Text) else "helper"
                    styled = cell if cell.style else cell._replace(style=role)
                    self.helpers.append((row, column, styled))
        last = top + 1 + len(rows)
        self.helper_row = last + 2
        self.helper_columns = max(self.helper_columns, len(head))
        return [Range(self.name, left + n, top + 2, last) for n in range(len(head))]

    def chart(
        self, chart: Chart, rows: int = 16, first_column: int = 1, last_column: int = 0
    ) -> None:
        """Leave `rows` empty rows and lay the chart over them (last_column 0: the whole width)."""
        first = self.next_row
        self.blank(rows)
        self.overlay(chart, first, first + rows - 1, first_column, last_column)

    def overlay(
        self, chart: Chart, first_row: int, last_row: int, first_column: int, last_column: int = 0
    ) -> None:
        """Lay a chart over cells that stand already, such as beside another chart."""
        place = PlacedChart(chart, first_row, last_row, first_column, last_column or self.width)
        self.charts.append(place)

    def picture(self, picture: Picture) -> int:
        """Add a row that a picture fills, as high as it is and as wide as print; its number."""
        self.rows.append(Row((), picture.height_pt, picture=picture))
        return len(self.rows)

    @property
    def pictures(self) -> list[tuple[int, Picture]]:
        """Numbers of the rows that pictures fill."""
        return [(n, row.picture) for n, row in enumerate(self.rows, 1) if row.picture is not None]

    def page_break(self) -> None:
        """Begin a new page after the last row."""
        self.page_breaks.append(len(self.rows))


@dataclass(frozen=True, slots=True)
class Book:
    """All sheets and what header, footer and file properties say."""

    sheets: Sequence[Sheet]
    title: str
    created: datetime
    subject: str = ""
    author: str = ""
    keywords: str = ""
    description: str = ""
    revision: str = ""
    date: str = ""
    footer: str = ""
    names: dict[str, str] = field(default_factory=dict)  # defined name -> key
