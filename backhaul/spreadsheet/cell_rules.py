"""What belongs to many cells at once: colours of verdict words, lists and limits of inputs."""

from collections.abc import Iterable
from typing import TYPE_CHECKING, NamedTuple

from backhaul.spreadsheet.cells import Input, ToFill
from backhaul.spreadsheet.column_letters import column_letters
from backhaul.spreadsheet.grid import Sheet
from backhaul.spreadsheet.layout import Layout
from backhaul.spreadsheet.sheet_data import SheetData, clean
from backhaul.spreadsheet.styles import THIN, VERDICT_FILL, VERDICT_INK, VERDICT_WORDS
from backhaul.spreadsheet.text_width import column_pt, text_pt

if TYPE_CHECKING:
    from openpyxl.worksheet.datavalidation import DataValidation
    from openpyxl.worksheet.worksheet import Worksheet

MAX_PROMPT = 255
#: Number of a format of our own, clear of those of cells (ECMA-376 part 1, 18.8.30: from 164).
_HELD_FORMAT = 900
#: Size of the figures that it covers, with the indent of a cell.
_HELD_PT = 11.5
#: Beyond it no figure of a design lies: a limit of this kind only keeps words out.
MOST_FIGURE = 1e15


def ranges(spots: Iterable[tuple[int, int]]) -> str:
    """Single cells (column, row) as few vertical ranges.

    >>> ranges([(2, 5), (2, 6), (2, 7), (3, 5)])
    'B5:B7 C5'
    """
    runs: list[list[int]] = []
    for column, row in sorted(spots):
        if runs and runs[-1][0] == column and runs[-1][2] == row - 1:
            runs[-1][2] = row
        else:
            runs.append([column, row, row])
    return " ".join(
        f"{column_letters(column)}{first}"
        + (f":{column_letters(column)}{last}" if last > first else "")
        for column, first, last in runs
    )


def colour_verdicts(worksheet: "Worksheet", data: SheetData) -> None:
    """Colour every verdict cell by its word, live."""
    from openpyxl.formatting.formatting import ConditionalFormatting
    from openpyxl.formatting.rule import CellIsRule
    from openpyxl.styles import Font, PatternFill

    if not data.verdicts:
        return
    cells = ((column + n, row) for column, row, span in data.verdicts for n in range(span))
    where = ConditionalFormatting(ranges(cells))
    for verdict, words in VERDICT_WORDS.items():
        fill = PatternFill("solid", bgColor=VERDICT_FILL[verdict])
        font = Font(bold=True, color=VERDICT_INK[verdict])
        for word in words:
            rule = CellIsRule(operator="equal", formula=[f'"{word}"'], font=font, fill=fill)
            worksheet.conditional_formatting.add(where, rule)


def mark_held(worksheet: "Worksheet", data: SheetData, sheet: Sheet, layout: Layout) -> None:
    """Figures and verdicts without a formula say so, live, where they no longer hold."""
    if not sheet.held_until or not data.held:
        return
    from openpyxl.formatting.formatting import ConditionalFormatting
    from openpyxl.formatting.rule import Rule
    from openpyxl.styles import Font, PatternFill
    from openpyxl.styles.differential import DifferentialStyle
    from openpyxl.styles.numbers import NumberFormat

    count = layout.absolute(sheet.held_until, f"{sheet.name} figures that hold")
    groups: dict[str, list[tuple[int, int]]] = {}
    for column, row in data.held:
        words = sheet.held_words
        if column_pt(sheet.columns[column - 1]) < text_pt(words, _HELD_PT, bold=True):
            words = words.rpartition(" ")[2]  # a cell too narrow shows signs instead
        groups.setdefault(words, []).append((column, row))
    for place, (words, spots) in enumerate(groups.items()):
        shown = ";".join([f'"{words}"'] * 4)  # above, below and at zero, and words
        look = DifferentialStyle(
            font=Font(bold=True, color=VERDICT_INK[THIN]),
            fill=PatternFill("solid", bgColor=VERDICT_FILL[THIN]),
            numFmt=NumberFormat(numFmtId=_HELD_FORMAT + place, formatCode=shown),
        )
        rule = Rule(type="expression", dxf=look, formula=[f"{count}>0"])
        worksheet.conditional_formatting.add(ConditionalFormatting(ranges(spots)), rule)


