"""Cables and strands: every run from port to port; strands and joints of each fiber cable."""

from collections.abc import Callable
from typing import Any

from backhaul.book.plan import Plan
from backhaul.book.sheets.cable_strands import (
    COLOUR_SOURCE,
    FREE,
    PAIR_RULE,
    Strand,
    counts,
    has_schedule,
    strands_of,
    way,
    with_free_ones_together,
)
from backhaul.book.sheets.page_flow import Part, flow
from backhaul.book.us_sheet import Lengths, lengths_of, sheet_of
from backhaul.budgets.cable_runs import Run, cable_runs
from backhaul.budgets.orders import (
    cut_run,
    last_length_m,
    needed_length_m,
    run_loops,
    run_needed_m,
    whole_lengths,
)
from backhaul.checks.safety import CAUTIONS, DEFERS
from backhaul.design.kinds import COPPER, FEED, KINDS, LIGHT
from backhaul.spreadsheet.cells import Calc, Head, Link, SheetCell, Text
from backhaul.spreadsheet.formula import Cell
from backhaul.spreadsheet.grid import Sheet

_COLUMNS = (15, 20, 31, 31, 9, 9, 11, 18, 11, 9)
#: Share of a page up to which a table is not parted.
_KEPT = 0.25
_SECTIONS = (
    ((LIGHT,), "Fiber"),
    ((COPPER, FEED), "Copper and feeds"),
)


def build(plan: Plan) -> Sheet | None:
    """The sheet, or None where a design has no runs."""
    runs = cable_runs(plan.evaluation)
    if not runs:
        return None
    sheet = sheet_of(
        plan.evaluation.design,
        "Cables and strands",
        "Cables and strands",
        _COLUMNS,
        subtitle="Every run once, from port to port, then the strands of each fiber cable. Length "
        "to order = length with slack and loops; factory-made cords and assemblies as they are. How to "
        "pull and bend stands on Basis.",
    )
    media = {KINDS[run.row.kind].medium for run in runs}
    if LIGHT in media:
        sheet.row(Text(f"{CAUTIONS['laser']} {DEFERS.capitalize()}.", "caution", sheet.width))
    if FEED in media:
        sheet.row(Text(f"{CAUTIONS['mains']} {DEFERS.capitalize()}.", "caution", sheet.width))
    parts = []
    for of, title in _SECTIONS:
        of_medium = [run for run in runs if KINDS[run.row.kind].medium in of]
        if of_medium:
            parts.append(_part(sheet, _schedule, plan, sheet, title, of_medium))
    for run in runs:
        if has_schedule(run):
            parts.append(_part(sheet, _strands, plan, sheet, run))
    flow(sheet, parts)
    return sheet


def _part(sheet: Sheet, write: Callable[..., int], *given: Any) -> Part:
    """The rows that `write` adds, a blank one and a heading first; it returns that of the heads."""
    first = sheet.next_row
    head = write(*given)
    return Part(
        first, sheet.next_row - 1, (first + 1, head), range(head + 2, sheet.next_row), keep=_KEPT
    )


def _schedule(plan: Plan, sheet: Sheet, title: str, runs: list[Run]) -> int:
    sheet.heading(title)
    is_fiber = runs[0].is_fiber
    head = sheet.head(
        "Run",
        "Part",
        "From",
        "To",
        Head("Length, m", "head right"),
        Head("To order, m", "head right"),
        "Cut from, m",
        *(("Termination", "Strands used / free") if is_fiber else (Head("Paths", span=2),)),
        "By",
    )
    for run in runs:
        anchor = f"{run.key}.anchor"
        plan.anchors[("cable", run.row.id)] = anchor
        strands = strands_of(plan.evaluation, run) if is_fiber else []
        sheet.row(
            Text(run.name, key=anchor),
            run.row.part,
            run.ends[0].text,
            run.ends[1].text,
            *_lengths(plan, run),
            *(
                (_on_ends(run), _count_text(strands, run))
                if is_fiber
                else (Text(", ".join(run.paths), span=2),)
            ),
            run.row.by or "",
        )
    return head


def _on_ends(run: Run) -> str:
    faces = [end.face for end in run.ends]
    return faces[0] if faces[0] == faces[1] else " — ".join(faces)


def _count_text(strands: list[Strand], run: Run) -> Text:
    used, free = counts(strands, run.record.strands)
    return Text(f"{used} / {'?' if free is None else free}", "text center")


