"""Pieces of a chart as DrawingML (ECMA-376, part 1, clauses 20.1 and 21.2): words, axes, lines.

Charts are written as text: of a district there are thousands, each with hundreds of figures, and
objects of a library for every point take most of the time and memory of a book.
"""

from functools import lru_cache

from backhaul.spreadsheet.axis_scale import Axis, Scale
from backhaul.spreadsheet.sheet_data import clean, escape
from backhaul.spreadsheet.styles import FONT, INK, LINE, MUTED

EMU_PER_PT = 12_700
LABEL_PT = 8.5


def attribute(text: str) -> str:
    """Text as the value of an XML attribute.

    >>> attribute('10" mast')
    '10&quot; mast'
    """
    return escape(clean(text)).replace('"', "&quot;").replace("\n", "&#10;")


def figure(value: float) -> str:
    """A figure as an attribute or a stored value; a zero has no sign.

    >>> figure(-0.0), figure(2.5), figure(-19.0)
    ('0', '2.5', '-19')
    """
    return f"{value + 0.0:.16g}"


def fill(colour: str) -> str:
    """One colour."""
    return f'<a:solidFill><a:srgbClr val="{colour}"/></a:solidFill>'


def outline(colour: str, width_emu: int, dash: str = "solid") -> str:
    """The properties of a line."""
    return f'<spPr><a:ln w="{width_emu}">{fill(colour)}<a:prstDash val="{dash}"/></a:ln></spPr>'


def area(colour: str) -> str:
    """The properties of a filled shape without an outline."""
    return f'<spPr>{fill(colour)}<a:ln><a:noFill/><a:prstDash val="solid"/></a:ln></spPr>'


@lru_cache(maxsize=64)
def _look(size_pt: float, colour: str, bold: bool) -> str:
    return f' sz="{round(size_pt * 100)}" b="{bold:d}">{fill(colour)}<a:latin typeface="{FONT}"/>'


@lru_cache(maxsize=64)
def words(size_pt: float, colour: str, *, level: bool = False) -> str:
    """How the labels of a part look; `level` keeps them from being turned."""
    look = _look(size_pt, colour, False)
    turn = ' rot="0"' if level else ""
    return (
        f"<txPr><a:bodyPr{turn}/><a:p><a:pPr><a:defRPr{look}</a:defRPr></a:pPr>"
        f"<a:r><a:t/></a:r><a:endParaRPr{look}</a:endParaRPr></a:p></txPr>"
    )


def title(text: str, size_pt: float, colour: str, *, bold: bool = False) -> str:
    """A title of a chart or an axis."""
    look = _look(size_pt, colour, bold)
    return (
        f"<title><tx><rich><a:bodyPr/><a:p><a:pPr><a:defRPr{look}</a:defRPr></a:pPr>"
        f"<a:r><a:rPr{look}</a:rPr><a:t>{escape(clean(text))}</a:t></a:r>"
        f'<a:endParaRPr{look}</a:endParaRPr></a:p></rich></tx><overlay val="0"/></title>'
    )


def axis(
    tag: str,
    number: int,
    crossing: int,
    wanted: Axis,
    limits: Scale,
    *,
    grid: bool = False,
    orientation: str = "minMax",
    labels: str = "low",
    crosses: str = "min",
    level: bool = True,
    rest: str = "",
) -> str:
    """An axis; `rest` is what its kind has behind the crossing."""
    scaling = '<logBase val="10"/>' if wanted.log else ""
    scaling += f'<orientation val="{orientation}"/>'
    for name, limit in (("max", limits.most), ("min", limits.least)):
        scaling += f'<{name} val="{figure(limit)}"/>' if limit is not None else ""
    lines = f"<majorGridlines>{outline(LINE, EMU_PER_PT // 2)}</majorGridlines>" if grid else ""
    named = title(wanted.title, LABEL_PT, MUTED) if wanted.title else ""
    step = "" if wanted.log or limits.step is None else f'<majorUnit val="{figure(limits.step)}"/>'
    return (
        f'<{tag}><axId val="{number}"/><scaling>{scaling}</scaling><delete val="0"/>'
        f'<axPos val="l"/>{lines}{named}'
        f'<numFmt formatCode="{attribute(wanted.format)}" sourceLinked="0"/>'
        f'<majorTickMark val="out"/><minorTickMark val="none"/><tickLblPos val="{labels}"/>'
        f"{outline(MUTED, EMU_PER_PT * 3 // 4)}{words(LABEL_PT, INK, level=level)}"
        f'<crossAx val="{crossing}"/><crosses val="{crosses}"/>{rest}{step}</{tag}>'
    )


def whole(name: str, name_look: str, plots: str, legend: bool) -> str:
    """A chart space around its plots and axes."""
    shown = (
        f'<legend><legendPos val="b"/><overlay val="0"/>{words(LABEL_PT, INK)}</legend>'
        if legend
        else ""
    )
    # without a name the heading above says it: a program would else put one of its own
    named = title(name, 11, name_look, bold=True) if name else '<autoTitleDeleted val="1"/>'
    frame = f'<spPr>{fill("FFFFFF")}<a:ln w="{EMU_PER_PT // 2}">{fill(LINE)}'
    return (
        '<chartSpace xmlns:a="http://schemas.openxmlformats.org/drawingml/2006/main" '
        'xmlns="http://schemas.openxmlformats.org/drawingml/2006/chart">'
        f'<roundedCorners val="0"/><chart>{named}'
        f"<plotArea><layout/>{plots}</plotArea>{shown}"
        '<plotVisOnly val="1"/><dispBlanksAs val="gap"/></chart>'
        f'{frame}<a:prstDash val="solid"/></a:ln></spPr></chartSpace>'
    )
