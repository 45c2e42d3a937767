"""Open points: findings, the worst first, each with what would settle it."""

from collections.abc import Iterable, Sequence

from backhaul.book.plan import Plan
from backhaul.book.us_sheet import sheet_of
from backhaul.checks.groups import causes, few, takes_down
from backhaul.checks.results import Results
from backhaul.findings import CAUTION, NOTE, Finding
from backhaul.spreadsheet.cells import Head, Link, Number, SheetCell, Text, Verdict
from backhaul.spreadsheet.grid import Sheet

_HEAD = (
    "Verdict",
    "Check",
    "Path",
    "Step",
    "Cell of the design",
    "Found",
    Head("Figure", "head right"),
    Head("Limit", "head right"),
    "Unit",
    "What would settle it",
)
_DIGITS = 4
#: Of the cell over what is accepted.
ACCEPTED_KEY = "open.accepted"
#: Characters of a link at most: not every program wraps one.
_LINKED = 13


def build(plan: Plan) -> Sheet:
    """The sheet."""
    sheet = sheet_of(
        plan.evaluation.design,
        "Open points",
        "Open points",
        (9, 16, 14, 6.5, 20, 48, 8.5, 8.5, 8, 39.5),
        subtitle="As found when this book was written, the worst first; what is said alike of several "
        "places stands once. The verdicts on the other sheets are live.",
    )
    head = sheet.head(*_HEAD, repeat=True)
    findings = plan.evaluation.findings
    groups = causes(findings)
    if not groups:
        is_accepted = bool(accepted_of(plan.evaluation))
        sheet.say(
            "Nothing fails; what is thin is accepted, below."
            if is_accepted
            else "Nothing fails and nothing is thin."
        )
    for group in groups:
        takes = takes_down(group)
        found = f"{group.message}. Takes down: {takes}" if takes else group.message
        sheet.row(*_cells(plan, group.places, group.severity, found)[:-1], group.remedy)
    accepted = accepted_of(plan.evaluation)
    if accepted:
        title = "Accepted: somebody answers for it"
        sheet.row(Text(title, "heading", sheet.width, ACCEPTED_KEY))
        for finding in accepted:
            by, date, reason, _ = finding.accepted
            who = f"{', '.join(filter(None, (by, date)))}: {reason}"
            sheet.row(*_cells(plan, [finding], finding.severity)[:-1], who)
    for title, severity in (("Notes", NOTE), ("Cautions", CAUTION)):
        alike_ones = alike(f for f in findings if f.severity == severity)
        if alike_ones:
            sheet.say(title, "heading")
            for same in alike_ones:
                sheet.row(*_general(same[0]) or _cells(plan, same, severity))
    sheet.filtered = (head, max(head + 1, len(sheet.rows)))
    plan.open_points = sheet
    return sheet


def accepted_of(evaluation: Results) -> list[Finding]:
    """Findings that somebody answers for."""
    return [finding for finding in evaluation.findings if finding.accepted]


def alike(findings: Iterable[Finding]) -> list[list[Finding]]:
    """Findings that say the same, together, in the order of the first of each.

    >>> from backhaul.findings import FAIL
    >>> one, two = Finding("poe-power", FAIL, "nothing feeds it"), Finding("path-rate", FAIL, "few")
    >>> [len(group) for group in alike([one, two, one])]
    [2, 1]
    """
    groups: dict[tuple, list[Finding]] = {}
    for finding in findings:
        key = (finding.severity, finding.check, finding.message, finding.remedy)
        groups.setdefault(key, []).append(finding)
    return list(groups.values())


def _cells(
    plan: Plan, group: Sequence[Finding], severity: str, found: str = ""
) -> list[SheetCell | str]:
    finding = group[0]
    paths = few(path for each in group for path in each.paths or (each.path,))
    steps = {each.step for each in group}
    anchor = _anchor(plan, finding)
    return [
        Verdict(severity),
        finding.check,
        Link(paths, anchor) if anchor and 0 < len(paths) <= _LINKED else paths,
        f"{finding.step:g}" if finding.step is not None and len(steps) == 1 else "",
        few(each.where for each in group),
        found or finding.message,
        _figure(finding.value, finding.limit),
        _figure(finding.limit, finding.value),
        finding.unit or "",
        finding.remedy or "",
    ]


def _general(finding: Finding) -> list[SheetCell | str]:
    """A caution of the whole design, over the columns of places and figures; [] for any other."""
    if finding.severity != CAUTION or finding.where or finding.path or finding.value is not None:
        return []
    between = len(_HEAD) - 3
    return [
        Verdict(finding.severity),
        finding.check,
        Text(finding.message, span=between),
        finding.remedy or "",
    ]


def _anchor(plan: Plan, finding: Finding) -> str | None:
    """Key of the cell at which the block of its link begins."""
    rows, anchor = set(finding.rows), None
    for path in finding.paths[:1]:
        for use in plan.evaluation.network.uses.get(path, ()):
            if rows.intersection(use.row_ids) and use.link.key in plan.anchors:
                anchor = plan.anchors[use.link.key]
    return anchor


def _figure(value: float | str | None, other: float | str | None) -> SheetCell | str:
    """A figure with no more digits than are needed to tell it from the other."""
    if value is None or isinstance(value, str):
        return value or ""
    figures = [each for each in (value, other) if isinstance(each, int | float)]
    for decimals in range(_DIGITS + 1):
        shown = {round(float(each), decimals) for each in figures}
        if (
            len(shown) == len(set(figures))
            and (decimals or abs(value) >= 100)
            and (round(float(value), decimals) or not value)
        ):
            break
    is_whole = float(value).is_integer()
    return Number(float(value), format="0" if is_whole or not decimals else "0." + "0" * decimals)
