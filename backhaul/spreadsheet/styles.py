"""Looks: our palette, what each role of cell looks like, and their numbers in the file."""

import re
from typing import TYPE_CHECKING, Any, NamedTuple

from backhaul.spreadsheet.cells import Calc, Head, Input, Link, Number, Text, ToFill, Verdict

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

FONT = "Arial"
SIZE_PT = 10.0  # of the standard font, by which columns are measured
BODY_PT = 9.0
STORED_NAME = "backhaul {}"  # the file's own style names, clear of the built-in ones

BLACK = "000000"
INK = "22333B"
MUTED = "66757C"
DEEP = "2B5466"
BAND = "DDE8EA"
LINE = "CBD5D8"
RULE = "7F9AA3"
INPUT_FILL = "FFF5CC"
INPUT_INK = "1F4FC4"
CALC_FILL = "EEF1F2"
LINK_INK = "0F6B78"

PASS, THIN, FAIL, NOTE = "pass", "thin", "fail", "note"
VERDICT_FILL = {PASS: "D3EBDD", THIN: "FBE6BF", FAIL: "F5D0CB", NOTE: "DCE4F2"}
VERDICT_INK = {PASS: "1B6140", THIN: "7D5200", FAIL: "96201A", NOTE: "33497A"}
VERDICT_SOLID = {PASS: "5C9F80", THIN: "D9A441", FAIL: "C05A4E"}
#: A thin that somebody answers for.
ACCEPTED = "accepted"
VERDICT_WORDS = {
    PASS: ("pass", "OK", "yes"),
    THIN: ("thin", "with care", "open", "caution", "run again", "water?"),
    FAIL: ("fail", "not yet", "no"),
    NOTE: ("note", ACCEPTED),
}
#: Verdicts that stand as they were found where they have no formula; a caution holds whatever is typed.
FOUND_WORDS = (PASS, THIN, FAIL, ACCEPTED)


class Look(NamedTuple):
    """How a role of cell looks."""

    ink: str = INK
    fill: str = ""
    bold: bool = False
    italic: bool = False
    underline: bool = False
    size_pt: float = BODY_PT
    across: str = "left"
    down: str = "top"
    wrap: bool = True
    indent: int = 0
    lines: str = ""  # of "bottom" hairline, "top" rule, "under" strong rule; blank: none


_FIGURE = Look(fill=CALC_FILL, across="right", wrap=False, indent=1, lines="bottom")
_TYPED = _FIGURE._replace(ink=INPUT_INK, fill=INPUT_FILL)
_WORDS = Look(indent=1, lines="bottom")
_HEAD = Look(ink=DEEP, fill=BAND, bold=True, size_pt=9, down="center", indent=1, lines="bottom")

_CARD = Look(ink=BLACK, size_pt=10, lines="bottom")

