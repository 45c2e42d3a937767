"""Order list: one table by item number, with columns that three suppliers fill in; totals live.

Keys: `order.{n}.{needed|spares|ordered|pack}` of line n of what is to be ordered, and of supplier s
`order.{n}.{s}.{part|complies|price|weeks}`; `order.{s}.{goods|works|total|unpriced|refused|weeks}`
of the supplier, `order.cheapest_{goods|works}`.
"""

from collections.abc import Iterator

from backhaul.book.plan import Plan
from backhaul.book.sheets.order_runs import RunTotals
from backhaul.book.sheets.order_suppliers import HEADS, SUPPLIERS, Suppliers
from backhaul.book.sheets.requirements import requirement_key
from backhaul.book.us_sheet import measured, sheet_of
from backhaul.budgets.order_fittings import NOT_COUNTED
from backhaul.budgets.order_lines import METRE, OrderLine, OrderList, Place, item_numbers
from backhaul.budgets.order_list import order_list
from backhaul.budgets.requirements import demands
from backhaul.design.kinds import KINDS
from backhaul.spreadsheet.cells import Calc, Head, Input, Link, Number, SheetCell, Text
from backhaul.spreadsheet.grid import Content, Sheet

#: Families whose pieces hang on a length or a count that may be typed, those of no family with them.
_MOVED_BY_TYPING = {
    "",
    *(
        family
        for kind in KINDS.values()
        if kind.is_run or "count" in kind.columns
        for family in kind.families
    ),
}
_COUNTS = ("Needed", "Spare", "To order")
_BY_TITLE = {
    "existing": "Already there: not ordered",
    "client": "Provided by the client: not ordered",
    "later": "Later: not ordered now",
}
_COUNT, _METRES = "#,##0", "[>=1000]#,##0;#,##0.0"
MOST_PATHS, MOST_SITES = 3, 4
_OURS = (6, 27, 58, 9, 8, 9, 12)
_OF_SUPPLIER = (20, 10.5, 11, 8)


def build(plan: Plan) -> Sheet | None:
    """The sheet, or None where a design orders and names nothing."""
    orders = plan.orders = order_list(plan.evaluation)
    if not orders.lines:
        return None
    return _OrderSheet(plan, orders).write()


def where_used(places: tuple[Place, ...], *, short: bool = True) -> str:
    """Paths and sites of a line in few words.

    >>> where_used((Place(("north", "south"), ("works", "crest")),))
    'works, crest (north, south)'
    """
    paths = list(dict.fromkeys(path for place in places for path in place.paths))
    sites = list(dict.fromkeys(site for place in places for site in place.sites))
    words = _few(sites, MOST_SITES if short else len(sites))
    found = _few(paths, MOST_PATHS if short else len(paths))
    return f"{words} ({found})" if words and found else words or found


def _few(names: list[str], most: int) -> str:
    rest = len(names) - most
    return ", ".join(names[:most]) + (f" and {rest} more" if rest > 0 else "")


