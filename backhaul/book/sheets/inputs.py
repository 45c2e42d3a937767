"""Inputs: every input with unit and source; changing a yellow cell moves the book.

Two inputs stand in a row, so that a design of many parts fits on few pages. What the figures of
parts and rules were read from is numbered, and stands once each on Basis.
"""

from collections.abc import Sequence

from backhaul.book.inputs import BookInput
from backhaul.book.line_of_sight import first_uses
from backhaul.book.links import fitting_link
from backhaul.book.plan import Plan
from backhaul.book.sheets.page_flow import Part, flow
from backhaul.book.status import bounds_of
from backhaul.book.us_sheet import sheet_of
from backhaul.design.model import Design
from backhaul.design.settings import US
from backhaul.spreadsheet.cells import Input, Link, SheetCell, Text
from backhaul.spreadsheet.grid import Content, Sheet

#: Groups in the order in which a reader looks for them.
_ORDER = ("Project", "Segments", "Sites", "Demand", "Parts", "Rules")
#: Groups whose figures stand in a cell of the design; the others were read from a document.
_OF_THE_DESIGN = _ORDER[:4]
_COLUMNS = (41, 27, 11, 9, 1.5, 41, 27, 11, 9)
#: A part with no more figures than this has no heading of its own.
_FEW = 2
#: Share of a page up to which a part is not parted: with its name said again it may well be.
_KEPT = 0.12
_HALF_HEAD = ("What", "Where", "Figure", "Unit")


def build(plan: Plan) -> Sheet:
    """The sheet; built when all others have asked for their inputs."""
    sheet = sheet_of(
        plan.evaluation.design,
        "Inputs",
        "Inputs",
        _COLUMNS,
        subtitle="Every input stands here once. Yellow cells may be typed over: margins, verdicts, "
        "charts and the answer on At a glance follow. Sources of parts and rules are numbered; "
        "the list stands on Basis." + _units_said(plan.evaluation.design),
    )
    head = sheet.head(*_HALF_HEAD, "", *_HALF_HEAD)
    sheet.frozen = (head, 0)
    return _InputsSheet(plan, sheet).write()


def _units_said(design: Design) -> str:
    """In which units a book in those of the US is typed into."""
    if design.project.units != US:
        return ""
    return " Type figures in the unit beside each (ft, mi, °F); cells beside the print area stay in m and °C."


class _InputsSheet:
    """The sheet under construction; sources are numbered as they come up."""

    def __init__(self, plan: Plan, sheet: Sheet):
        self.plan, self.sheet = plan, sheet
        self.sources = plan.sources
        self.uses = first_uses(plan.sheets)

    def write(self) -> Sheet:
        sheet, groups = self.sheet, self.plan.inputs.groups()
        head = sheet.rows[-1]
        parts = []
        for name in sorted(
            groups,
            key=lambda group: (_ORDER.index(group) if group in _ORDER else len(_ORDER), group),
        ):
            first = sheet.say(name, "heading")
            for part, inputs in _runs(groups[name]):
                heads, cut = [first], 0
                if part:
                    cut = len(part) + 2
                    heads = [
                        sheet.row(Text(part, "strong", 4), Text("", "plain"), Text("", span=4))
                    ]
                self._pairs(inputs, cut=cut)
                parts.append(_flowing(sheet, first, heads))
                first = sheet.next_row
        flow(sheet, parts, top=(head,))
        return sheet

    def _pairs(self, inputs: Sequence[BookInput], cut: int) -> None:
        """Two figures a row; `cut` letters of the label are said above already."""
        for first in range(0, len(inputs), 2):
            row: list[Content] = []
            for given in inputs[first : first + 2]:
                if row:
                    row.append(Text("", "plain"))
                typed = self._typed(given)
                row.extend((self._what(given, cut), self._where(given), typed, given.unit))
            self.sheet.row(*row)

    def _what(self, given: BookInput, cut: int) -> SheetCell:
        """What it is; leads to the first cell that rests on it."""
        words = given.label[cut:]
        use = self.uses.get(self.plan.inputs.in_use(given.key)) or self.uses.get(given.key)
        return fitting_link(words, use, _COLUMNS[:1], style="link plain", plain="text")

    def _typed(self, given: BookInput) -> Input:
        """The yellow cell: it takes a figure within the limits of its column, and no words."""
        key, bounds = self.plan.inputs.key_on_sheet(given.key), bounds_of(self.plan, given.key)
        limits = bounds.limits
        note = "" if isinstance(given.value, str) else f"{limits.words} {given.unit}".strip()
        cell = f"{{{key}}}"
        return Input(
            key,
            given.value,
            format=_shown(given.value),
            least=limits.least,
            most=limits.most,
            whole=limits.whole,
            check=",".join(bounds.order(cell)),
            note=note,
        )

    def _where(self, given: BookInput) -> SheetCell:
        where = given.where or given.source
        if given.group in _OF_THE_DESIGN:
            return Link(where, where) if where in self.plan.anchors else Text(where, "text small")
        number = self.sources.setdefault(given.source, len(self.sources) + 1)
        file = given.where.rpartition("/")[2]
        return Link(f"{file}, source {number}".removeprefix(", "), source_key(number), "link small")


def _flowing(sheet: Sheet, first: int, heads: Sequence[int]) -> Part:
    """Rows from `first` to the last so far; `heads` are said again where they go on."""
    last = len(sheet.rows)
    return Part(first, last, heads, range(heads[-1] + 2, last + 1), keep=_KEPT)


def _shown(value: float | str) -> str:
    """Format of a figure: as it is, but a computed one without its long tail.

    >>> _shown(19.21), _shown(6.351993409)
    ('', '0.####')
    """
    return "" if isinstance(value, str) or round(value, 4) == value else "0.####"


def source_key(number: int) -> str:
    """Key of a numbered source on Basis."""
    return f"givens.source.{number}"


def _runs(inputs: Sequence[BookInput]) -> list[tuple[str, list[BookInput]]]:
    """Parts of many figures by name, and figures of small ones one after the other, without."""
    runs: list[tuple[str, list[BookInput]]] = []
    for part, of_part in _by_part(inputs).items():
        if part and len(of_part) > _FEW:
            runs.append((part, of_part))
        elif runs and not runs[-1][0]:
            runs[-1][1].extend(of_part)
        else:
            runs.append(("", list(of_part)))
    return runs


def _by_part(inputs: Sequence[BookInput]) -> dict[str, list[BookInput]]:
    """Figures of each part together, in the order of the first of each."""
    found: dict[str, list[BookInput]] = {}
    for given in inputs:
        part = given.label.partition(": ")[0] if given.group == "Parts" else ""
        found.setdefault(part, []).append(given)
    return found
