"""A part's figures as ours, as wanted and as offered, row under row, with what comes of each."""

from collections.abc import Sequence
from typing import NamedTuple

from backhaul.book.formula_cells import number_format
from backhaul.book.plan import Plan
from backhaul.book.requirement_cells import limit_cell
from backhaul.book.status import offer_cell
from backhaul.budgets.requirement import AT_LEAST, AT_MOST, Demand
from backhaul.findings import FAIL, PASS, THIN, worst
from backhaul.spreadsheet.cells import Calc, SheetCell, Text, Verdict
from backhaul.spreadsheet.grid import Content, Sheet
from backhaul.spreadsheet.row_height import INDENT_PT, LINE_SPACING, ROW_MARGIN_PT, ROW_PT
from backhaul.spreadsheet.styles import LOOKS
from backhaul.spreadsheet.text_width import column_pt, line_count

OFFER_NOTE = "Empty: ours is used. A figure typed here is used in the whole book."


#: Keys of cells to type into, each with the inputs that it stands for.
Offers = list[tuple[str, tuple[str, ...]]]


class Field(NamedTuple):
    """A figure of a data sheet: its column and the keys of the inputs that it replaces."""

    column: int
    inputs: tuple[str, ...]
    digits: int = 2
    demand: Demand | None = None


class UseRow(NamedTuple):
    """What comes of a part in one direction of a link: keys and figures of the cells."""

    name_key: str
    ours_key: str
    offered_key: str
    room_ours_key: str
    room_offered_key: str
    verdict_ours_key: str
    verdict_offered_key: str
    name: str
    ours: float | None
    room: float | None
    verdict: str
    anchor: str = ""


class OfferRows:
    """Writes the rows of parts of one family and remembers what was left to type."""

    def __init__(self, plan: Plan, sheet: Sheet, columns: int):
        self.plan, self.sheet, self.columns = plan, sheet, columns
        self.in_use: list[tuple[SheetCell | str, ...]] = []
        #: cells to type into, each with the inputs that it stands for
        self.offered: Offers = []

    def write(
        self,
        prefix: str,
        part: Content,
        words: str,
        fields: Sequence[Field],
        uses: Sequence[UseRow],
    ) -> None:
        """Four rows: ours, must be, offered, and the change that the offer makes."""
        given = self.plan.inputs.rows
        ours: list[Content] = [part, "ours", *[""] * self.columns]
        must: list[Content] = [Text(words, "text small"), "must be", *[""] * self.columns]
        offered: list[Content] = ["", Text("offered", "strong"), *[""] * self.columns]
        for field in fields:
            place, first = field.column + 2, field.inputs[0]
            self.plan.inputs.replaced.update(field.inputs)
            value, shown = float(given[first].value), number_format(field.digits)
            ours[place] = Calc(f"{prefix}.ours.{field.column}", f"{{{first}}}", value, format=shown)
            key = f"{prefix}.offered.{field.column}"
            offered[place] = offer_cell(self.plan, key, field.inputs, shown, OFFER_NOTE)
            self.offered.append((key, field.inputs))
            if field.demand is not None and field.demand.sense in (AT_LEAST, AT_MOST):
                must[place] = limit_cell(field.demand, f"{prefix}.must.{field.column}", sign=True)
            for name in field.inputs:
                used = Calc(
                    self.plan.inputs.in_use(name),
                    f"IF(ISNUMBER({{{key}}}),{{{key}}},{{{name}}})",
                    float(given[name].value),
                )
                self.in_use.append((used, Text(given[name].label, "helper head")))
        height = _row_height(self.sheet, uses)
        named = max(height, _name_height(self.sheet, part))
        self.sheet.row(*ours, *self._results(prefix, uses, "ours"), height=named)
        self.sheet.row(*must, "", "", "", "")
        self.sheet.row(*offered, *self._results(prefix, uses, "offered"), height=height)
        self.sheet.row(
            "",
            Text("change", "text small"),
            *[""] * self.columns,
            *self._change(prefix, uses),
            "",
            "",
        )

    def _results(self, prefix: str, uses: Sequence[UseRow], which: str) -> list[Content]:
        if not uses:
            return ["", "", "", Text("no link uses it", "text small")]
        margin = _least(prefix, which, "margin", uses)
        room = _least(prefix, which, "room", uses)
        first, last = (getattr(uses[n], f"verdict_{which}_key") for n in (0, -1))
        span = f"{{{first}}}:{{{last}}}"
        verdict = Verdict(
            worst(use.verdict for use in uses),
            key=f"{prefix}.verdict.{which}",
            formula=f'IF(COUNTIF({span},"{FAIL}")>0,"{FAIL}",IF(COUNTIF({span},"{THIN}")>0,"{THIN}",'
            f'"{PASS}"))',
        )
        return [margin, room, verdict, _worst_name(prefix, which, uses)]

    def _change(self, prefix: str, uses: Sequence[UseRow]) -> list[Content]:
        cells: list[Content] = []
        for name, known in (
            ("margin", any(u.ours is not None for u in uses)),
            ("room", any(u.room is not None for u in uses)),
        ):
            cells.append(
                Calc(
                    f"{prefix}.change.{name}",
                    f"{{{prefix}.{name}.offered}}-{{{prefix}.{name}.ours}}",
                    0.0,
                    format="+0.00;-0.00;0.00",
                )
                if known
                else ""
            )
        return cells

    def finish(self, title: str) -> None:
        """Lay down what the book uses, beside the print area."""
        if self.in_use:
            self.sheet.helper(f"In use: {title}", ("in use", "figure"), self.in_use)


