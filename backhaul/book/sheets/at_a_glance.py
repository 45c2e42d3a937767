"""At a glance: can it be ordered, in one sentence; the margins; one page."""

from backhaul.book.confirm_cells import CHART_KEY, confirm_bars, confirm_count, write_confirm
from backhaul.book.document import title_of
from backhaul.book.formula_cells import (
    AVAILABILITY_OF_HOPS,
    AVAILABILITY_OR_NONE,
    RATE_OR_NONE,
    number_format,
)
from backhaul.book.keys import safe
from backhaul.book.plan import MarginBar, Plan
from backhaul.book.sheets.glance_answer import RUN_AGAIN, write_answer
from backhaul.book.sheets.glance_order import write_depends, write_order
from backhaul.book.sheets.open_points import ACCEPTED_KEY, accepted_of
from backhaul.book.sheets.page_fit import PAGE_HEIGHT_PT, page_room_pt, row_heights_pt
from backhaul.book.sheets.page_flow import Part, flow
from backhaul.book.status import LINK_ROWS, LINKS_KEY
from backhaul.book.us_sheet import sheet_of
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
from backhaul.findings import FAIL, NOTE, PASS, THIN
from backhaul.spreadsheet.axis_scale import Axis
from backhaul.spreadsheet.cells import Calc, Head, Link, SheetCell, Text, Verdict
from backhaul.spreadsheet.charts import Chart, VerdictBars, verdict_row
from backhaul.spreadsheet.formula import text_literal
from backhaul.spreadsheet.grid import Sheet
from backhaul.spreadsheet.row_height import ROW_PT

#: More margins than this make the bars unreadable: the worst are shown.
MOST_BARS = 24
#: Findings that stand here; fewer where a page has no room for them. The rest on Open points.
MOST_FINDINGS, LEAST_FINDINGS = 4, 2
#: A page is shrunk no further: 8.5 points become 7.
LEAST_SCALE = 0.82
_CONFIRM_TITLE = "Confirm first: spreads until a verdict turns, the shortest bar first"
#: A delay under 1 µs, and from 1 ms on; a comma at the end of a format divides by a thousand.
_DELAY_FORMAT = '[<1]"< 1 µs";[<1000]0" µs";0.00," ms"'


def build(plan: Plan) -> Sheet:
    """The sheet; built after all that it refers to."""
    evaluation = plan.evaluation
    title = title_of(evaluation.design)
    sheet = sheet_of(
        plan.evaluation.design,
        "At a glance",
        title,
        (22, 12.5, 16.2, 16.2, 16.2, 16.2, 16.2, 12, 42.7),
        subtitle=_subtitle(plan),
    )
    for row in range(LINK_ROWS):
        sheet.row(Text("", "plain", key=f"{LINKS_KEY}.{row}"))
    write_answer(plan, sheet)
    write_order(plan, sheet)
    write_depends(plan, sheet)
    write_confirm(plan, sheet)
    settle = sheet.next_row
    _settle(plan, sheet, MOST_FINDINGS)
    paths = _paths(plan, sheet)
    _cautions(plan, sheet)
    _key(sheet)
    paths = _fewer_findings(plan, sheet, settle, paths)
    bars = sorted(plan.margins, key=lambda bar: bar.margin - bar.healthy)[:MOST_BARS]
    above_pt = sum(row_heights_pt(sheet, sheet.rows))
    count = max(len(bars), confirm_count(plan))
    chart_rows = max(9, 6 + round(0.8 * count)) if count else 0
    least_rows = max(7, 4 + round(0.5 * count)) if count else 0
    room = int((PAGE_HEIGHT_PT / LEAST_SCALE - above_pt) / ROW_PT) - 2
    chart_rows = max(min(chart_rows, room), least_rows)  # a lower chart before a second page
    chart_pt = (chart_rows + 2) * ROW_PT
    sheet.one_page = (above_pt + chart_pt) * LEAST_SCALE <= PAGE_HEIGHT_PT
    if not sheet.one_page and count and plan.open_points is not None:
        sheet.one_page = above_pt * LEAST_SCALE <= PAGE_HEIGHT_PT
        points = plan.open_points
        chart_pt = (least_rows + 3) * ROW_PT
        room_pt = page_room_pt(points)
        if sum(row_heights_pt(points, points.rows)) % room_pt + chart_pt > room_pt:
            points.page_break()
        _charts(plan, points, bars, least_rows)
        count = 0
    if not sheet.one_page:
        _lay_out(sheet, paths, chart_pt if count else 0.0)
    if count:
        _charts(plan, sheet, bars, chart_rows)
    return sheet


