"""Optical links, as built: the loss that was read, and what remains of the margin, live."""

from backhaul.book.sheets.optical_budget import Line
from backhaul.book.sheets.optical_link import LinkBlock
from backhaul.book.sheets.shared import is_known
from backhaul.spreadsheet.cells import Calc, Number, SheetCell, Text

#: Margins that a reading moves.
_MOVED = ("margin_db", "overload_margin_db")


def as_built_lines(block: LinkBlock) -> list[Line]:
    """Loss by the readings and what remains, where a link was read."""
    if not any(is_known(block.value("built_loss_db", way)) for way in (0, 1)):
        return []
    lines: list[Line] = []
    for label, built, margin, loss, sign in (
        ("Loss as read", "built_loss_db", "margin_db", "loss_max_db", -1),
        ("Least loss as read", "built_loss_min_db", "overload_margin_db", "loss_min_db", +1),
    ):
        cells: list[SheetCell] = []
        remains: list[SheetCell] = []
        for way in (0, 1):
            known = is_known(block.value(built, way))
            key = block.key(way, built)
            cells.append(
                Number(float(block.value(built, way)), key=key, format="0.00")
                if known
                else Text("not read", "text right", key=key)
            )
            value = float(block.value(f"remaining_{margin}", way))
            key = block.key(way, f"remaining_{margin}")
            refs = [block.key(way, name) for name in (margin, loss, built)]
            text = "{{{}}}+{{{}}}-{{{}}}" if sign < 0 else "{{{}}}-{{{}}}+{{{}}}"
            remains.append(
                Calc(key, text.format(*refs), value, format="0.00")
                if is_known(value)
                else Text("not known" if known else "as designed", "text right", key=key)
            )
        what = "Margin that remains" if sign < 0 else "Distance to overload that remains"
        lines += [
            Line(label, *cells, "dB", "ISO/IEC 14763-3, both end pairs in it"),
            Line(what, *remains, "dB", "judged below"),
        ]
    return lines


def standing_term(block: LinkBlock, term: str, way: int) -> str:
    """The figure that is judged: what remains by a reading, else what was designed."""
    remains = f"remaining_{term}"
    if term in _MOVED and is_known(block.value(remains, way)):
        return remains
    return term
