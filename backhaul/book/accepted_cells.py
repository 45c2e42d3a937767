"""A thin that somebody answers for is called accepted wherever a cell says it, until that lapses."""

from backhaul.book.plan import Plan
from backhaul.findings import THIN
from backhaul.spreadsheet.cells import Verdict
from backhaul.spreadsheet.grid import Content, Sheet
from backhaul.spreadsheet.styles import ACCEPTED


def say_accepted(plan: Plan, sheet: Sheet) -> None:
    """Verdict cells whose thin somebody answers for say so, until that lapses."""

    def said(cell: Content) -> Content:
        if not isinstance(cell, Verdict) or cell.key not in plan.answered:
            return cell
        word = ACCEPTED if cell.value == THIN else cell.value
        formula, lapses = cell.formula, plan.answered[cell.key]
        if formula:
            accepted = f'IF({lapses},"{THIN}","{ACCEPTED}")' if lapses else f'"{ACCEPTED}"'
            formula = f'IF({formula}="{THIN}",{accepted},{formula})'
        return cell._replace(value=word, formula=formula)

    if plan.answered:
        sheet.rows[:] = [row._replace(cells=tuple(map(said, row.cells))) for row in sheet.rows]
        sheet.helpers[:] = [(row, column, said(cell)) for row, column, cell in sheet.helpers]
