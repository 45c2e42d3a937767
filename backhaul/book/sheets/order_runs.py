"""Cable lengths: from the length of each run to what it is cut from, live."""

from typing import NamedTuple

from backhaul.book.plan import Plan
from backhaul.book.sheets.order_pages import RUN_HEAD
from backhaul.book.us_sheet import lengths_of, measured, sheet_of
from backhaul.budgets.order_lines import METRE, OrderLine, OrderList, Run, reels
from backhaul.budgets.orders import last_length_m, run_needed_m, whole_lengths
from backhaul.design.kinds import KINDS
from backhaul.spreadsheet.cells import Calc, Input, Number, Text
from backhaul.spreadsheet.formula import Cell
from backhaul.spreadsheet.grid import Content, Sheet

#: Order lengths a row: columns 3 to 8 hold them.
_SIZES_A_ROW = 6
#: Lengths nearer to each other than this are one [m, ft].
_SAME_M = 0.001


class Totals(NamedTuple):
    """Formula texts of a line of cable, and the pack as it reads now."""

    needed: str
    ordered: str
    pack: str
    pack_text: str


def build(plan: Plan) -> Sheet | None:
    """The sheet, built after Order list; None where no cable is cut."""
    if plan.orders is None or not RunTotals(plan, plan.orders).lines:
        return None
    sheet = sheet_of(
        plan.evaluation.design,
        "Cable lengths",
        "Cable lengths",
        (25, 43, 9.5, 8.5, 10, 13, 11.5, 8, 12, 21.5, 16),
        subtitle="Each run from one order length, the smallest that holds it. Needed = length with "
        "slack, and of fiber a loop at each end outdoors (Inputs). Copper and feeds are cut from "
        "shared lengths, as Order list shows. Only where no order length holds a run is it joined "
        "from several, and each joint is a splice. Order lengths may be typed over, rising.",
        prints=False,
    )
    _RunTable(plan, sheet, plan.orders).write()
    return sheet


def _cut(line: OrderLine) -> list[Run]:
    """The runs whose length is known."""
    return [run for run in line.runs if run.lengths_m]


class RunTotals:
    """What the lines of cable show on the order list, over the cells of Cable lengths."""

    def __init__(self, plan: Plan, orders: OrderList):
        self.plan = plan
        self.lengths = lengths_of(plan.evaluation.design)
        self.lines = [
            (number, line) for number, line in enumerate(orders.lines_by("")) if self._is_live(line)
        ]

    def _is_live(self, line: OrderLine) -> bool:
        """A cable that is cut from order lengths that are known."""
        return line.unit == METRE and bool(_cut(line)) and bool(self.sizes(line))

    def sizes(self, line: OrderLine) -> list[float]:
        """Order lengths of a cable, rising [m]."""
        family = KINDS[line.runs[0].row.kind].families[0]
        return sorted(getattr(self.plan.evaluation.catalog, family)[line.part].order_lengths_m)

    def of(self, number: int, line: OrderLine) -> Totals | None:
        """What the line of a cable shows; None where it is not live."""
        if not self._is_live(line):
            return None
        key, sizes = f"run.{number}", self.sizes(line)
        last = len(_cut(line)) - 1
        spans = {
            name: f"SUM({{{key}.0.{name}}}:{{{key}.{last}.{name}}})"
            for name in ("needed_m", "ordered_m")
        }
        if line.is_shared:
            return self._shared(number, line, spans)
        texts, words, told = [], "", self.lengths
        for place in reversed(range(len(sizes))):
            count, size = f"{{{key}.count{place}}}", told.formula(f"{{{key}.size{place}}}")
            texts.append(f'IF({count}>0,{count}&" × "&{size}&" {told.unit}  ","")')
            pieces = sum(metres == sizes[place] for run in line.runs for metres in run.lengths_m)
            words += f"{pieces} × {told.text(sizes[place])} {told.unit}  " if pieces else ""
        return Totals(spans["needed_m"], spans["ordered_m"], "&".join(texts), words)

    def _shared(self, number: int, line: OrderLine, spans: dict[str, str]) -> Totals:
        """Runs that are cut from shared lengths, as long as they and the lengths stay as they are;
        else each from a length of its own, which never falls short."""
        key, sizes = f"run.{number}", self.sizes(line)
        needed = round(sum(run.needed_m for run in _cut(line)), 3)
        listed = ",".join(f"{{{key}.size{place}}}" for place in range(len(sizes)))
        stays = (
            f"AND(ABS({spans['needed_m']}-{needed:.10g})<{_SAME_M},"
            f"ABS(SUM({listed})-{sum(sizes):g})<{_SAME_M})"
        )
        words = f"{reels(line.shared_m, self.lengths.text, self.lengths.unit)}  "
        return Totals(
            spans["needed_m"],
            f"IF({stays},{sum(line.shared_m):g},{spans['ordered_m']})",
            f'IF({stays},"{words}","each run from its own length")',
            words,
        )


