"""The sheets of a workbook as grids."""

from collections.abc import Callable
from pathlib import Path

from backhaul.errors import reason_of
from backhaul.spreadsheet.read_package import MAX_FILE_BYTES, Package, Refused
from backhaul.spreadsheet.read_sheet import read_sheet
from backhaul.spreadsheet.read_workbook import Workbook
from backhaul.tables.collector import Collector
from backhaul.tables.files import TooLarge, read_capped
from backhaul.tables.grid import Grid
from backhaul.tables.names import on_one_line


def read_xlsx(
    path: Path, table_of: Callable[[str], str | None], collector: Collector
) -> list[Grid] | None:
    """All sheets, with the cells of those that are tables; None with a problem.

    table_of: the table that a sheet is called after. Of two sheets of one table the first is read.
    """
    file = on_one_line(path.name)
    try:
        book = Workbook(Package(read_capped(path, MAX_FILE_BYTES)))
        return _grids(book, file, table_of)
    except TooLarge:
        most = f"{MAX_FILE_BYTES >> 20} MiB"
        collector.file_problem(
            file, f"a file of more than {most}", f"at most {most}", "split the design"
        )
    except Refused as refused:
        collector.file_problem(file, refused.found, refused.needed, refused.remedy)
    except OSError as error:
        found = reason_of(error)
        collector.file_problem(file, found, "a file that can be read")
    return None


def _grids(book: Workbook, file: str, table_of: Callable[[str], str | None]) -> list[Grid]:
    wanted = any(table_of(sheet.title) for sheet in book.sheets)
    strings, styles = (book.strings(), book.styles()) if wanted else ([], {})
    grids: list[Grid] = []
    taken: set[str] = set()
    for title, part, is_hidden in book.sheets:
        table = table_of(title)
        if table is None or table in taken:
            grids.append(Grid(title, file, True, (), ()))
            continue
        taken.add(table)
        cells = read_sheet(book.package, part, title, strings, styles, book.epoch)
        remark = f"hidden columns of the sheet {title} were read as all others"
        grids.append(
            Grid(
                title,
                file,
                True,
                cells.numbers,
                cells.columns,
                merges=cells.merges,
                hidden_rows=cells.hidden_rows,
                hidden=is_hidden,
                external=cells.external,
                remarks=(remark,) if cells.has_hidden_columns else (),
            )
        )
    return grids
