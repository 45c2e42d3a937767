"""At a glance: can it be ordered, in one sentence; the margins; one page."""

from collections import Counter

from backhaul.book.formula_cells import number_format
from backhaul.book.plan import Plan
from backhaul.book.sheets.page_fit import PAGE_HEIGHT_PT, page_room_pt, row_heights_pt
from backhaul.book.sheets.page_flow import Part, flow
from backhaul.budgets.order_lines import SECTIONS
from backhaul.budgets.performance import PathPerformance
from backhaul.checks.groups import causes, few
from backhaul.checks.safety import CAUTIONS, cautions_of
from backhaul.figures.path_figures import (
    AVAILABILITY,
    BOTTLENECK,
    DEMAND,
    LATENCY,
    RATE,
    WAYS,
    PathFigure,
)
from backhaul.findings import FAIL, NOTE, PASS, THIN, worst
from backhaul.spreadsheet.axis_scale import Axis
from backhaul.spreadsheet.cells import Calc, Head, Link, Number, SheetCell, Text, Verdict
from backhaul.spreadsheet.charts import VerdictBars, verdict_row
from backhaul.spreadsheet.grid import Sheet
from backhaul.spreadsheet.row_height import ROW_PT

ANSWERS = {PASS: "yes", THIN: "with care", FAIL: "not yet"}
SENTENCES = {
    PASS: "Nothing fails and no margin is thin: the list can be ordered.",
    THIN: "Nothing fails, but something is thin: order once Open points has been read and accepted.",
    FAIL: "Something fails: settle what stands first on Open points before anything is bought.",
}
#: More margins than this make the bars unreadable: the worst are shown.
MOST_BARS = 24
#: Findings that stand here; the rest on To settle.
MOST_FINDINGS = 4
#: A page is shrunk no further: 9 points become 7.
LEAST_SCALE = 0.78
US_A_MS = 1000.0


def build(plan: Plan) -> Sheet:
    """The sheet; built after all that it refers to."""
    evaluation = plan.evaluation
    project = evaluation.design.project
    title = project.title or evaluation.design.name or "Backhaul budget"
    sheet = Sheet(
        "At a glance", title, (24, 11, 14, 14, 15, 15, 15, 12, 50), subtitle=_subtitle(plan)
    )
    _answer(plan, sheet)
    _order(plan, sheet)
    _settle(plan, sheet)
    paths = _paths(plan, sheet)
    _cautions(plan, sheet)
    _key(sheet)
    bars = sorted(plan.margins, key=lambda m: m[4] - m[5])[:MOST_BARS]
    above_pt = sum(row_heights_pt(sheet, sheet.rows))
    chart_rows = max(9, 6 + round(0.8 * len(bars))) if bars else 0
    least_rows = max(7, 4 + round(0.5 * len(bars))) if bars else 0
    room = int((PAGE_HEIGHT_PT / LEAST_SCALE - above_pt) / ROW_PT) - 2
    chart_rows = max(min(chart_rows, room), least_rows)  # a lower chart before a second page
    chart_pt = (chart_rows + 2) * ROW_PT
    sheet.one_page = (above_pt + chart_pt) * LEAST_SCALE <= PAGE_HEIGHT_PT
    if not sheet.one_page:
        _lay_out(sheet, paths, chart_pt)
    if bars:
        _margins(plan, sheet, bars, chart_rows)
    return sheet


def _lay_out(sheet: Sheet, paths: tuple[int, int], chart_pt: float) -> None:
    """Pages of what takes more than one: the table of paths flows, the chart is not parted."""
    first, last = paths
    flow(
        sheet,
        [
            Part(first, last, (first + 2,), range(first + 4, last + 1)),
            Part(last + 1, len(sheet.rows)),
        ],
    )
    begun = sheet.page_breaks[-1] if sheet.page_breaks else 0
    if sum(row_heights_pt(sheet, sheet.rows[begun:])) + chart_pt > page_room_pt(sheet):
        sheet.page_break()


def _subtitle(plan: Plan) -> str:
    project = plan.evaluation.design.project
    words = (
        project.client,
        project.document,
        f"revision {project.revision}" if project.revision else None,
        project.date,
        project.status,
    )
    return ", ".join(word for word in words if word)


