"""Where the charts and pictures of a sheet lie: its drawing part, and the relations that lead to them."""

from backhaul.spreadsheet.chart_xml import EMU_PER_PT, attribute
from backhaul.spreadsheet.grid import PlacedChart, Sheet
from backhaul.spreadsheet.row_height import ROW_PT
from backhaul.spreadsheet.shape_xml import group
from backhaul.spreadsheet.text_width import column_pt

RELATIONS = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_PACKAGE = "http://schemas.openxmlformats.org/package/2006/relationships"
_DRAWING = "http://schemas.openxmlformats.org/drawingml/2006"
_PAD_EMU = 4 * EMU_PER_PT


def drawing_part(sheet: Sheet) -> str:
    """A frame for every chart and picture of a sheet, with the words that stand for it."""
    frames = "".join(_frame(number, placed, sheet) for number, placed in enumerate(sheet.charts, 1))
    next_id = len(sheet.charts) + 1
    for row, picture in sheet.pictures:
        drawn, next_id = group(picture, next_id)
        frames += _filled(row, sheet.width, drawn)
    return (
        f'<wsDr xmlns:a="{_DRAWING}/main" xmlns:c="{_DRAWING}/chart" xmlns:r="{RELATIONS}" '
        f'xmlns="{_DRAWING}/spreadsheetDrawing">{frames}</wsDr>'
    )


def _frame(number: int, placed: PlacedChart, sheet: Sheet) -> str:
    last_width = column_pt(sheet.columns[placed.last_column - 1]) * EMU_PER_PT
    start = _corner("from", placed.first_column, _PAD_EMU, placed.first_row, _PAD_EMU)
    end = _corner(
        "to",
        placed.last_column,
        round(last_width - _PAD_EMU),
        placed.last_row,
        round(ROW_PT * EMU_PER_PT),
    )
    said = placed.chart.alt_text
    described = f' descr="{attribute(said)}"' if said else ""
    return (
        f'<twoCellAnchor editAs="oneCell">{start}{end}<graphicFrame><nvGraphicFramePr>'
        f'<cNvPr id="{number}" name="Chart {number}"{described}/><cNvGraphicFramePr/>'
        f'</nvGraphicFramePr><xfrm/><a:graphic><a:graphicData uri="{_DRAWING}/chart">'
        f'<c:chart r:id="rId{number}"/></a:graphicData></a:graphic></graphicFrame>'
        "<clientData/></twoCellAnchor>"
    )


def _filled(row: int, columns: int, drawn: str) -> str:
    """A picture from corner to corner of its row, however a program rounds widths and heights."""
    start = _corner("from", 1, 0, row, 0)
    end = _corner("to", columns + 1, 0, row + 1, 0)
    return f"<twoCellAnchor>{start}{end}{drawn}<clientData/></twoCellAnchor>"


def _corner(tag: str, column: int, right_emu: int, row: int, down_emu: int) -> str:
    return (
        f"<{tag}><col>{column - 1}</col><colOff>{right_emu}</colOff>"
        f"<row>{row - 1}</row><rowOff>{down_emu}</rowOff></{tag}>"
    )


def relations(kind: str, targets: list[str]) -> str:
    """A part's relations to parts of one kind, rId1 first.

    >>> relations("chart", ["/xl/charts/chart1.xml"]).count("rId1")
    1
    """
    items = "".join(
        f'<Relationship Id="rId{number}" Type="{RELATIONS}/{kind}" Target="{target}"/>'
        for number, target in enumerate(targets, 1)
    )
    return f'<Relationships xmlns="{_PACKAGE}">{items}</Relationships>'
