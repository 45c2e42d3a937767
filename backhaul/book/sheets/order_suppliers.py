"""What three suppliers fill in beside the order list: offers, prices, lead times; totals live.

Goods and works are added up apart, since they are rarely bought from one house. An offer is complete
where every line has a price and none is marked as not complying.
"""

from collections.abc import Iterator, Sequence

from backhaul.budgets.order_lines import METRE, WORK, OrderLine
from backhaul.spreadsheet.cells import Calc, Text, ToFill
from backhaul.spreadsheet.grid import Content, Sheet

SUPPLIERS = 3
HEADS = (
    ("Offered part", "head"),
    ("Complies", "head center"),
    ("Price each", "head right"),
    ("Weeks", "head right"),
)
_MONEY = "#,##0.00"
NONE_YET = "none is complete yet"
_FIGURES = len(HEADS)


class Suppliers:
    """The columns of all suppliers; lines come works last."""

    def __init__(self, sheet: Sheet, lines: Sequence[OrderLine], currency: str, metre: str):
        self.sheet, self.lines, self.currency, self.metre = sheet, lines, currency, metre
        works = sum(line.section == WORK for line in lines)
        #: first and last line of goods and of works
        self.parts = {
            "goods": (0, len(lines) - works - 1),
            "works": (len(lines) - works, len(lines) - 1),
        }

    def names(self, left: int) -> None:
        """The row of names above the heads; `yes` and `no` to choose from stand beside the print."""
        words = [(Text(word, key=f"order.{word}"),) for word in ("yes", "no")]
        self.sheet.helper("Complies", ("choice",), words)
        self.choices = "{order.yes}:{order.no}"
        self.sheet.row(
            Text("Offers of three suppliers: their names", "text right", left),
            *(
                ToFill(f"order.s{s}.name", style="to fill text", span=_FIGURES)
                for s in range(1, SUPPLIERS + 1)
            ),
        )

    def cells(self, number: int, line: OrderLine) -> Iterator[Content]:
        """The cells of one line."""
        for s in range(1, SUPPLIERS + 1):
            key = f"order.{number}.s{s}"
            yield ToFill(f"{key}.part", style="to fill text")
            yield ToFill(f"{key}.complies", choices=self.choices, style="to fill text")
            yield ToFill(
                f"{key}.price",
                format=_MONEY,
                least=0,
                most=1e9,
                note=f"Price of one {self.metre if line.unit == METRE else line.unit}, as ordered",
            )
            yield ToFill(
                f"{key}.weeks", format="0.#", least=0, most=520, note="Weeks from order to site"
            )

    def _span(self, part: str, s: int, name: str) -> str:
        first, last = self.parts[part]
        return f"{{order.{first}.s{s}.{name}}}:{{order.{last}.s{s}.{name}}}"

    def _ordered(self, part: str) -> str:
        first, last = self.parts[part]
        return f"{{order.{first}.ordered}}:{{order.{last}.ordered}}"

    def totals(self, left: int) -> None:
        """Sums, what is missing, the cheapest complete offer."""
        money = f", {self.currency}" if self.currency else ""
        present = [part for part, (first, last) in self.parts.items() if last >= first]
        for part in present:
            self._row(
                f"{part.capitalize()}, total{money}",
                left,
                part,
                lambda s, part=part: (
                    f"SUMPRODUCT({self._ordered(part)},{self._span(part, s, 'price')})"
                ),
                0.0,
                _MONEY,
                "total",
            )
        for part in present:
            count = self.parts[part][1] - self.parts[part][0] + 1
            self._row(
                f"{part.capitalize()}: lines without a price, or that do not comply",
                left,
                f"{part}_open",
                lambda s, part=part, count=count: (
                    f"{count}-COUNT({self._span(part, s, 'price')})"
                    f'+COUNTIF({self._span(part, s, "complies")},"no")'
                ),
                count,
                "0",
            )
        self._row("Longest lead time, weeks", left, "weeks", self._weeks(present), "", "0.#")
        for part in present:
            self._cheapest(part, left)

    def _weeks(self, present: Sequence[str]):
        def text(s: int) -> str:
            spans = ",".join(self._span(part, s, "weeks") for part in present)
            return f'IF(COUNT({spans})=0,"",MAX({spans}))'

        return text

    def _row(self, label, left, name, formula, value, shown, style="") -> None:
        self.sheet.row(
            Text(label, "total text" if style else "text", left),
            *(
                Calc(f"order.s{s}.{name}", formula(s), value, format=shown, span=_FIGURES)
                for s in range(1, SUPPLIERS + 1)
            ),
            style=style,
        )

    def _cheapest(self, part: str, left: int) -> None:
        """Name and sum of the cheapest of the complete offers."""
        big = "1E+300"
        sums = [
            f"IF({{order.s{s}.{part}_open}}=0,{{order.s{s}.{part}}},{big})"
            for s in range(1, SUPPLIERS + 1)
        ]
        least = f"MIN({','.join(sums)})"
        name = '""'
        for s in range(SUPPLIERS, 0, -1):
            own = f"{{order.s{s}.name}}"
            called = f'IF({own}="","supplier {s}",{own})'
            name = f"IF({sums[s - 1]}={{order.cheapest_{part}}},{called},{name})"
        key = f"order.cheapest_{part}"
        self.sheet.row(
            Text(f"Cheapest complete offer of {part}", "total text", left),
            Calc(
                key,
                f'IF({least}={big},"{NONE_YET}",{least})',
                NONE_YET,
                format=_MONEY,
                style="total",
                span=_FIGURES,
            ),
            Calc(
                f"{key}_name",
                f'IF(ISNUMBER({{{key}}}),{name},"")',
                "",
                style="calc text",
                span=_FIGURES * (SUPPLIERS - 1),
            ),
        )
