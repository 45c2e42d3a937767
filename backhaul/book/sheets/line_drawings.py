"""Line drawings: each path from left to right, the verdict of each link below it, live.

Keys: `drawing.{path}` where the drawing of a path begins, `drawing.{path}.verdict`,
`drawing.{path}.{strip}.{first}-{last}` of the verdict of a link below a strip.
"""

from collections.abc import Sequence
from math import ceil

from backhaul.book.pictures import (
    MOST_PATHS,
    SCALE,
    Beside,
    PathPictures,
    drawing_key,
    drawn_paths,
)
from backhaul.book.plan import Plan
from backhaul.book.sheets.page_fit import Block, fit_pages
from backhaul.book.us_sheet import sheet_of
from backhaul.drawing.path_drawing import Bar
from backhaul.spreadsheet.cells import Link, SheetCell, Text, Verdict
from backhaul.spreadsheet.grid import Content, Sheet
from backhaul.spreadsheet.row_height import INDENT_PT
from backhaul.spreadsheet.shapes import PT_PER_MM
from backhaul.spreadsheet.styles import LOOKS
from backhaul.spreadsheet.text_width import column_pt, text_pt

NAME = "Line drawings"
#: Narrow columns, so that a cell can stand below any part of a drawing: whole pixels each, together
#: a page in landscape.
_COUNT, _PX, _PX_PER_CHARACTER, _PT_PER_PX = 60, 17, 7, 0.75
_COLUMNS = (_PX / _PX_PER_CHARACTER,) * _COUNT
_COLUMN_PT = _PX * _PT_PER_PX
#: Columns of a verdict below a link, and in the heading of a path with the way back to its rows.
_VERDICT, _HEAD_VERDICT, _BACK, _SHORT_BACK = 3, 4, 8, 3
#: Kept free behind a title of two side by side.
_SPARE_PT = 6.0


def build(plan: Plan) -> Sheet | None:
    """The sheet; None where a design has no path."""
    paths = drawn_paths(plan.evaluation)
    if not paths:
        return None
    sheet = sheet_of(plan.evaluation.design, NAME, NAME, _COLUMNS, subtitle=_subtitle(plan, paths))
    pictures = PathPictures(plan.evaluation, _COUNT * _COLUMN_PT)
    blocks = []
    waiting = list(paths)
    while waiting:
        first = sheet.next_row
        path = waiting.pop(0)
        pair = _pair(plan, path, waiting[0], pictures) if waiting else None
        if pair is not None:
            _write_pair(plan, sheet, path, waiting.pop(0), pair)
        sections = [] if pair is not None else _write(plan, sheet, path, pictures)
        blocks.append(Block(first, sections, sheet.next_row - 1))
    fit_pages(sheet, blocks)
    _lead_here(plan, paths)
    return sheet


def _lead_here(plan: Plan, paths: Sequence[str]) -> None:
    """In the heading of each path on Chain, the way to its drawing."""
    keys = {plan.anchors["path", path]: drawing_key(path) for path in paths}
    chain = next((sheet for sheet in plan.sheets if sheet.name == "Chain"), None)
    for number, row in enumerate(chain.rows if chain is not None else ()):
        first = row.cells[0] if row.cells else None
        if chain is not None and isinstance(first, Text) and first.key in keys:
            heading = first._replace(span=chain.width - 1)
            link = Link("line drawing", keys[first.key], "link small")
            chain.rows[number] = row._replace(cells=(heading, link))


def _subtitle(plan: Plan, paths: Sequence[str]) -> str:
    """What moves here and what does not, and how it comes onto paper."""
    words = (
        "Drawn as designed: a drawing does not follow what is typed into the book; the verdicts below it "
        "do. backhaul drawing writes a file with title blocks and what each link has left."
    )
    left_out = len(plan.evaluation.network.chains) - len(paths)
    if left_out:
        words += (
            f" {MOST_PATHS} paths are drawn here, those that fail first; {left_out} more are drawn by "
            "backhaul drawing with --path."
        )
    return words


def _title(plan: Plan, path: str) -> str:
    row = plan.evaluation.design.paths.get(path)
    return f"{path}: {row.title}" if row and row.title else path


def _heading(plan: Plan, path: str, title: str, columns: int, back: int) -> list[SheetCell]:
    """Title, verdict and the way to the rows of a path, over so many columns."""
    key, word = plan.path_verdicts[path]
    return [
        Text(title, "heading", columns - _HEAD_VERDICT - back, drawing_key(path)),
        Verdict(word, formula=f"{{{key}}}", key=f"{drawing_key(path)}.verdict", span=_HEAD_VERDICT),
        Link(
            "rows on Chain" if back == _BACK else "rows",
            plan.anchors["path", path],
            "link small",
            back,
        ),
    ]


