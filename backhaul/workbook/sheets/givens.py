"""Givens: every input with unit and source; changing a yellow cell moves the book."""

from backhaul.workbook.cells import Input, Link
from backhaul.workbook.grid import Sheet
from backhaul.workbook.plan import Plan

#: Groups in the order in which a reader looks for them.
_ORDER = ("Project", "Segments", "Sites", "Parts", "Rules")


def build(plan: Plan) -> Sheet:
    """The sheet; built last, when all others have asked for their inputs."""
    sheet = Sheet(
        "Givens", "Givens", (62, 14, 12, 30, 26),
        subtitle="Every input stands here once. Yellow cells may be typed over: margins, verdicts, "
        "charts and the answer on At a glance follow.",
    )
    groups = plan.givens.groups()
    sheet.head("What", "Figure", "Unit", "Source", "Where", repeat=True)
    for name in sorted(groups, key=lambda group: (
        _ORDER.index(group) if group in _ORDER else len(_ORDER), group
    )):
        sheet.say(name, "heading")
        for given in groups[name]:
            where = given.where
            cell = Link(where, where) if where in plan.anchors else where
            key = plan.givens.key_on_sheet(given.key)
            sheet.row(given.label, Input(key, given.value), given.unit, given.source, cell)
    return sheet
