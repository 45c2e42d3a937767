"""Links whose words can be read whole: a print program cuts a link that needs a second line."""

from collections.abc import Sequence

from backhaul.spreadsheet.cells import Link, Text
from backhaul.spreadsheet.row_height import INDENT_PT
from backhaul.spreadsheet.styles import LOOKS
from backhaul.spreadsheet.text_width import column_pt, text_pt


def fitting_link(
    words: str, to: str | None, widths: Sequence[float], *, style: str, plain: str
) -> Link | Text:
    """A link where there is a place to lead to and its words fit into one line, else the words.

    widths: of the columns of the cell [characters]. style, plain: of the link and of the words.

    >>> fitting_link("tower 3", "cable.1", [20], style="card link", plain="card text").to
    'cable.1'
    >>> type(fitting_link("tower 3, " * 9, "cable.1", [20], style="link", plain="text")).__name__
    'Text'
    """
    look = LOOKS[style]
    room = column_pt(sum(widths)) - look.indent * INDENT_PT
    if to and text_pt(words, look.size_pt, bold=look.bold) <= room:
        return Link(words, to, style)
    return Text(words, plain)
