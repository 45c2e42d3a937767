"""Colours, sizes and strokes of a drawing; verdicts look as they do in the workbook."""

from typing import NamedTuple

from backhaul.drawing.page import Page
from backhaul.findings import FAIL
from backhaul.path.links import COPPER, FEED, OPTICAL, RADIO
from backhaul.spreadsheet.styles import VERDICT_FILL, VERDICT_INK, VERDICT_SOLID

PALE, FRAME, FRAME_EDGE = "5E717A", "F3F6F7", "A9B9C0"
GROUND, GROUND_EDGE, COVER = "D9CDB8", "8C7B5C", "A9BE9A"
WATER, WATER_EDGE = "BFD9E8", "3F7FA6"
ZONE, RAY = "E7B75A", "A03B2E"

#: Sizes of text [pt].
TITLE, HEAD, NAME, BODY, SMALL = 11.0, 8.0, 6.4, 5.6, 5.4


class Stroke(NamedTuple):
    """How a medium is drawn."""

    colour: str
    pt: float
    dash: tuple[float, ...] | None
    word: str


STROKES = {
    OPTICAL: Stroke("14788C", 1.5, None, "fiber"),
    COPPER: Stroke("8A5A2B", 1.5, None, "copper, data and PoE"),
    FEED: Stroke("C06A00", 1.5, (4, 2), "supply"),
    RADIO: Stroke(RAY, 1.0, (2, 2), "radio"),
}
#: Of a joint of two things of unlike media, or of none.
PLAIN = Stroke(PALE, 1.0, None, "")


def verdict_word(verdict: str) -> str:
    """As the terminal writes it.

    >>> verdict_word("fail"), verdict_word("thin")
    ('FAIL', 'thin')
    """
    return verdict.upper() if verdict == FAIL else verdict


def solid(verdict: str) -> str:
    """Colour of a line that bears a verdict."""
    return VERDICT_SOLID[verdict]


def chip(page: Page, x: float, y: float, verdict: str, *, size: float = BODY) -> float:
    """A verdict as a word on its colour, its left edge at x, its middle at y; gives its width."""
    word = verdict_word(verdict)
    width, height = page.letters.width(word, size, bold=True) + 2.0, size * 0.47
    page.box(
        x,
        y - height / 2,
        width,
        height,
        face=VERDICT_FILL[verdict],
        edge=VERDICT_SOLID[verdict],
        pt=0.5,
        radius=0.6,
        order=6,
    )
    page.text(
        x + width / 2,
        y,
        word,
        size,
        colour=VERDICT_INK[verdict],
        bold=True,
        align="center",
        order=7,
    )
    return width