class _RunTable(RunTotals):
    """One block a cable: its order lengths (to be typed over), its runs, what each is cut from."""

    def __init__(self, plan: Plan, sheet: Sheet, orders: OrderList):
        super().__init__(plan, orders)
        self.sheet = sheet

    def write(self) -> None:
        """The section; nothing where no cable is cut."""
        inputs = self.plan.inputs
        evaluation = self.plan.evaluation
        slack = inputs.project(
            evaluation, "cable_slack_percent", "added to a run for ordering", "%"
        )
        loop = inputs.project(evaluation, "loop_m", "slack loop at each end of an outdoor run", "m")
        for number, line in self.lines:
            self._block(number, line, slack, loop)

    def _block(self, number: int, line: OrderLine, slack: str, loop: str) -> None:
        sheet, key, sizes = self.sheet, f"run.{number}", self.sizes(line)
        sheet.row(
            Text(line.part, "head"),
            Text("Order lengths, m", "head"),
            Text("", "head", sheet.width - 2),
        )
        for start in range(0, len(sizes), _SIZES_A_ROW):
            these = range(start, min(start + _SIZES_A_ROW, len(sizes)))
            sheet.row(
                "",
                Text("sizes, rising", "text small"),
                *(
                    Input(
                        measured(sheet, f"{key}.size{place}", METRE),
                        sizes[place],
                        format="General",
                        least=0.1,
                        most=100_000,
                        check=f"{{{key}.size{place - 1}}}<{{{key}.size{place}}}" if place else "",
                        note=f"Order length in {self.lengths.unit}, longer than the one before",
                    )
                    for place in these
                ),
            )
            counts = [self._count(key, place, line, sizes) for place in these]
            sheet.row("", Text("pieces of each", "text small"), *counts)
        sheet.row(
            *(
                Text(head, "head right" if 1 < n < 9 else "head", span)
                for n, (head, span) in enumerate(
                    (
                        (RUN_HEAD, 1),
                        ("From, to; in m", 1),
                        ("Length", 1),
                        ("Loops", 1),
                        ("Needed", 1),
                        ("Whole lengths", 1),
                        ("Last length", 1),
                        ("Joints", 1),
                        ("Ordered", 1),
                        ("Paths", 2),
                    )
                )
            )
        )
        refs = [Cell.ref(f"{key}.size{place}") for place in range(len(sizes))]
        for place, run in enumerate(_cut(line)):
            sheet.row(*self._run(f"{key}.{place}", run, slack, loop, refs, sizes))

    def _count(self, key: str, place: int, line: OrderLine, sizes: list[float]) -> Calc:
        last = len(_cut(line)) - 1
        lengths = f"{{{key}.0.last_m}}:{{{key}.{last}.last_m}}"
        # a length that was converted is no longer exactly the size that it is
        size = f"{{{key}.size{place}}}"
        formula = "-".join(f'COUNTIF({lengths},">"&({size}{sign}{_SAME_M}))' for sign in ("-", "+"))
        if place == len(sizes) - 1:
            formula += f"+SUM({{{key}.0.whole}}:{{{key}.{last}.whole}})"
        pieces = sum(metres == sizes[place] for run in line.runs for metres in run.lengths_m)
        return Calc(f"{key}.count{place}", formula, pieces, format="0")

    def _run(
        self, key: str, run: Run, slack: str, loop: str, refs: list[Cell], sizes: list[float]
    ) -> list[Content]:
        row, place = run.row, run.place
        given = self.plan.inputs.row(row, "length_m", "length", "m")
        length: Content = Number(0.0, key=f"{key}.length_m", format="0.0")
        if given is not None:
            length = Calc(f"{key}.length_m", f"{{{given}}}", row.length_m, format="0.0")
        cell = Cell.ref
        needed = run_needed_m(
            length_m=cell(f"{key}.length_m"),
            slack_percent=cell(slack),
            loop_m=cell(loop),
            loops=cell(f"{key}.loops"),
        )
        whole = whole_lengths(needed_m=cell(f"{key}.needed_m"), largest_m=refs[-1])
        last = last_length_m(
            needed_m=cell(f"{key}.needed_m"), whole=cell(f"{key}.whole"), sizes_m=refs
        )
        text = last.text
        joints = len(run.lengths_m) - 1
        return [
            Text(place.name or f"step {row.step:g}"),
            Text(", ".join(place.sites), "text small"),
            length,
            Number(run.loops, key=f"{key}.loops", format="0"),
            Calc(f"{key}.needed_m", needed.text, run.needed_m, format="0.0"),
            Calc(f"{key}.whole", whole.text, joints, format="0"),
            Calc(f"{key}.last_m", text, run.lengths_m[-1], format="General"),
            Calc(f"{key}.joints", f"{{{key}.whole}}", joints, format="0"),
            Calc(
                f"{key}.ordered_m",
                f"{{{key}.whole}}*{{{refs[-1].text[1:-1]}}}+{{{key}.last_m}}",
                sum(run.lengths_m),
                format="General",
            ),
            Text(", ".join(place.paths), "text small", 2),
        ]
