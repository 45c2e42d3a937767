"""Basis: sign-off and revisions, methods and editions, which figures are to be confirmed, sources."""

from collections import defaultdict
from typing import Any

from backhaul import __version__
from backhaul.book.plan import Plan
from backhaul.book.sheets.inputs import source_key
from backhaul.book.sheets.order_pages import fit_sections
from backhaul.book.sheets.pulling_rules import write_practice
from backhaul.book.us_sheet import sheet_of
from backhaul.budgets.methods_in_use import methods_in_use, why_several_editions
from backhaul.design.kinds import KINDS
from backhaul.spreadsheet.cells import Head, Text, ToFill
from backhaul.spreadsheet.grid import Sheet

_COLUMNS = (30.5, 33, 26.1, 30.5, 33, 26.1)
_SIGN_OFF = (
    ("Document", "document"),
    ("Client", "client"),
    ("Status", "status"),
    ("Region", "region"),
)
_REVISION = ("revision", "date", "status", "prepared_by", "checked_by", "approved_by")
_REVISION_HEADS = ("Revision", "Date", "Status", "Prepared by", "Checked by", "Approved by")
#: Rows for what went before, and for what comes after.
_EMPTY_REVISIONS = 2
#: Bases of parts, those to be confirmed first.
_BASES = ("from memory", "common practice", "demo", "computed", "standard")
_TO_CONFIRM = _BASES[:3]
DISCLAIMER = (
    "This workbook is a budget, not a permit. Local codes, the authority, the licence and licensed "
    "practice decide on radio, mains, lightning protection, structures, laser safety and explosive "
    "air. To be confirmed: written from memory of the document; check it there before it is relied on."
)


def build(plan: Plan) -> Sheet:
    """The sheet; after Inputs, whose sources it lists."""
    sheet = sheet_of(plan.evaluation.design, "Basis", "Basis", _COLUMNS, subtitle=DISCLAIMER)
    _sign_off(plan, sheet)
    _methods(plan, sheet)
    _parts(plan, sheet)
    write_practice(plan, sheet)
    _sources(plan, sheet)
    fit_sections(sheet)
    return sheet


def _sign_off(plan: Plan, sheet: Sheet) -> None:
    evaluation = plan.evaluation
    project = evaluation.design.project
    sheet.heading("Sign-off and revisions")
    said = (
        ("Digest of the design", evaluation.design.digest),
        ("Tool", f"backhaul {__version__}"),
        ("Read from", evaluation.design.name),
        ("Defaults that stood in", "notes on Open points"),
    )
    for (label, name), (other, value) in zip(_SIGN_OFF, said, strict=True):
        sheet.row(label, Text(getattr(project, name) or "", span=2), other, Text(value, span=2))
    sheet.head(*_REVISION_HEADS)
    sheet.row(
        *(
            ToFill()
            if name in _REVISION[3:] and not getattr(project, name)
            else Text(str(getattr(project, name) or ""))
            for name in _REVISION
        )
    )
    for _ in range(_EMPTY_REVISIONS):
        sheet.row(*(ToFill() for _ in _REVISION))
    sheet.row("Signature and date", ToFill(span=5))


def _methods(plan: Plan, sheet: Sheet) -> None:
    """Two methods a row; and why one document stands in more than one edition."""
    methods = methods_in_use(plan.evaluation)
    sheet.heading("Methods")
    sheet.head(*("Subject", "Document", "Edition") * 2)
    half = -(-len(methods) // 2)
    for n in range(half):
        cells: list[Any] = []
        for method in methods[n::half]:
            cells += [
                method.subject,
                Text(method.document, "text small"),
                Text(method.edition, "text small"),
            ]
        sheet.row(*cells, *[""] * (len(_COLUMNS) - len(cells)))
    why = why_several_editions(plan.evaluation)
    if why:
        sheet.say(why, "muted")


def _parts(plan: Plan, sheet: Sheet) -> None:
    """Parts by what their figures rest on; where each was read from stands below."""
    found: dict[str, list[str]] = defaultdict(list)
    for record in parts_in_use(plan.evaluation):
        found[record.basis].append(record.part)
    sheet.heading("What the figures of parts rest on")
    sheet.head("Basis", Head("Parts", span=5))
    for basis in sorted(found, key=lambda name: (*_BASES, name).index(name)):
        words = f"{basis}, to be confirmed" if basis in _TO_CONFIRM else basis
        sheet.row(words, Text(", ".join(found[basis]), span=5))


def _sources(plan: Plan, sheet: Sheet) -> None:
    """Two sources a row, numbered as Inputs has them."""
    sources = list(plan.sources.items())
    if not sources:
        return
    sheet.heading("Sources of the figures on Inputs, by number")
    half = -(-len(sources) // 2)
    for n in range(half):
        cells: list[Any] = []
        for source, number in sources[n::half]:
            words = f"{number} {source}"
            cells.append(Text(words, "text small", 3, key=source_key(number)))
        sheet.row(*cells, *[Text("", span=3)] * (2 - len(sources[n::half])))


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
