"""At a glance: can it be ordered, in one sentence; the margins; one page."""

from backhaul.checks.safety import CAUTIONS, cautions_of
from backhaul.findings import FAIL, PASS, THIN, worst
from backhaul.wording import rate_text
from backhaul.workbook.cells import Calc, Link, Number, SheetCell, Text, Verdict
from backhaul.workbook.charts import Axis, VerdictBars, verdict_row
from backhaul.workbook.grid import Sheet
from backhaul.workbook.plan import Plan

ANSWERS = {PASS: "yes", THIN: "with care", FAIL: "not yet"}
SENTENCES = {
    PASS: "Nothing fails and no margin is thin: the list can be ordered.",
    THIN: "Nothing fails, but something is thin: order once To settle has been read and accepted.",
    FAIL: "Something fails: settle what stands first on To settle before anything is bought.",
}
#: More margins than this make the bars unreadable: the worst are shown.
MOST_BARS = 24
MOST_PATHS_ON_ONE_PAGE = 10


def build(plan: Plan) -> Sheet:
    """The sheet; built after all that it refers to."""
    evaluation = plan.evaluation
    project = evaluation.design.project
    title = project.title or evaluation.design.name or "Backhaul budget"
    sheet = Sheet("At a glance", title, (24, 11, 12, 12, 13, 13, 13, 12, 28),
                  subtitle=_subtitle(plan),
                  one_page=len(plan.path_verdicts) <= MOST_PATHS_ON_ONE_PAGE)  # fmt: skip
    _answer(plan, sheet)
    _paths(plan, sheet)
    _margins(plan, sheet)
    _counts(plan, sheet)
    _key(sheet)
    return sheet


def _subtitle(plan: Plan) -> str:
    project = plan.evaluation.design.project
    words = (
        project.client, project.document,
        f"revision {project.revision}" if project.revision else None, project.date, project.status,
    )  # fmt: skip
    return ", ".join(word for word in words if word)


def _answer(plan: Plan, sheet: Sheet) -> None:
    parts = dict(plan.path_verdicts.values())
    loose = worst(
        finding.severity for finding in plan.evaluation.findings if not finding.paths
    )
    word = worst([*parts.values(), loose])
    verdict = _worst_of_paths(list(plan.path_verdicts)) if parts else f'"{word}"'
    if loose != PASS and parts:
        verdict = f'IF({verdict}="fail","fail","{loose}")' if loose == THIN else f'"{loose}"'
    sheet.blank()
    sheet.row(
        Text("Can it be ordered?", "lead", 2),
        Verdict(ANSWERS[word], formula=_choose("{glance.verdict}", ANSWERS), key="glance.answer",
                style="verdict big", span=2),
        Calc("glance.sentence", _choose("{glance.verdict}", SENTENCES), SENTENCES[word],
             style="calc lead", span=5),
        height=34,
    )  # fmt: skip
    sheet.row(Text("Verdict of the whole design", "text small", 2),
              Verdict(word, formula=verdict, key="glance.verdict", span=2))  # fmt: skip


def _worst_of_paths(paths: list[str]) -> str:
    """Over the verdicts of the table below: a range, since a district has too many to name."""
    column = f"{{glance.{_safe(paths[0])}}}:{{glance.{_safe(paths[-1])}}}"
    counts = [f'COUNTIF({column},"{word}")>0' for word in (FAIL, THIN)]
    return f'IF({counts[0]},"{FAIL}",IF({counts[1]},"{THIN}","{PASS}"))'


def _choose(cell: str, words: dict[str, str]) -> str:
    return f'IF({cell}="{FAIL}","{words[FAIL]}",IF({cell}="{THIN}","{words[THIN]}","{words[PASS]}"))'


def _paths(plan: Plan, sheet: Sheet) -> None:
    sheet.heading("Paths")
    sheet.head("Path", "Verdict", "Up", "Down", "Demand up", "Demand down", "Of the year", "Delay",
               "Narrowest step, purpose", repeat=True)  # fmt: skip
    for path, (key, word) in plan.path_verdicts.items():
        served = plan.evaluation.service.paths[path]
        row = plan.evaluation.design.paths.get(path)
        anchor = plan.anchors.get(("path", path))
        name: SheetCell | str = Link(path, anchor) if anchor else path
        purpose = [row.title] if row and row.title else []
        if served.bottleneck_step is not None:
            purpose.insert(0, f"step {served.bottleneck_step:g}")
        figures = [
            _rate(served.rate_up_mbps), _rate(served.rate_down_mbps),
            rate_text(round(served.demand_up_mbps, 1)) if served.has_demand else "",
            rate_text(round(served.demand_down_mbps, 1)) if served.has_demand else "",
            Number(served.availability_percent, format="0.000", unit="%")
            if served.availability_percent is not None else "",
            Number(served.latency_us / 1000, format="0.00", unit="ms")
            if served.latency_us is not None else "",
        ]  # fmt: skip
        if not served.carries_data:
            figures = ["power only", *[""] * 5]
        sheet.row(name, Verdict(word, formula=f"{{{key}}}", key=f"glance.{_safe(path)}"), *figures,
                  "; ".join(purpose))  # fmt: skip


def _safe(path: str) -> str:
    return path.replace("{", "(").replace("}", ")")


def _rate(rate: float | None) -> str:
    return "not known" if rate is None else rate_text(round(rate, 1))


def _margins(plan: Plan, sheet: Sheet) -> None:
    """Bars of the margins above what is healthy, coloured by verdict, all live."""
    if not plan.margins:
        return
    shown = sorted(plan.margins, key=lambda m: m[4] - m[5])[:MOST_BARS]
    rows, verdicts = [], []
    for number, (_, label, margin_key, healthy_key, margin, healthy, _) in enumerate(shown):
        word = FAIL if round(margin, 6) < 0 else THIN if round(margin, 6) < round(healthy, 6) else PASS
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
    sheet.heading(f"{heading}, dB, after what is held back")
    text = "; ".join(f"{label} {margin:.1f} dB" for _, label, _, _, margin, _, _ in shown[:8])
    sheet.chart(VerdictBars("Margins", *columns, Axis("dB", format="0"), text),
                rows=max(8, min(4 + 2 * len(shown), 22)))  # fmt: skip


def _counts(plan: Plan, sheet: Sheet) -> None:
    findings = plan.evaluation.findings
    settle = [f for f in findings if f.severity in (FAIL, THIN)]
    sheet.heading("First on To settle" if settle else "To settle: nothing")
    for finding in settle[:5]:
        sheet.row(Link(finding.check, "To settle"), Verdict(finding.severity),
                  Text(f"{finding.path or ''} {finding.message}", span=4),
                  Text(finding.remedy or "", span=3))  # fmt: skip
    if len(settle) > 5:
        sheet.say(f"and {len(settle) - 5} more on To settle", "muted")
    cautions = [CAUTIONS[name].partition(":")[0] for name, on in cautions_of(
        plan.evaluation.context).items() if on]  # fmt: skip
    if cautions:
        sheet.blank()
        sheet.row(Text(
            "Cautions stand on the sheets and site cards: " + ", ".join(cautions).lower()
            + ". Local codes and licensed practice decide.", "caution", sheet.width,
        ))  # fmt: skip


def _key(sheet: Sheet) -> None:
    sheet.blank()
    sheet.row(
        Text("Key", "strong"), Verdict(PASS), Verdict(THIN), Verdict(FAIL),
        Text("yellow: may be typed over", "input text", 2), Text("grey: computed", "calc text", 2),
        "white: text",
    )  # fmt: skip