LOOKS: dict[str, Look] = {
    "title": Look(ink=DEEP, bold=True, size_pt=17, down="center"),
    "heading": Look(ink=DEEP, bold=True, size_pt=11.5, down="bottom", lines="under"),
    "lead": Look(size_pt=13, down="center"),
    "plain": Look(),
    "muted": Look(ink=MUTED, size_pt=8.5),
    "caution": Look(ink=VERDICT_INK[THIN], fill=VERDICT_FILL[THIN], indent=1),
    "head": _HEAD,
    "head right": _HEAD._replace(across="right"),
    "head center": _HEAD._replace(across="center", indent=0),
    "text": _WORDS,
    "text right": _WORDS._replace(across="right"),
    "text center": _WORDS._replace(across="center", indent=0),
    "text small": _WORDS._replace(ink=MUTED, size_pt=8.5),
    "strong": _WORDS._replace(bold=True),
    "calc": _FIGURE,
    # a computed figure that no formula follows
    "held": _FIGURE._replace(fill="", italic=True),
    "held key": _WORDS._replace(italic=True),
    # a figure of the design that no yellow cell moves
    "fact": _FIGURE._replace(fill=""),
    "calc text": _FIGURE._replace(across="left", wrap=True),
    "calc word": _FIGURE._replace(wrap=True, size_pt=8.5, indent=0),
    "calc lead": _FIGURE._replace(across="left", wrap=True, size_pt=13, down="center"),
    "total": _FIGURE._replace(bold=True, lines="top"),
    "total text": _WORDS._replace(bold=True, lines="top"),
    "input": _TYPED,
    "input text": _TYPED._replace(across="left", wrap=True),
    "to fill": _TYPED,
    "to fill text": _TYPED._replace(across="left", wrap=True),
    "verdict": Look(bold=True, across="center", wrap=False, lines="bottom"),
    "verdict held": Look(bold=True, italic=True, across="center", wrap=False, lines="bottom"),
    "verdict key": Look(bold=True, across="center", wrap=False, lines="bottom"),
    "verdict big": Look(bold=True, size_pt=17, across="center", down="center", wrap=False),
    "link": _WORDS._replace(ink=LINK_INK, underline=True),
    "link plain": _WORDS._replace(ink=LINK_INK),
    "status": Look(ink=MUTED, size_pt=8.5, across="right", down="center"),
    "link small": _WORDS._replace(ink=LINK_INK, underline=True, size_pt=8.5),
    # of what is read on a mast: ten points, black
    "card text": _CARD,
    "card next text": _CARD._replace(indent=1),
    "card next head": _CARD._replace(bold=True, fill=BAND, down="center", indent=1),
    "card center": _CARD._replace(across="center"),
    "card right": _CARD._replace(across="right"),
    "card strong": _CARD._replace(bold=True),
    "card link": _CARD._replace(underline=True),
    "card figure": _CARD._replace(across="right", fill=CALC_FILL, wrap=False),
    "card value": _CARD._replace(fill=CALC_FILL, wrap=False, indent=1),
    "card held": _CARD._replace(across="right", italic=True, wrap=False),
    "card held value": _CARD._replace(italic=True, wrap=False, indent=1),
    "card fill": _CARD._replace(fill=INPUT_FILL, wrap=False),
    "card head": _CARD._replace(bold=True, fill=BAND, down="center"),
    "card head right": _CARD._replace(bold=True, fill=BAND, down="center", across="right"),
    "card head center": _CARD._replace(bold=True, fill=BAND, down="center", across="center"),
    "card caution": _CARD._replace(fill=VERDICT_FILL[THIN]),
    "card stop": _CARD._replace(bold=True, fill=VERDICT_FILL[FAIL], size_pt=13),
    "helper": Look(ink=MUTED, size_pt=8, wrap=False, across="right"),
    "helper text": Look(ink=MUTED, size_pt=8, wrap=False),
    "helper head": Look(ink=MUTED, size_pt=8, wrap=False, italic=True),
}
ROLE = {
    Text: "text",
    Head: "head",
    Number: "held",
    Input: "input",
    Calc: "calc",
    Verdict: "verdict",
    Link: "link",
    ToFill: "to fill",
}
# What a row's style makes of each class of cell that has no style of its own.
ROW_STYLES: dict[str, dict[type, str]] = {
    "total": {Text: "total text", Number: "total", Calc: "total"},
    "strong": {Text: "strong"},
    "plain": {Text: "plain"},
    "muted": {Text: "text small"},
}
# How an empty cell looks beside the cells of a row; rows left out stay without lines.
EMPTY = {"": "text", "strong": "text", "total": "total text", "muted": "text small"}
#: What may be typed into on a locked sheet.
TYPED_ROLES = ("input", "input text", "to fill", "to fill text", "card fill")
_WORDY = {"calc": "calc text", "held": "held key", "input": "input text"}
#: What the look of a figure or verdict becomes where no formula follows.
_HELD = {"card figure": "card held", "card value": "card held value", "verdict": "verdict held"}
#: Roles of what holds only until a figure that it rests on is typed.
HELD_ROLES = ("held", "held key", *_HELD.values())


