"""Lines of text for a terminal: wrapped, cut, with the places of findings."""

import textwrap
from collections.abc import Iterable, Iterator
from contextvars import ContextVar

from backhaul.design.model import Design
from backhaul.figures.us_units import Words, words_of
from backhaul.findings import Finding

Line = tuple[str, str]  # text, severity that colours it ("" for none)
#: However narrow the window.
_LEAST_WIDTH = 40
#: How the figures of a sentence are shown, set while lines are asked for.
_WORDS: ContextVar[Words] = ContextVar("words", default=str)


def in_units_of(design: Design, lines: Iterable[Line]) -> Iterator[Line]:
    """Lines with their figures in the units that the project names, before they are wrapped."""
    words, lines = words_of(design), iter(lines)
    while True:
        before = _WORDS.set(words)
        try:
            text, severity = next(lines)
        except StopIteration:
            return
        finally:
            _WORDS.reset(before)
        yield words(text), severity


def wrapped(text: str, width: int, indent: str, *, rest: str | None = None) -> Iterator[Line]:
    """A text over as many lines as it needs; `rest` stands before all but the first."""
    rest = " " * len(indent) if rest is None else rest
    width = max(width, _LEAST_WIDTH)
    text = _WORDS.get()(text)
    for line in textwrap.wrap(text, width, initial_indent=indent, subsequent_indent=rest):
        yield line, ""


def clip(text: str, width: int) -> str:
    """A text in one line.

    >>> clip("lookout: FAIL", 8)
    'lookout…'
    """
    return text if len(text) <= width else text[: width - 1] + "…"


def place_of(finding: Finding, path: str | None = None) -> str:
    """Path and step of a finding; the step alone where the reader knows the path.

    >>> place_of(Finding("surge", "thin", "x", path="tower", step=3.0))
    'tower step 3'
    >>> place_of(Finding("surge", "thin", "x", path="tower", step=3.0), "tower")
    'step 3'
    """
    name = "" if finding.path == path else finding.path or ""
    step = "" if finding.step is None else f"step {finding.step:g}"
    return f"{name} {step}".strip()


def cell_of(finding: Finding) -> str:
    """The same with the cell of the design."""
    return ", ".join(filter(None, (place_of(finding), finding.where)))