def _lengths(plan: Plan, run: Run) -> tuple[SheetCell | str, SheetCell | str, SheetCell | str]:
    """Length of the run, length to order, order lengths that it is cut from; live."""
    key, row = run.key, run.row
    given = plan.inputs.row(row, "length_m", "length", "m")
    if given is None:
        return Text("not known", "text right"), "", ""
    length = Calc(f"{key}.length_m", f"{{{given}}}", float(row.length_m), format="General")
    if row.by in ("existing", "client"):
        return length, "", ""
    needed = _needed(plan, run, length)
    return length, needed, _cut_from(run, needed, lengths_of(plan.evaluation.design))


def _needed(plan: Plan, run: Run, length: Calc) -> Calc:
    evaluation, project = plan.evaluation, plan.evaluation.design.project
    outdoors = evaluation.context.is_outdoor(run.row)
    value = needed_length_m(run.row, run.record, project, is_outdoor=outdoors)
    key = f"{run.key}.needed_m"
    if run.is_made:
        return Calc(key, f"{{{length.key}}}", float(value), format="General")
    slack = plan.inputs.project(evaluation, "cable_slack_percent", "slack of a run", "%")
    loop = plan.inputs.project(evaluation, "loop_m", "slack loop at each end outdoors", "m")
    text = run_needed_m(
        length_m=Cell.ref(length.key),
        slack_percent=Cell.ref(slack),
        loop_m=Cell.ref(loop),
        loops=run_loops(run.row, run.record, is_outdoor=outdoors),
    ).text
    return Calc(key, text, float(value), format="General")


def _cut_from(run: Run, needed: Calc, told: Lengths) -> SheetCell:
    """Order lengths of one run as words: `2000`, or `2 × 4000 + 2000`."""
    sizes = tuple(sorted(run.record.order_lengths_m or ()))
    if not sizes or (run.is_made and needed.value > sizes[-1]):
        return Text("to length", "text right")
    lengths = cut_run(needed_m=needed.value, order_lengths_m=sizes).lengths_m
    whole, last, most = len(lengths) - 1, lengths[-1], sizes[-1]
    value = f"{whole} × {told.text(most)} + {told.text(last)}" if whole else told.text(last)
    ref = Cell.ref(needed.key)
    count = whole_lengths(needed_m=ref, largest_m=most).text
    rest = last_length_m(
        needed_m=ref, whole=whole_lengths(needed_m=ref, largest_m=most), sizes_m=sizes
    )
    rest_text = rest.text if isinstance(rest, Cell) else f"{rest:g}"
    formula = f'IF({count}>0,{count}&" × {told.text(most)} + ","")&{told.formula(rest_text)}'
    return Calc(f"{run.key}.cut_from", formula, value, style="calc text")


def _strands(plan: Plan, sheet: Sheet, run: Run) -> int:
    strands = strands_of(plan.evaluation, run)
    used, free = counts(strands, run.record.strands)
    sites = " to ".join(dict.fromkeys(end.site for end in run.ends if end.site))
    sheet.heading(f"Strands of {run.name}: {run.row.part}" + (f", {sites}" if sites else ""))
    sheet.row(
        Text(
            f"{used} in use, {'unknown' if free is None else free} free. {COLOUR_SOURCE}",
            "muted",
            sheet.width,
        )
    )
    if any(len(use.row.strand) > 1 for use in run.uses):
        sheet.row(Text(PAIR_RULE, "muted", sheet.width))
    head = sheet.row(
        Head("Strand"),
        Head("Colour"),
        Head("From port"),
        Head("To port"),
        Head("Used by", span=3),
        Head("Joints on the way, each strand", span=3),
    )
    for number, strand in enumerate(with_free_ones_together(strands)):
        key = f"{run.key}.strand{number}"
        if not strand.uses:
            sheet.row(
                Text(strand.name, "text center", key=key),
                Text(strand.colour, span=3),
                Text(FREE, span=3),
                Text("", span=3),
            )
            continue
        for place, use in enumerate(strand.uses):
            near, far, before, behind = way(plan.evaluation, run, use)
            sheet.row(
                Text(_name(strand, place), "text center", key="" if place else key),
                strand.colour if not place else "",
                near,
                far,
                _user(plan, use),
                Text(f"{before} — cable — {behind}", "text small", 3),
            )
    return head


def _name(strand: Strand, place: int) -> str:
    if place:
        return f"{strand.name}, again"
    return strand.name if strand.in_cable else f"{strand.name}: not in this cable"


def _user(plan: Plan, use: Any) -> SheetCell:
    link = use.link
    steps = f"steps {link.first_step:g} to {link.last_step:g}"
    text = f"{', '.join(link.paths[:3])} {steps}"
    if link.key in plan.anchors:
        return Link(text, plan.anchors[link.key], span=3)
    return Text(text, span=3)
