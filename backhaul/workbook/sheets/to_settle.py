"""To settle: findings, the worst first, each with what would settle it."""

from backhaul.findings import CAUTION, FAIL, NOTE, THIN, Finding
from backhaul.workbook.cells import Link, Number, SheetCell, Verdict
from backhaul.workbook.grid import Sheet
from backhaul.workbook.plan import Plan

_HEAD = ("Verdict", "Check", "Path", "Step", "Cell of the design", "Found", "Figure", "Limit",
         "Unit", "What would settle it")  # fmt: skip


def build(plan: Plan) -> Sheet:
    """The sheet."""
    sheet = Sheet(
        "To settle", "To settle", (9, 17, 10, 6, 17, 42, 10, 10, 7, 38),
        subtitle="As found when this book was written; the verdicts on the other sheets are live.",
    )
    sheet.head(*_HEAD, repeat=True)
    findings = plan.evaluation.findings
    settle = [f for f in findings if f.severity in (FAIL, THIN)]
    if not settle:
        sheet.say("Nothing fails and nothing is thin.")
    for finding in settle:
        sheet.row(*_cells(plan, finding))
    for title, severity in (("Notes", NOTE), ("Cautions", CAUTION)):
        group = [f for f in findings if f.severity == severity]
        if group:
            sheet.say(title, "heading")
            for finding in group:
                sheet.row(*_cells(plan, finding))
    return sheet


def _cells(plan: Plan, finding: Finding) -> list[SheetCell | str]:
    rows = set(finding.rows)
    anchor = None
    for path in finding.paths[:1]:
        for use in plan.evaluation.network.uses.get(path, ()):
            if rows.intersection(use.row_ids) and use.link.key in plan.anchors:
                anchor = plan.anchors[use.link.key]
    paths = ", ".join(finding.paths[:4]) + (" …" if len(finding.paths) > 4 else "")
    return [
        Verdict(finding.severity), finding.check,
        Link(paths, anchor) if anchor and paths else paths,
        f"{finding.step:g}" if finding.step is not None else "", finding.where or "",
        finding.message, _figure(finding.value), _figure(finding.limit), finding.unit or "",
        finding.remedy or "",
    ]  # fmt: skip


def _figure(value: float | str | None) -> SheetCell | str:
    if value is None or isinstance(value, str):
        return value or ""
    return Number(float(value), format="0.###" if abs(value) < 1000 else "0")