def _answer(plan: Plan, sheet: Sheet) -> None:
    parts = dict(plan.path_verdicts.values())
    loose = worst(finding.verdict for finding in plan.evaluation.findings if not finding.paths)
    word = worst([*parts.values(), loose])
    verdict = _worst_of_paths(list(plan.path_verdicts)) if parts else f'"{word}"'
    if loose != PASS and parts:
        verdict = f'IF({verdict}="{FAIL}","{FAIL}","{loose}")' if loose == THIN else f'"{loose}"'
    sheet.blank()
    sheet.row(
        Text("Can it be ordered?", "lead", 2),
        Verdict(
            ANSWERS[word],
            formula=_choose("{glance.verdict}", ANSWERS),
            key="glance.answer",
            style="verdict big",
            span=2,
        ),
        Calc(
            "glance.sentence",
            _choose("{glance.verdict}", SENTENCES),
            SENTENCES[word],
            style="calc lead",
            span=5,
        ),
        height=34,
    )
    counts: Counter[str] = Counter()
    for group in causes(plan.evaluation.findings):
        counts[group.severity] += len(group.places)
    words = f"{counts[FAIL]} fail, {counts[THIN]} thin (works, with less reserve than is wanted)"
    sheet.row(
        Text("Verdict of the whole design", "text", 2),
        Verdict(word, formula=verdict, key="glance.verdict", span=2),
        _as_written(plan, f"As written: {words}."),
    )


def _as_written(plan: Plan, words: str) -> Text | Calc:
    """The count of findings, and that the answer is that of other parts where some are typed in."""
    if not plan.offered_count:
        return Text(words, "text", 5)
    count = f"{{{plan.offered_count}}}"
    formula = f'"{words}"&IF({count}>0," Offered figures counted: "&{count}&".","")'
    return Calc("glance.written", formula, words, style="calc text", span=5)


def _order(plan: Plan, sheet: Sheet) -> None:
    """What is ordered, in two lines; prices as they are filled in."""
    if plan.orders is None:
        return
    lines = plan.orders.lines_by("")
    sections = Counter(line.section for line in lines)
    words = ", ".join(
        f"{section.lower()} {sections[section]}" for section in SECTIONS if sections[section]
    )
    sheet.heading("What to order")
    apart = len(plan.orders.lines) - len(lines)
    sheet.row(
        Link("Order list", "Order list"),
        Text(
            (f"{len(lines)} lines: {words}." if lines else "Nothing.")
            + (f" {apart} more lines are there already or come from others." if apart else ""),
            span=sheet.width - 1,
        ),
    )
    if lines:
        currency = plan.evaluation.design.project.currency or ""
        sheet.row(
            "Priced so far",
            Calc("glance.total", "{order.total}", 0, unit=currency, format="#,##0.00", span=2),
            Text("Lines without a price", span=2),
            Calc("glance.unpriced", "{order.unpriced}", len(lines), format="0"),
            Text("Longest lead, weeks", span=2),
            Calc("glance.lead", "{order.lead}", "not yet known", style="calc text"),
        )


def _worst_of_paths(paths: list[str]) -> str:
    """Over the verdicts of the table below: a range, since a district has too many to name.

    The paths that say pass or thin are counted: whatever else stands there, an error too, fails.
    """
    column = f"{{glance.{_safe(paths[0])}}}:{{glance.{_safe(paths[-1])}}}"
    passes, thin = (f'COUNTIF({column},"{word}")' for word in (PASS, THIN))
    return f'IF({passes}={len(paths)},"{PASS}",IF({passes}+{thin}={len(paths)},"{THIN}","{FAIL}"))'


def _choose(cell: str, words: dict[str, str]) -> str:
    """Words for a verdict; for what is none, an error too, those for fail."""
    return (
        f'IF(ISERROR({cell}),"{words[FAIL]}",'
        f'IF({cell}="{PASS}","{words[PASS]}",IF({cell}="{THIN}","{words[THIN]}","{words[FAIL]}")))'
    )


def _paths(plan: Plan, sheet: Sheet) -> tuple[int, int]:
    """The table; its first row, the blank one, and its last."""
    first = sheet.next_row
    sheet.heading("Paths")
    sheet.head(
        "Path",
        Head("Verdict", "head center"),
        *(Head(RATE[way].head, "head right") for way in WAYS),
        *(Head(DEMAND[way].head, "head right") for way in WAYS),
        Head(AVAILABILITY.head, "head right"),
        Head(LATENCY.head, "head right"),
        f"{BOTTLENECK.head}, purpose",
    )
    for path, (key, word) in plan.path_verdicts.items():
        served = plan.evaluation.performance.paths[path]
        row = plan.evaluation.design.paths.get(path)
        anchor = plan.anchors.get(("path", path))
        name: SheetCell | str = Link(path, anchor) if anchor else path
        purpose = [row.title] if row and row.title else []
        if served.bottleneck_step is not None:
            purpose.insert(0, f"step {served.bottleneck_step:g}")
        figures = [
            *(_figure(plan.path_rates, path, RATE[way], served) for way in WAYS),
            *(
                _figure(plan.path_demands, path, DEMAND[way], served) if served.has_demand else ""
                for way in WAYS
            ),
            _available(plan, path, served),
            _delay(served.latency_us),
        ]
        if not served.carries_data:
            figures = ["power only", *[""] * 5]
        sheet.row(
            name,
            Verdict(word, formula=f"{{{key}}}", key=f"glance.{_safe(path)}"),
            *figures,
            "; ".join(purpose),
        )
    if any(served.carries_data for served in plan.evaluation.performance.paths.values()):
        sheet.say(
            "Available: share of the year in which the hops carry the demand; faults of "
            "equipment and supply are not counted.",
            "muted",
        )
    return first, sheet.next_row - 1