class _OrderSheet:
    def __init__(self, plan: Plan, orders: OrderList):
        self.plan, self.orders = plan, orders
        self.sheet = sheet_of(
            plan.evaluation.design,
            "Order list",
            "Order list",
            (*_OURS, *_OF_SUPPLIER * SUPPLIERS),
            subtitle="Each physical thing once. Parts are classes: what an offer must meet stands "
            "on Requirements, a click on the item away. Yellow cells are to be filled in or typed over; totals follow. "
            "On paper: one supplier's columns.",
        )
        # a list on paper goes to one supplier; offers are compared on the screen
        self.sheet.printed_columns = len(_OURS) + len(_OF_SUPPLIER)
        self.totals = RunTotals(plan, orders)

    def write(self) -> Sheet:
        sheet, ordered = self.sheet, self.orders.lines_by("")
        if ordered:
            self._table(ordered)
        for by in dict.fromkeys(line.by for line in self.orders.lines if line.by):
            self._apart(by, self.orders.lines_by(by))
        if ordered:
            self._pairs()
            sheet.heading("Not counted here, unless an extra of the design names it")
            sheet.say("; ".join(NOT_COUNTED).capitalize() + ".", "plain")
        return sheet

    def _table(self, lines: tuple[OrderLine, ...]) -> None:
        sheet = self.sheet
        currency = self.plan.evaluation.design.project.currency or ""
        suppliers = Suppliers(sheet, lines, currency, self.totals.lengths.unit)
        suppliers.names(len(_OURS))
        right = {3, 4, 5}
        head = sheet.head(
            *(
                Head(text, "head right" if n in right else "head")
                for n, text in enumerate(("Item", "Part", "Description, where", *_COUNTS))
            ),
            "Unit",
            *(Head(text, style) for text, style in HEADS * SUPPLIERS),
            repeat=True,
            freeze_columns=2,
        )
        for number, (item, line) in enumerate(zip(item_numbers(lines), lines, strict=True)):
            sheet.row(*self._line(number, item, line), *suppliers.cells(number, line))
        sheet.filtered = (head, len(sheet.rows))
        suppliers.totals(len(_OURS))

    def _line(self, number: int, item: str, line: OrderLine) -> Iterator[Content]:
        key = f"order.{number}"
        is_length = line.unit == METRE
        shown = _METRES if is_length else _COUNT
        if is_length:
            for name in ("needed", "ordered"):
                measured(self.sheet, f"{key}.{name}", METRE)
        if line.family and demands(self.plan.evaluation, line):
            yield Link(item, requirement_key(line), key=f"{key}.item")
        else:
            yield Text(item, key=f"{key}.item")
        yield Text(line.part, "strong")
        words = "; ".join(word for word in (line.description, line.note) if word)
        used = where_used(tuple(place._replace(paths=()) for place in line.places))
        yield Text(f"{words}. {used}" if words and used else words or used, "text small")
        live = self.totals.of(number, line)
        if live is not None:
            yield Calc(f"{key}.needed", live.needed, line.needed, format=shown)
            yield Text("–", "text right")
            yield Calc(f"{key}.ordered", live.ordered, line.to_order, format=_COUNT)
            yield Calc(f"{key}.pack", live.pack, live.pack_text, style="calc word")
            return
        style = "" if line.family in _MOVED_BY_TYPING else "fact"
        yield Number(line.needed, key=f"{key}.needed", format=shown, style=style)
        ordered = f"{{{key}.needed}}"
        if line.unit == METRE:
            yield Text("–", "text right")
        else:
            yield Input(
                f"{key}.spares",
                int(line.spares),
                format=_COUNT,
                least=0,
                most=1e6,
                whole=True,
                note=f"Spares, whole pieces. By the design {line.spares}.",
            )
            ordered += f"+{{{key}.spares}}"
        yield Calc(f"{key}.ordered", ordered, line.to_order, format=shown)
        yield Text(self._unit(line), "text small", key=f"{key}.pack")

    def _unit(self, line: OrderLine) -> str:
        """The unit of a line, and how it is packed."""
        unit = self.totals.lengths.unit if line.unit == METRE else line.unit
        return f"{unit} {line.pack}".strip()

    def _pairs(self) -> None:
        if not self.orders.pairs:
            return
        words = "; ".join(
            f"{pair.count} × {pair.part} with {pair.partner}" for pair in self.orders.pairs
        )
        self.sheet.heading("Optics for one strand go in pairs")
        self.sheet.say(f"{words}: two of one kind do not receive each other.", "plain")

    def _apart(self, by: str, lines: tuple[OrderLine, ...]) -> None:
        sheet = self.sheet
        sheet.heading(_BY_TITLE.get(by, by))
        wide = sheet.width - 5
        sheet.row(
            Text("", "head"),
            Text("Part", "head"),
            Text("Description", "head"),
            Text("Count", "head right"),
            Text("Unit", "head"),
            Text("Where used", "head", wide),
        )
        for line in lines:
            shown = _METRES if line.unit == METRE else _COUNT
            is_length = line.unit == METRE
            count: SheetCell = Number(line.needed, format=shown)
            sheet.row(
                "",
                Text(line.part, "strong"),
                Text(line.description, "text small"),
                count,
                Text(METRE if is_length else self._unit(line), "text small"),
                Text(where_used(line.places), "text small", wide),
            )
