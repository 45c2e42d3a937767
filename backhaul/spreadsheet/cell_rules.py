"""What belongs to many cells at once: colours of verdict words, lists and limits of inputs."""

from collections.abc import Iterable
from typing import TYPE_CHECKING

from backhaul.spreadsheet.column_letters import column_letters
from backhaul.spreadsheet.layout import Layout
from backhaul.spreadsheet.sheet_data import SheetData, clean
from backhaul.spreadsheet.styles import VERDICT_FILL, VERDICT_INK, VERDICT_WORDS

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

MAX_PROMPT = 255


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


def limit_inputs(worksheet: "Worksheet", data: SheetData, layout: Layout, number: int) -> None:
    """Lists, limits and hints of the cells that may be typed over; equal ones share a rule."""
    groups: dict[tuple, list[tuple[int, int]]] = {}
    for column, row, cell in data.typed:
        wanted = (cell.choices, cell.least, cell.most, cell.note)
        if any(part not in ("", None) for part in wanted):
            groups.setdefault(wanted, []).append((column, row))
    for (choices, least, most, note), spots in groups.items():
        formula = _list_formula(choices, layout, number, f"{layout.names[number]} drop-down")
        _add(worksheet, ranges(spots), formula, least, most, note)


def _list_formula(choices: str, layout: Layout, number: int, user: str) -> str:
    if not choices:
        return ""
    if choices.startswith("{") and choices.endswith("}"):
        return layout.absolute(choices, user)
    return layout.formula(choices, number, user)


def _add(
    worksheet: "Worksheet",
    where: str,
    formula: str,
    least: float | None,
    most: float | None,
    note: str,
) -> None:
    from openpyxl.worksheet.datavalidation import DataValidation

    rule = DataValidation(sqref=where, allow_blank=True)
    if formula:
        rule.type, rule.formula1 = "list", formula
        rule.error = "Choose from the list."
    elif least is not None or most is not None:
        rule.type, rule.error = "decimal", _limits(least, most)
        if least is not None and most is not None:
            rule.operator, rule.formula1, rule.formula2 = "between", str(least), str(most)
        elif least is not None:
            rule.operator, rule.formula1 = "greaterThanOrEqual", str(least)
        else:
            rule.operator, rule.formula1 = "lessThanOrEqual", str(most)
    if rule.type:
        rule.showErrorMessage = True
        rule.errorStyle = "stop"
    if note:
        rule.showInputMessage = True
        rule.prompt = clean(note)[:MAX_PROMPT]
    worksheet.add_data_validation(rule)


def _limits(least: float | None, most: float | None) -> str:
    if most is None:
        return f"A number of at least {least:g} is wanted."
    if least is None:
        return f"A number of at most {most:g} is wanted."
    return f"A number from {least:g} to {most:g} is wanted."