def _write(plan: Plan, sheet: Sheet, path: str, pictures: PathPictures) -> list[int]:
    """The drawing of a path; the rows at which a page may begin."""
    title = _title(plan, path)
    trunk = plan.evaluation.branches.parent.get(path)
    if trunk is not None:
        title += f", leaves {trunk}"
    sheet.gap()
    sheet.row(*_heading(plan, path, title, _COUNT, _BACK))
    starts = []
    for number, (picture, bars) in enumerate(pictures.of(path), 1):
        starts.append(sheet.picture(picture))
        sheet.row(*_below(plan, bars, f"{drawing_key(path)}.{number}", 0, _COUNT))
    return starts[1:]


def _pair(plan: Plan, path: str, other: str, pictures: PathPictures) -> Beside | None:
    """Both paths side by side, where their drawings and titles leave room for it."""
    columns = _title_columns(plan, path), _COUNT - _title_columns(plan, other)
    return pictures.beside(path, other, _COLUMN_PT / PT_PER_MM / SCALE, columns)


def _title_columns(plan: Plan, path: str) -> int:
    """Columns that the heading of one of two paths takes."""
    look = LOOKS["heading"]
    needed = text_pt(_title(plan, path), look.size_pt, bold=look.bold) + look.indent * INDENT_PT
    return ceil((needed + _SPARE_PT) / _COLUMN_PT) + _HEAD_VERDICT + _SHORT_BACK


def _write_pair(plan: Plan, sheet: Sheet, path: str, other: str, pair: Beside) -> None:
    """The drawings of two paths side by side."""
    parts = ((path, pair.first, 0, pair.column), (other, pair.second, pair.column, _COUNT))
    sheet.gap()
    sheet.row(
        *(
            cell
            for each, _, start, end in parts
            for cell in _heading(plan, each, _title(plan, each), end - start, _SHORT_BACK)
        )
    )
    sheet.picture(pair.picture)
    below: list[Content] = []
    for each, bars, start, end in parts:
        below += [None] * (start - len(_columns(below)))
        below += _below(plan, bars, f"{drawing_key(each)}.1", start, end)
    sheet.row(*below)


def _below(plan: Plan, bars: Sequence[Bar], prefix: str, first: int, end: int) -> list[Content]:
    """Under each link its verdict, and the way to its budget, in the columns from `first` to `end`."""
    starts = _starts(bars, first, end)
    cells: list[Content] = []
    for place, (bar, start) in enumerate(zip(bars, starts, strict=True)):
        cells += [None] * (start - first - len(_columns(cells)))
        link = bar.use.link
        steps = f"{bar.use.first_step:g}-{bar.use.last_step:g}"
        key, word = plan.link_verdicts.get(link.key, ("", plan.evaluation.use_verdict(bar.use)))
        cells.append(
            Verdict(
                word,
                formula=f"{{{key}}}" if key else "",
                key=f"{prefix}.{steps}",
                span=min(_VERDICT, end - start),
            )
        )
        until = starts[place + 1] if place + 1 < len(starts) else end
        anchor = plan.anchors.get(link.key)
        room = until - start - _VERDICT
        words = _words(plan, bar, room)
        if words and anchor:
            cells.append(Link(words, anchor, "link small", room))
    return cells


def _columns(cells: Sequence[Content]) -> range:
    """The columns that cells take."""
    return range(sum(getattr(cell, "span", 1) for cell in cells))


def _starts(bars: Sequence[Bar], first: int, end: int) -> list[int]:
    """The column at which the verdict of each link stands: below its left end where it can."""
    starts: list[int] = []
    for bar in bars:
        least = starts[-1] + _VERDICT if starts else first
        starts.append(max(round(bar.left * SCALE * PT_PER_MM / _COLUMN_PT), least))
    most = end
    for place in range(len(starts) - 1, -1, -1):
        starts[place] = max(min(starts[place], most - _VERDICT), first)
        most = starts[place]
    return starts


def _words(plan: Plan, bar: Bar, columns: int) -> str:
    """Where the budget of a link stands, in the words that fit."""
    steps = plan.link_steps(bar.use.link).rpartition(" step")
    look = LOOKS["link small"]
    for words in (f"step{steps[2]}", "budget"):
        room = column_pt(columns * _COLUMNS[0]) - look.indent * INDENT_PT
        if text_pt(words, look.size_pt) <= room:
            return words
    return ""
