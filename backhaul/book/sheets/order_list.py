"""Order list: needed, spares and to order by part, prices to fill in, what an equivalent meets."""

from backhaul.book.plan import Plan
from backhaul.book.sheets.order_limits import write_limits
from backhaul.book.sheets.order_pages import fit_sections
from backhaul.book.sheets.order_runs import RunTable
from backhaul.budgets.order_lines import METRE, SECTIONS, OrderLine, OrderList, Place
from backhaul.budgets.order_list import order_list
from backhaul.budgets.orders import spare_pieces
from backhaul.spreadsheet.cells import Calc, Number, SheetCell, Text, ToFill
from backhaul.spreadsheet.formula import Cell
from backhaul.spreadsheet.grid import Content, Sheet

_BY_TITLE = {
    "existing": "Already there: not ordered",
    "client": "Provided by the client: not ordered",
    "later": "Later: not ordered now",
}
_COUNT, _MONEY, _METRES = "#,##0", "#,##0.00", "[>=1000]#,##0;#,##0.0"
MOST_PATHS, MOST_SITES = 3, 4
FROM_MEMORY = "from memory"


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
        self.currency = plan.evaluation.design.project.currency or ""
        self.sheet = Sheet(
            "Order list",
            "Order list",
            (25, 43, 9.5, 8.5, 10, 13, 11.5, 8, 12, 21.5, 16),
            subtitle="Each physical thing once, by part. Type prices and lead times into the "
            "yellow cells; totals follow. Parts are classes: what an equivalent must meet stands "
            "below.",
        )
        self.runs = RunTable(plan, self.sheet, orders)
        self.priced: list[int] = []

    def write(self) -> Sheet:
        sheet, ordered = self.sheet, self.orders.lines_by("")
        self._before(ordered)
        if ordered:
            self._table(ordered)
            self._pairs()
        for by in dict.fromkeys(line.by for line in self.orders.lines if line.by):
            self._apart(by, self.orders.lines_by(by))
        self.runs.write()
        if ordered:
            write_limits(self.plan, sheet, ordered)
        fit_sections(sheet)
        return sheet

    def _before(self, ordered: tuple[OrderLine, ...]) -> None:
        memory = [line.part for line in ordered if FROM_MEMORY in f"{line.basis} {line.source}"]
        if memory:
            self.sheet.row(
                Text(
                    f"Figures of {len(memory)} of {len(ordered)} lines come at least in part from "
                    "memory or common practice, not from a data sheet: the column “Figures” marks "
                    "them. Have the supplier confirm what an equivalent must meet.",
                    "caution",
                    self.sheet.width,
                )
            )

    def _head(self, section: str) -> None:
        price = f"Each, {self.currency}" if self.currency else "Each"
        total = f"Price, {self.currency}" if self.currency else "Price"
        heads = (
            section,
            "Description",
            "Needed",
            "Spares",
            "To order",
            "Unit, pack",
            price,
            "Weeks",
            total,
            "Where used",
            "Figures",
        )
        right = {2, 3, 4, 6, 7, 8}
        self.sheet.row(
            *(Text(head, "head right" if n in right else "head") for n, head in enumerate(heads))
        )

    def _table(self, lines: tuple[OrderLine, ...]) -> None:
        spare = self.plan.inputs.project(
            self.plan.evaluation, "spare_percent", "spares ordered on whole pieces", "%"
        )
        for section in SECTIONS:
            these = [(n, line) for n, line in enumerate(lines) if line.section == section]
            if not these:
                continue
            self._head(section)
            for number, line in these:
                self.sheet.row(*self._line(number, line, spare))
                self.priced.append(number)
        self._totals()

    def _line(self, number: int, line: OrderLine, spare: str | None) -> list[Content]:
        key = f"order.{number}"
        shown = _METRES if line.unit == METRE else _COUNT
        live = self.runs.totals(number, line)
        if live is not None:
            needed: SheetCell = Calc(f"{key}.needed", live.needed, line.needed, format=shown)
            ordered: SheetCell = Calc(f"{key}.ordered", live.ordered, line.to_order, format=_COUNT)
            pack: SheetCell = Calc(f"{key}.pack", live.pack, live.pack_text, style="calc text")
            spares: Content = Text("–", "text right")
        else:
            needed = Number(line.needed, key=f"{key}.needed", format=shown)
            pack = Text(f"{line.unit} {line.pack}".strip(), key=f"{key}.pack")
            if line.spared and spare is not None:
                formula = spare_pieces(
                    needed=Cell.ref(f"{key}.needed"), spare_percent=Cell.ref(spare)
                ).text
                spares = Calc(f"{key}.spares", formula, line.spares, format=_COUNT)
                text = f"{{{key}.needed}}+{{{key}.spares}}"
            else:
                spares, text = Text("–", "text right"), f"{{{key}.needed}}"
            ordered = Calc(f"{key}.ordered", text, line.to_order, format=shown)
        price = Calc(
            f"{key}.price",
            f'IF(ISNUMBER({{{key}.unit_price}}),{{{key}.unit_price}}*{{{key}.ordered}},"")',
            "",
            format=_MONEY,
        )
        words = "; ".join(word for word in (line.description, line.note) if word)
        return [
            Text(line.part, "strong"),
            words,
            needed,
            spares,
            ordered,
            pack,
            ToFill(
                f"{key}.unit_price",
                format=_MONEY,
                least=0,
                note=f"Price of one {line.unit}, as ordered",
            ),
            ToFill(f"{key}.lead_weeks", format="General", least=0, note="Weeks from order to site"),
            price,
            Text(where_used(line.places), "text small"),
            _basis(line),
        ]

    def _totals(self) -> None:
        first, last = (f"order.{self.priced[n]}" for n in (0, -1))
        spans = {
            name: f"{{{first}.{name}}}:{{{last}.{name}}}"
            for name in ("ordered", "unit_price", "price", "lead_weeks")
        }
        sheet = self.sheet
        sheet.row(
            Text("Total of the lines with a price", span=2),
            "",
            "",
            "",
            "",
            "",
            "",
            Calc("order.total", f"SUM({spans['price']})", 0, format=_MONEY),
            "",
            "",
            style="total",
        )
        sheet.row(
            Text("Lines without a price", span=2),
            "",
            "",
            "",
            "",
            "",
            "",
            Calc(
                "order.unpriced",
                f"COUNT({spans['ordered']})-COUNT({spans['unit_price']})",
                len(self.priced),
                format="0",
            ),
            "",
            "",
        )
        sheet.row(
            Text("Longest lead time, weeks", span=2),
            "",
            "",
            "",
            "",
            "",
            "",
            Calc(
                "order.lead",
                f'IF(COUNT({spans["lead_weeks"]})=0,"not yet known",MAX({spans["lead_weeks"]}))',
                "not yet known",
            ),
            "",
            "",
        )

    def _pairs(self) -> None:
        if not self.orders.pairs:
            return
        sheet = self.sheet
        sheet.heading("Optics for one strand go in pairs")
        sheet.row(
            *(
                Text(head, "head", span)
                for head, span in (
                    ("One end", 1),
                    ("Its partner", 1),
                    ("Pairs", 1),
                    ("", 6),
                    ("Where used", 2),
                )
            )
        )
        for pair in self.orders.pairs:
            sheet.row(
                Text(pair.part, "strong"),
                Text(pair.partner, "strong"),
                Number(pair.count, format=_COUNT),
                Text(
                    "one of each end; two of one kind do not receive each other; spares stand "
                    "with each part above",
                    "text small",
                    6,
                ),
                Text(where_used(pair.places), "text small", 2),
            )

    def _apart(self, by: str, lines: tuple[OrderLine, ...]) -> None:
        sheet = self.sheet
        sheet.heading(_BY_TITLE.get(by, by))
        sheet.row(
            Text("Part", "head"),
            Text("Description", "head"),
            Text("Count", "head right"),
            Text("Unit", "head", 3),
            Text("Where used", "head", 5),
        )
        for line in lines:
            shown = _METRES if line.unit == METRE else _COUNT
            unit = line.unit if line.unit == METRE else f"{line.unit} {line.pack}".strip()
            sheet.row(
                Text(line.part, "strong"),
                line.description,
                Number(line.needed, format=shown),
                Text(unit, span=3),
                Text(where_used(line.places), "text small", 5),
            )


def _basis(line: OrderLine) -> Content:
    """Where the figures of a part come from; what comes from memory is to be seen."""
    memory = FROM_MEMORY in line.source and line.basis != FROM_MEMORY
    words = f"{line.basis}, memory" if memory else line.basis
    return Text(words, "text small")