def _fewer_findings(
    plan: Plan, sheet: Sheet, settle: int, paths: tuple[int, int]
) -> tuple[int, int]:
    """Leave out findings, which stand on Open points, where one page then holds all; the paths' rows."""
    for most in range(MOST_FINDINGS - 1, LEAST_FINDINGS - 1, -1):
        if sum(row_heights_pt(sheet, sheet.rows)) * LEAST_SCALE <= PAGE_HEIGHT_PT:
            break
        told = sheet_of(plan.evaluation.design, "", "", sheet.columns)
        told.rows.clear()
        _settle(plan, told, most)
        moved = len(told.rows) - (paths[0] - settle)
        sheet.rows[settle - 1 : paths[0] - 1] = told.rows
        paths = (paths[0] + moved, paths[1] + moved)
    return paths


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
            _delay(plan, path, served),
        ]
        if not served.carries_data:
            figures = ["power only", *[""] * 5]
        sheet.row(
            name,
            Verdict(
                word,
                formula=f'IF({{status.stale}}>0,"{RUN_AGAIN}",{{{key}}})',
                key=f"glance.{safe(path)}",
            ),
            *figures,
            _purpose(plan, path, "; ".join(purpose)),
        )
    if any(served.carries_data for served in plan.evaluation.performance.paths.values()):
        sheet.say(
            "Available: share of the year in which the hops carry the demand; faults of "
            "equipment and supply are not counted.",
            "muted",
        )
    return first, sheet.next_row - 1


def _purpose(plan: Plan, path: str, words: str) -> SheetCell | str:
    """What a path is for; while its verdict is that of the last run, the check that says so first."""
    key, word = plan.path_verdicts[path]
    checks = [
        group.head.check
        for group in causes(plan.evaluation.findings_in.get(path, ()))
        if group.severity == word
    ]
    if word == PASS or not checks:
        return words
    named = f"{checks[0]}; {words}" if words else checks[0]
    formula = f'IF({{{key}}}="{word}",{text_literal(named)},{text_literal(words)})'
    return Calc(f"glance.{safe(path)}.why", formula, named, style="text")


def _available(plan: Plan, path: str, served: PathPerformance) -> SheetCell | str:
    """Availability by the hops, as Chain has it; words where a path has none."""
    percent, key = served.availability_percent, plan.path_availabilities.get(path)
    if key is None:
        return "" if percent is None else Text("no hop", "text right")
    name = f"glance.{AVAILABILITY.key}.{safe(path)}"
    shown = AVAILABILITY_OR_NONE if _has_rate(plan, path) else AVAILABILITY_OF_HOPS
    return Calc(name, f"{{{key}}}", float(percent or 0.0), format=shown)


def _has_rate(plan: Plan, path: str) -> bool:
    return all((path, way) in plan.path_rates for way in WAYS)


def _delay(plan: Plan, path: str, served: PathPerformance) -> SheetCell | str:
    """The delay as Chain has it, with no more digits than it has."""
    key, value = plan.path_delays.get(path), LATENCY.of(served)
    if key is None or value is None or not _has_rate(plan, path):
        return ""
    name = f"glance.{LATENCY.key}.{safe(path)}"
    return Calc(name, f"{{{key}}}", float(value), format=_DELAY_FORMAT)


def _figure(
    keys: dict[tuple[str, str], str], path: str, figure: PathFigure, served: PathPerformance
) -> SheetCell | str:
    """A figure of a path as Chain has it, live; in words where Chain has none."""
    key, value = keys.get((path, figure.way)), figure.of(served)
    if key is None or (value is None and not served.is_stopped):
        return Text(figure.text(served), "text right")
    name = f"glance.{figure.key}.{safe(path)}"
    shown = RATE_OR_NONE if figure in RATE.values() else number_format(figure.digits)
    return Calc(name, f"{{{key}}}", float(value or 0.0), format=shown, unit=figure.unit)


