"""Plain cells: what a sheet says, without any spreadsheet library.

A formula is text without a leading `=`; it names other cells by key in braces,
`{light.1.a.launch_min_dbm}-{light.1.a.loss_max_db}`, and ranges as `{first}:{last}`.
A key is any text without braces and is unique in the whole book.
Beside these classes a row takes plain text (`Text`), a plain number (`Number`) and None (empty).
"""

from typing import NamedTuple

Value = int | float | str | bool


class Text(NamedTuple):
    """Words; wrapped, the row grows with them."""

    text: str
    style: str = ""
    span: int = 1
    key: str = ""


class Head(NamedTuple):
    """The heading of a column."""

    text: str
    style: str = ""
    span: int = 1
    key: str = ""


class Number(NamedTuple):
    """A computed figure that stands as a value, without a formula."""

    value: Value
    key: str = ""
    unit: str = ""
    format: str = ""
    style: str = ""
    span: int = 1


class Input(NamedTuple):
    """A figure or word that may be typed over: yellow, blue.

    `choices` is a formula text that gives a range, `least` and `most` bound a number, `whole` wants
    a whole one, `check` is the text of a condition besides; `note` appears when the cell is chosen.
    A value of None leaves the cell empty.
    """

    key: str
    value: Value | None
    unit: str = ""
    format: str = ""
    choices: str = ""
    least: float | None = None
    most: float | None = None
    note: str = ""
    style: str = ""
    span: int = 1
    whole: bool = False
    check: str = ""


class Calc(NamedTuple):
    """A live formula with the value that it has now."""

    key: str
    formula: str
    value: Value
    unit: str = ""
    format: str = ""
    style: str = ""
    span: int = 1


class Verdict(NamedTuple):
    """A verdict word, coloured by what it says; live where it has a formula."""

    value: str
    formula: str = ""
    key: str = ""
    style: str = ""
    span: int = 1


class Link(NamedTuple):
    """Words that lead to a cell (by key) or to a sheet (by name) of this book."""

    text: str
    to: str
    style: str = ""
    span: int = 1
    key: str = ""


class ToFill(NamedTuple):
    """An empty cell that somebody fills in by hand: a price, a reading; words without a format."""

    key: str = ""
    unit: str = ""
    format: str = ""
    choices: str = ""
    least: float | None = None
    most: float | None = None
    note: str = ""
    style: str = ""
    span: int = 1
    whole: bool = False
    check: str = ""


class Range(NamedTuple):
    """Rows `first` to `last` of one column of a sheet; rows and columns count from 1."""

    sheet: str
    column: int
    first: int
    last: int


SheetCell = Text | Head | Number | Input | Calc | Verdict | Link | ToFill


def as_cell(content: SheetCell | str | float | None) -> SheetCell | None:
    """A plain text becomes Text, a plain number Number.

    >>> as_cell("far end")
    Text(text='far end', style='', span=1, key='')
    """
    if content is None or isinstance(content, tuple):
        return content
    return Text(content) if isinstance(content, str) else Number(content)
