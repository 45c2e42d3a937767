"""Chain: the segments of every path in order, what each carries, where the rate is lowest."""

from typing import Any

from backhaul.book.inputs import row_key
from backhaul.book.plan import Plan
from backhaul.book.sheets.order_pages import fit_sections
from backhaul.book.sheets.path_result import PathResult, lay_path_cells
from backhaul.book.us_sheet import lengths_of, sheet_of
from backhaul.findings import FAIL, PASS, THIN
from backhaul.path.links import FEED, LinkUse
from backhaul.spreadsheet.cells import Calc, Head, Link, Number, SheetCell, Text, Verdict
from backhaul.spreadsheet.grid import Sheet

_HEAD = (
    "Step",
    "Kind",
    "Part",
    "Label",
    "From",
    "To",
    Head("Length", "head right"),
    Head("Up", "head right"),
    Head("Down", "head right"),
    Head("Load up", "head right"),
    Head("Load down", "head right"),
    Head("Verdict", "head center"),
    "Remark",
)
_COLUMNS = (7, 10, 34, 15, 14.5, 13, 9, 9, 9, 10, 12, 9, 26.5)
#: In place of a verdict: nothing is wrong with the row itself.
SOUND_ROW = "–"
#: Share of a page up to which a path is not parted.
_KEPT = 0.2


def build(plan: Plan) -> Sheet:
    """The sheet; leaves the live verdict of every path in the plan."""
    sheet = sheet_of(
        plan.evaluation.design,
        "Chain",
        "Chain",
        _COLUMNS,
        subtitle="Segments in the order in which the signal meets them; lengths in "
        f"{lengths_of(plan.evaluation.design).unit}, rates and loads in Mb/s. Up runs from the last site "
        "to the first. Load is what all paths together send over a link. The verdict of a row is that "
        "of the last run, a dash where the row is sound and its link fails; those below the rows are live.",
    )
    lay_path_cells(plan, sheet)
    for path in plan.evaluation.network.chains:
        _Path(plan, sheet, path).write()
    fit_sections(sheet, keep=_KEPT)
    return sheet


class _Path:
    """One path: its rows, then what it delivers."""

    def __init__(self, plan: Plan, sheet: Sheet, path: str):
        self.plan, self.sheet, self.path = plan, sheet, path
        self.evaluation = plan.evaluation
        self.result = PathResult(plan, sheet, path)
        self.served = self.result.served
        self.uses = {row: use for use in plan.evaluation.network.uses[path] for row in use.row_ids}
        self.verdicts = plan.evaluation.verdicts_in[path]

    def write(self) -> None:
        """The rows of the path, and what it delivers."""
        row = self.evaluation.design.paths.get(self.path)
        title = f"{self.path}: {row.title}" if row and row.title else self.path
        anchor = f"{self.result.prefix}.anchor"
        self.plan.anchors[("path", self.path)] = anchor
        self.sheet.gap()
        self.sheet.row(Text(title, "heading", self.sheet.width, key=anchor))
        self.sheet.head(*_HEAD)
        told: set[int] = set()
        for segment in self.evaluation.network.chains[self.path].rows:
            self._segment(segment, told)
        self.result.write()

    def _segment(self, row: Any, told: set[int]) -> None:
        start, end = self.evaluation.network.places[row.id]
        use = self.uses.get(row.id)
        figures: list[SheetCell | str] = ["", "", "", ""]
        begins = use is not None and id(use) not in told
        if use is not None and begins:
            told.add(id(use))
            if use.link.kind != FEED and self.served.carries_data:
                figures = [*self.result.rate_cells(use), *self.result.load_cells(use)]
        kind: SheetCell | str = row.kind
        if use is not None and use.link.key in self.plan.anchors:
            kind = Link(row.kind, self.plan.anchors[use.link.key])
        self.sheet.row(
            f"{row.step:g}",
            kind,
            row.part if not row.to_part else f"{row.part} / {row.to_part}",
            row.label or "",
            start or "",
            end if end and end != start else "",
            self._length(row),
            *figures,
            self._verdict(row, use),
            self._remark(row, use if begins else None),
        )

    def _verdict(self, row: Any, use: LinkUse | None) -> SheetCell:
        """The verdict of the row: a dash where the row is sound and its link fails."""
        word = self.verdicts.get(row.id, PASS)
        if word == PASS and use is not None and self._fails(use):
            return Text(SOUND_ROW, "text center")
        return Verdict(word)

    def _fails(self, use: LinkUse) -> bool:
        return self.evaluation.use_verdict(use) == FAIL

    def _remark(self, row: Any, begun: LinkUse | None) -> str:
        """The checks that say so of the row, or of the link that begins with it, then its note."""
        words = [self._checks((FAIL, THIN), row.id)]
        if begun is not None and not words[0] and self._fails(begun):
            words = [f"the link fails: {self._checks((FAIL,), *begun.row_ids)}"]
        is_lowest = row.step == self.served.bottleneck_step
        words.append("lowest rate" if is_lowest else row.note or "")
        return "; ".join(filter(None, words))

    def _checks(self, verdicts: tuple[str, ...], *rows: int) -> str:
        """Names of the checks that found something on rows of the path, by these verdicts in turn."""
        found = [finding for row in rows for finding in self.evaluation.findings_on.get(row, ())]
        checks = (
            finding.check
            for verdict in verdicts
            for finding in found
            if finding.verdict == verdict and self.path in finding.paths
        )
        return ", ".join(dict.fromkeys(checks))

    def _length(self, row: Any) -> SheetCell | str:
        """Length of a run as Inputs has it."""
        if not row.length_m:
            return ""
        given = row_key(row, "length_m")
        if given not in self.plan.inputs.rows:
            return Number(row.length_m, format="General")
        key = f"{self.result.prefix}.row{row.id}.length_m"
        return Calc(key, f"{{{given}}}", row.length_m, format="General")