def _charts(plan: Plan, sheet: Sheet, shown: list[MarginBar], chart_rows: int) -> None:
    """Margins, and beside them what to confirm first; one alone takes the whole width."""
    charts: list[tuple[str, str, Chart]] = []
    if shown:
        charts.append((_margins_title(plan, shown), "", _margins(plan, sheet, shown)))
    if confirm_count(plan):
        charts.append((_CONFIRM_TITLE, CHART_KEY, confirm_bars(plan, sheet)))
    spans = [sheet.width]
    if len(charts) > 1:
        middle = _middle(sheet)
        spans = [middle, sheet.width - middle]
    sheet.blank()
    sheet.row(
        *(
            Text(title, "heading", span, key=key)
            for (title, key, _), span in zip(charts, spans, strict=True)
        )
    )
    first, column = sheet.next_row, 1
    sheet.blank(chart_rows)
    for (_, _, chart), span in zip(charts, spans, strict=True):
        sheet.overlay(chart, first, first + chart_rows - 1, column, column + span - 1)
        column += span


def _middle(sheet: Sheet) -> int:
    """How many columns take about half the width."""
    widths = sheet.columns[: sheet.width]
    return min(range(1, sheet.width), key=lambda n: abs(sum(widths[:n]) - sum(widths[n:])))


def _margins_title(plan: Plan, shown: list[MarginBar]) -> str:
    heading = "Margins" if len(shown) == len(plan.margins) else f"The {len(shown)} thinnest margins"
    return f"{heading}, dB: light after repair, hops in the mode in use"


def _margins(plan: Plan, sheet: Sheet, shown: list[MarginBar]) -> VerdictBars:
    """Bars of the margins, each coloured by the verdict of its link, all live."""
    rows, verdicts = [], []
    for number, bar in enumerate(shown):
        found, word = plan.link_verdicts[bar.link]
        key = f"glance.margin.{number}"
        verdicts.append((Verdict(word, formula=f"{{{found}}}", key=key),))
        rows.append(verdict_row(bar.label, bar.key, bar.margin, key, word))
    columns = sheet.helper("Chart: margins", ("margin", "pass", "thin", "fail"), rows)
    sheet.helper("Verdicts of the margins", ("verdict",), verdicts)
    text = "; ".join(f"{bar.label} {bar.margin:.1f} dB" for bar in shown[:8])
    return VerdictBars("", *columns, Axis(""), text, legend=False)


def _settle(plan: Plan, sheet: Sheet, most: int) -> None:
    groups = causes(plan.evaluation.findings)
    accepted = accepted_of(plan.evaluation)
    nothing = "Open points: nothing that is not accepted" if accepted else "Open points: nothing"
    sheet.heading("First on Open points" if groups else nothing)
    for group in groups[:most]:
        finding = group.head
        paths = few(group.paths)
        sheet.row(
            Link(finding.check, "Open points"),
            Verdict(group.severity),
            Text(f"{paths}: {group.message}" if paths else group.message, span=5),
            Text(group.remedy, span=2),
        )
    if len(groups) > most:
        rest = sum(group.count for group in groups[most:])
        sheet.say(f"and {rest} more on Open points", "muted")
    if accepted:
        who = few(finding.accepted.by for finding in accepted if finding.accepted)
        sheet.row(
            Link(f"{len(accepted)} accepted", ACCEPTED_KEY),
            Text(f"by {who}: where and why stands on Open points", span=sheet.width - 1),
        )


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
        Verdict(PASS, style="verdict key"),
        Verdict(THIN, style="verdict key"),
        Verdict(FAIL, style="verdict key"),
        Verdict(NOTE, style="verdict key"),
        Text("yellow: may be typed over", "input text", 2),
        Text("grey: live", "calc text"),
        Text("italic: of the last run of backhaul", "held key"),
    )
