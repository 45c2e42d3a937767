"""Basis: methods, editions, sources, what stood in for a figure, sign-off, digest."""

from typing import Any

from backhaul import __version__
from backhaul.book.plan import Plan
from backhaul.book.sheets.order_pages import fit_sections
from backhaul.budgets.methods_in_use import methods_in_use
from backhaul.design.kinds import KINDS
from backhaul.findings import NOTE
from backhaul.spreadsheet.cells import Text, ToFill
from backhaul.spreadsheet.grid import Sheet

_SIGN_OFF = (
    ("Document", "document"),
    ("Revision", "revision"),
    ("Date", "date"),
    ("Status", "status"),
    ("Client", "client"),
    ("Prepared by", "prepared_by"),
    ("Checked by", "checked_by"),
    ("Approved by", "approved_by"),
    ("Region", "region"),
)
DISCLAIMER = (
    "This workbook is a budget, not a permit. Local codes, the authority, the licence and licensed "
    "practice decide on radio, mains, lightning protection, structures, laser safety and explosive "
    "air. To be confirmed: written from memory of the document; check it there before it is relied on."
)


def build(plan: Plan) -> Sheet:
    """The sheet."""
    evaluation = plan.evaluation
    project = evaluation.design.project
    sheet = Sheet("Basis", "Basis", (36, 52, 48, 20), subtitle=DISCLAIMER)
    sheet.heading("Sign-off")
    design = [
        f"Digest of the design: {evaluation.design.digest}",
        f"Tool: backhaul {__version__}",
        f"Read from: {evaluation.design.name}",
    ]
    for label, name in _SIGN_OFF:
        value = getattr(project, name)
        fill = name in ("checked_by", "approved_by") and not value
        said = design.pop(0) if design else ""
        sheet.row(label, ToFill() if fill else (value or ""), Text(said, span=2))
    sheet.row("Signature and date", ToFill(), "", "")
    sheet.block(
        "Methods",
        ("Subject", "Document", "Edition", ""),
        [(m.subject, m.document, m.edition, "") for m in methods_in_use(evaluation)],
    )
    notes = [f for f in evaluation.findings if f.severity == NOTE]
    sheet.heading("Assumptions, and defaults that stood in")
    if not notes:
        sheet.say("None.")
    else:
        sheet.head("Where", "What stood in", "What would settle it", "Check")
        for finding in notes:
            place = " ".join(word for word in (finding.path, finding.where) if word)
            sheet.row(place, finding.message, finding.remedy or "", finding.check)
    parts = parts_in_use(evaluation)
    for title, wanted in (
        (
            "Parts whose figures are to be confirmed: from memory or common practice",
            ("from memory", "common practice", "demo"),
        ),
        ("Parts whose figures are of a standard or computed", ("standard", "computed")),
    ):
        rows = [record for record in parts if record.basis in wanted]
        if rows:
            sheet.heading(title)
            sheet.head("Part", "Description", "Source", "Basis")
            for record in rows:
                sheet.row(
                    record.part,
                    record.description or "",
                    Text(record.source, "text small"),
                    record.basis,
                )
    others = [
        r
        for r in parts
        if r.basis not in ("from memory", "common practice", "demo", "standard", "computed")
    ]
    if others:
        sheet.heading("Other parts")
        for record in others:
            sheet.row(record.part, record.description or "", record.source, record.basis)
    fit_sections(sheet)
    return sheet


def parts_in_use(evaluation: Any) -> list[Any]:
    """Records of all parts of a design, each once, in the order of their first row."""
    found: dict[tuple[str, str], Any] = {}
    catalog = evaluation.catalog
    for row in evaluation.design.segments:
        family = KINDS[row.kind].families[0]
        for name, table in (
            (row.part, family),
            (row.to_part, family),
            (row.antenna, "antennas"),
            (row.to_antenna, "antennas"),
        ):
            record = getattr(catalog, table).get(name) if name else None
            if record is not None:
                found.setdefault((table, name), record)
    return list(found.values())