def role_of(cell: Any, row_style: str = "") -> str:
    """The role by which a cell is styled."""
    kind = type(cell)
    if cell.style:
        return _HELD.get(cell.style, cell.style) if kind is Number else cell.style
    role = ROW_STYLES[row_style].get(kind, ROLE[kind]) if row_style else ROLE[kind]
    if kind is Verdict:
        return role if cell.formula else _HELD.get(role, role)
    if role in _WORDY and isinstance(cell.value, str):
        return _WORDY[role]
    return role


MAX_UNIT = 100  # a number format holds 255 characters: ECMA-376 part 1, 18.8.30


#: A section of a number format that holds no figure; a semicolon outside quotes lies between two.
_WORD = re.compile(r'"[^"]*"')
_SECTIONS = re.compile(r';(?=(?:[^"]*"[^"]*")*[^"]*$)')


def number_format(value: object, given: str, unit: str) -> str:
    """The number format of a figure, its unit behind it.

    >>> number_format(3.25, "", "dB")
    '0.00" dB"'
    >>> number_format(3.25, '[>3]"≥ 3";0.0', "dB")  # in each of its sections
    '[>3]"≥ 3"" dB";0.0" dB"'
    >>> number_format(0.0, '0.0;-0.0;"none"', "Mb/s")  # but for the word that there is none
    '0.0" Mb/s";-0.0" Mb/s";"none"'
    """
    shown = given or ("0.00" if isinstance(value, float) else "General")
    if not unit:
        return shown
    behind = f'" {unit.replace(chr(34), "")[:MAX_UNIT]}"'
    return ";".join(
        section if _WORD.fullmatch(section) else section + behind
        for section in _SECTIONS.split(shown)
    )


class StyleNumbers:
    """The style number of each (role, number format, quoted) in one workbook."""

    def __init__(self, workbook: "Workbook", sheet: "Worksheet") -> None:
        self._sheet = sheet
        self._known: dict[tuple[str, str, bool], int] = {}
        _register(workbook)

    def number(self, role: str, shown: str = "General", quoted: bool = False) -> int:
        """The number that a cell carries in its `s` attribute."""
        wanted = (role, shown, quoted)
        found = self._known.get(wanted)
        return self._add(wanted) if found is None else found

    def _add(self, wanted: tuple[str, str, bool]) -> int:
        from openpyxl.cell import Cell

        role, shown, quoted = wanted
        scratch = Cell(self._sheet, row=1, column=1)
        scratch.style = STORED_NAME.format(role)
        if shown != "General":
            scratch.number_format = shown
        if quoted:
            scratch.quotePrefix = True
        self._known[wanted] = scratch.style_id
        return scratch.style_id


def _register(workbook: "Workbook") -> None:
    from openpyxl.styles import (
        Alignment,
        Border,
        Font,
        NamedStyle,
        PatternFill,
        Protection,
        Side,
    )

    workbook._named_styles["Normal"].font = Font(name=FONT, size=SIZE_PT)  # noqa: SLF001 - no other way
    hair = Side(style="thin", color=LINE)
    borders = {
        "": Border(),
        "bottom": Border(bottom=hair),
        "top": Border(top=Side(style="thin", color=RULE), bottom=hair),
        "under": Border(bottom=Side(style="medium", color=DEEP)),
    }
    for name, look in LOOKS.items():
        style = NamedStyle(name=STORED_NAME.format(name))
        style.font = Font(
            name=FONT,
            size=look.size_pt,
            bold=look.bold,
            italic=look.italic,
            underline="single" if look.underline else None,
            color=look.ink,
        )
        if look.fill:
            style.fill = PatternFill("solid", fgColor=look.fill)
        style.border = borders[look.lines]
        style.alignment = Alignment(
            horizontal=look.across, vertical=look.down, wrap_text=look.wrap, indent=look.indent
        )
        if name in TYPED_ROLES:
            style.protection = Protection(locked=False)
        workbook.add_named_style(style)
