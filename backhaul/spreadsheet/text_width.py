"""How many lines a text takes in a cell, so that the row can be made high enough."""

from collections import defaultdict
from functools import lru_cache

# Widths in thousandths of the font size, as in the hmtx table of Liberation Sans Regular,
# which has the metrics of Arial. Whatever is not listed counts as 556, as a digit does.
_GROUPS = {
    191: "'",
    222: "ijl",
    260: "|",
    278: " !,./:;I[]\\ft·",
    333: "()-`r{}²³",
    355: '"',
    389: "*",
    400: "°",
    500: "Jckvsxyzλ",
    584: "+<=>~×",
    611: "FTZß",
    667: "&ABEKPSVXYÄ",
    722: "CDHNRUw",
    778: "GOQÖ",
    833: "Mm",
    889: "%",
    944: "W",
    1000: "—…→",
    1015: "@",
}
_OTHER = 556
_WIDTHS = defaultdict(
    lambda: _OTHER, {letter: width for width, letters in _GROUPS.items() for letter in letters}
)
_DIGIT_PX = 7  # width of a digit of the 10-point standard font at 96 dpi
_PADDING_PX = 6
_PT_PER_PX = 0.75
_BOLD = 1.08
_WIDEST = 1.0  # of the font size, for the quick way out


def column_pt(width: float) -> float:
    """Room for text [pt] in a column of `width` characters.

    >>> column_pt(10)
    48.0
    """
    return (width * _DIGIT_PX - _PADDING_PX) * _PT_PER_PX


def text_pt(text: str, size_pt: float, *, bold: bool = False) -> float:
    """Length of a line of text [pt].

    >>> text_pt("10 dB", 10)
    26.13
    """
    return sum(map(_WIDTHS.__getitem__, text)) * size_pt / 1000 * (_BOLD if bold else 1.0)


def line_count(text: str, room_pt: float, size_pt: float, *, bold: bool = False) -> int:
    """Lines that a text takes when wrapped at blanks in `room_pt`.

    >>> line_count("the far valve tower", 60, 10)
    2
    """
    if len(text) * size_pt * _WIDEST <= room_pt and "\n" not in text:
        return 1
    if "\n" not in text and text_pt(text, size_pt, bold=bold) <= room_pt:
        return 1
    return _wrapped(text, room_pt, size_pt, bold)


@lru_cache(maxsize=4096)
def _wrapped(text: str, room_pt: float, size_pt: float, bold: bool) -> int:
    blank = text_pt(" ", size_pt, bold=bold)
    return sum(_paragraph(part, room_pt, size_pt, bold, blank) for part in text.split("\n"))


def _paragraph(text: str, room_pt: float, size_pt: float, bold: bool, blank: float) -> int:
    lines, used = 1, 0.0
    for word in text.split(" "):
        length = text_pt(word, size_pt, bold=bold)
        if used and used + blank + length > room_pt:
            lines, used = lines + 1, 0.0
        elif used:
            used += blank
        used += length
        if used > room_pt:  # a word longer than the line is broken
            extra = int(used // room_pt)
            lines, used = lines + extra, used - extra * room_pt
    return lines