class _Wanted(NamedTuple):
    """What cells that may be typed over hold; equal ones share a rule."""

    choices: str
    least: float | None
    most: float | None
    whole: bool
    note: str


def limit_inputs(worksheet: "Worksheet", data: SheetData, layout: Layout, number: int) -> None:
    """Lists, limits and hints of the cells that may be typed over; a figure takes no words."""
    groups: dict[_Wanted, list[tuple[int, int]]] = {}
    for column, row, cell in data.typed:
        least, most = cell.least, cell.most
        if _is_figure(cell) and not cell.choices:
            least = -MOST_FIGURE if least is None else least
        wanted = _Wanted(cell.choices, least, most, cell.whole, cell.note)
        if cell.check:
            _conditional(worksheet, f"{column_letters(column)}{row}", wanted, cell, layout, number)
        elif any(part not in ("", None, False) for part in wanted):
            groups.setdefault(wanted, []).append((column, row))
    for wanted, spots in groups.items():
        formula = _list_formula(wanted.choices, layout, number, f"{layout.names[number]} drop-down")
        _add(worksheet, ranges(spots), formula, wanted)


def _is_figure(cell: Input | ToFill) -> bool:
    """A figure by its value, or an empty cell that has the format of one."""
    if isinstance(cell, Input) and cell.value is not None:
        return not isinstance(cell.value, str)
    return cell.format not in ("", "@")


def _conditional(
    worksheet: "Worksheet",
    where: str,
    wanted: _Wanted,
    cell: Input | ToFill,
    layout: Layout,
    number: int,
) -> None:
    """A figure within its limits, and a condition over other cells besides."""
    from openpyxl.worksheet.datavalidation import DataValidation

    tests = [f"ISNUMBER({where})", layout.formula(cell.check, number, f"{where} condition")]
    tests += [] if wanted.least is None else [f"{where}>={wanted.least!r}"]
    tests += [] if wanted.most is None else [f"{where}<={wanted.most!r}"]
    tests += [f"{where}=INT({where})"] if wanted.whole else []
    rule = DataValidation(
        sqref=where, type="custom", formula1=f"AND({','.join(tests)})", allow_blank=True
    )
    rule.error = _limits(wanted)
    rule.showErrorMessage = True
    _prompt(rule, wanted.note)
    worksheet.add_data_validation(rule)


def _list_formula(choices: str, layout: Layout, number: int, user: str) -> str:
    if not choices:
        return ""
    if choices.startswith("{") and choices.endswith("}"):
        return layout.absolute(choices, user)
    return layout.formula(choices, number, user)


def _add(worksheet: "Worksheet", where: str, formula: str, wanted: _Wanted) -> None:
    from openpyxl.worksheet.datavalidation import DataValidation

    rule = DataValidation(sqref=where, allow_blank=True)
    least, most = wanted.least, wanted.most
    if formula:
        rule.type, rule.formula1 = "list", formula
        rule.error = "Choose from the list."
    elif least is not None or most is not None:
        rule.type, rule.error = "whole" if wanted.whole else "decimal", _limits(wanted)
        if least is not None and most is not None:
            rule.operator, rule.formula1, rule.formula2 = "between", str(least), str(most)
        elif least is not None:
            rule.operator, rule.formula1 = "greaterThanOrEqual", str(least)
        else:
            rule.operator, rule.formula1 = "lessThanOrEqual", str(most)
    if rule.type:
        rule.showErrorMessage = True
        rule.errorStyle = "stop"
    _prompt(rule, wanted.note)
    worksheet.add_data_validation(rule)


def _prompt(rule: "DataValidation", note: str) -> None:
    if note:
        rule.showInputMessage = True
        rule.prompt = clean(note)[:MAX_PROMPT]


def _limits(wanted: _Wanted) -> str:
    what = "A whole number" if wanted.whole else "A number"
    least, most = wanted.least, wanted.most
    if least == -MOST_FIGURE:
        least = None
    if least is None and most is None:
        return f"{what} is wanted."
    if most is None:
        return f"{what} of at least {least:g} is wanted."
    if least is None:
        return f"{what} of at most {most:g} is wanted."
    return f"{what} from {least:g} to {most:g} is wanted."