def _available(plan: Plan, path: str, served: PathPerformance) -> SheetCell | str:
    """Availability by the hops, as Chain has it; words where a path has none."""
    percent = served.availability_percent
    if percent is None:
        return ""
    key = plan.path_availabilities.get(path)
    if key is None:
        return Text("no hop", "text right")
    name, figure = f"glance.{AVAILABILITY.key}.{_safe(path)}", AVAILABILITY
    return Calc(name, f"{{{key}}}", float(percent), format=figure.format, unit=figure.unit)


def _delay(latency_us: float | None) -> SheetCell | str:
    """A delay with no more digits than it has."""
    if latency_us is None:
        return ""
    if latency_us < 1:
        return Text("< 1 µs", "text right")
    if latency_us < US_A_MS:
        return Number(latency_us, format="0", unit="µs")
    return Number(latency_us / US_A_MS, format="0.00", unit="ms")


def _safe(path: str) -> str:
    return path.replace("{", "(").replace("}", ")")


def _figure(
    keys: dict[tuple[str, str], str], path: str, figure: PathFigure, served: PathPerformance
) -> SheetCell | str:
    """A figure of a path as Chain has it, live; in words where Chain has none."""
    key, value = keys.get((path, figure.way)), figure.of(served)
    if key is None or value is None:
        return Text("none" if served.is_stopped else figure.text(served), "text right")
    name = f"glance.{figure.key}.{_safe(path)}"
    shown = number_format(figure.digits)
    return Calc(name, f"{{{key}}}", float(value), format=shown, unit=figure.unit)


def _margins(plan: Plan, sheet: Sheet, shown: list[tuple], chart_rows: int) -> None:
    """Bars of the margins above what is healthy, coloured by verdict, all live."""
    rows, verdicts = [], []
    for number, (_, label, margin_key, healthy_key, margin, healthy, _) in enumerate(shown):
        word = (
            FAIL if round(margin, 6) < 0 else THIN if round(margin, 6) < round(healthy, 6) else PASS
        )
        key = f"glance.margin.{number}"
        formula = (
            f'IF(ROUND({{{margin_key}}},6)<0,"fail",'
            f'IF(ROUND({{{margin_key}}},6)<ROUND({{{healthy_key}}},6),"thin","pass"))'
        )
        verdicts.append((Verdict(word, formula=formula, key=key),))
        rows.append(verdict_row(label, margin_key, margin, key, word))
    columns = sheet.helper("Chart: margins", ("margin", "pass", "thin", "fail"), rows)
    sheet.helper("Verdicts of the margins", ("verdict",), verdicts)
    heading = "Margins" if len(shown) == len(plan.margins) else f"The {len(shown)} thinnest margins"
    sheet.heading(f"{heading}, dB, after the repair allowance")
    text = "; ".join(f"{label} {margin:.1f} dB" for _, label, _, _, margin, _, _ in shown[:8])
    sheet.chart(VerdictBars("Margins", *columns, Axis("dB"), text), rows=chart_rows)


def _settle(plan: Plan, sheet: Sheet) -> None:
    groups = causes(plan.evaluation.findings)
    sheet.heading("First on Open points" if groups else "Open points: nothing")
    for group in groups[:MOST_FINDINGS]:
        finding = group.head
        paths = few(group.paths)
        sheet.row(
            Link(finding.check, "Open points"),
            Verdict(group.severity),
            Text(f"{paths}: {finding.message}" if paths else finding.message, span=5),
            Text(finding.remedy or "", span=2),
        )
    if len(groups) > MOST_FINDINGS:
        rest = sum(len(group.places) for group in groups[MOST_FINDINGS:])
        sheet.say(f"and {rest} more on Open points", "muted")


def _cautions(plan: Plan, sheet: Sheet) -> None:
    cautions = [
        CAUTIONS[name].partition(":")[0]
        for name, on in cautions_of(plan.evaluation.context).items()
        if on
    ]
    if cautions:
        sheet.blank()
        sheet.row(
            Text(
                "Cautions, on the sheets and cards: "
                + ", ".join(cautions).lower()
                + ". Local codes and licensed practice decide.",
                "caution",
                sheet.width,
            )
        )


def _key(sheet: Sheet) -> None:
    sheet.blank()
    sheet.row(
        Text("Key", "strong"),
        Verdict(PASS),
        Verdict(THIN),
        Verdict(FAIL),
        Verdict(NOTE),
        Text("yellow: may be typed over", "input text", 2),
        Text("grey: computed", "calc text", 2),
    )