def _row_height(sheet: Sheet, uses: Sequence[UseRow]) -> float:
    """Height that holds the longest name of a link: any of them may become the worst [pt]."""
    look = LOOKS["text small"]
    room = column_pt(sheet.columns[-1]) - look.indent * INDENT_PT
    lines = max((line_count(use.name, room, look.size_pt) for use in uses), default=1)
    unknown = any(use.ours is None for use in uses)
    high = LOOKS["text"].size_pt * 2 if unknown else 0.0
    return max(ROW_PT, max(lines * look.size_pt, high) * LINE_SPACING + ROW_MARGIN_PT)


def _name_height(sheet: Sheet, part: Content) -> float:
    """Height that holds the name of the part in the first column [pt]."""
    look = LOOKS["text"]
    name = part if isinstance(part, str) else getattr(part, "text", "")
    lines = line_count(name, column_pt(sheet.columns[0]) - look.indent * INDENT_PT, look.size_pt)
    return lines * look.size_pt * LINE_SPACING + ROW_MARGIN_PT


def _least(prefix: str, which: str, name: str, uses: Sequence[UseRow]) -> Content:
    attribute = {"margin": which, "room": f"room_{which}"}[name]
    values = [use.ours if name == "margin" else use.room for use in uses]
    known = [value for value in values if value is not None]
    if not known:
        return Text("not known", "text right")
    first, last = (getattr(uses[n], f"{attribute}_key") for n in (0, -1))
    return Calc(
        f"{prefix}.{name}.{which}", f"MIN({{{first}}}:{{{last}}})", min(known), format="0.00"
    )


def _worst_name(prefix: str, which: str, uses: Sequence[UseRow]) -> Content:
    known = [use for use in uses if use.ours is not None]
    if not known:
        return Text(uses[0].name, "text small")
    first, last = (getattr(uses[n], f"{which}_key") for n in (0, -1))
    names = f"{{{uses[0].name_key}}}:{{{uses[-1].name_key}}}"
    span = f"{{{first}}}:{{{last}}}"
    least = min(known, key=lambda use: use.ours)
    return Calc(
        f"{prefix}.worst.{which}",
        f"INDEX({names},MATCH({{{prefix}.margin.{which}}},{span},0))",
        least.name,
        style="text small",
    )
