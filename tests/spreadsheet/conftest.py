"""A small book that uses every kind of cell, chart and rule."""

from datetime import datetime

import pytest

from backhaul.spreadsheet.cells import Calc, Input, Link, Number, Text, ToFill, Verdict
from backhaul.spreadsheet.charts import (
    Axis,
    BarsChart,
    LinesChart,
    ProfileChart,
    Series,
    VerdictBars,
    verdict_row,
)
from backhaul.spreadsheet.grid import Book, Sheet
from backhaul.spreadsheet.writer import write_book

MARGINS = {"F1": (6.25, "pass"), "F2": (1.5, "thin"), "R1": (-2.5, "fail")}


def _givens() -> Sheet:
    sheet = Sheet("Givens", "Givens", [30, 14, 12, 40], landscape=False)
    sheet.head("input", "value", "unit", "source", repeat=True, freeze_columns=1)
    for name, (margin, _) in MARGINS.items():
        budget = Input(f"{name}.budget", margin + 10.0, "dB", least=0, most=60, note="Data sheet")
        sheet.row(f"{name} budget", budget, "dB", "invented")
        sheet.row(f"{name} loss", Input(f"{name}.loss", 10.0, "dB"), "dB", "=1+1 & <b>")
    sheet.row("limit", Input("limit", 2, "dB", least=0), None, "common practice")
    sheet.row("polish", Input("polish", "UPC", choices="{polish.1}:{polish.3}"))
    sheet.row("price", ToFill("price", unit="EUR", format="#,##0.00", least=0), None, "by hand")
    polishes = ((Text(p, key=f"polish.{n}"),) for n, p in enumerate(("UPC", "APC", "PC"), 1))
    sheet.block("List", ["polish"], polishes)
    return sheet


def _light() -> Sheet:
    sheet = Sheet("Owner's light", "Light & air", [30, 14, 12, 30], subtitle="both directions")
    sheet.head("link", "margin", "verdict", "go to", repeat=True)
    for name, (margin, verdict) in MARGINS.items():
        words = f'IF({{{name}.m}}<0,"fail",IF({{{name}.m}}<{{limit}},"thin","pass"))'
        sheet.row(
            Text(name, key=f"{name}.name"),
            Calc(f"{name}.m", f"{{{name}.budget}}-{{{name}.loss}}", margin, "dB"),
            Verdict(verdict, words, key=f"{name}.v"),
            Link("its budget", f"{name}.budget"),
        )
    margins = [margin for margin, _ in MARGINS.values()]
    total = Calc("sum", "SUM({F1.m}:{R1.m})", sum(margins), "dB")
    sheet.row("Sum", total, Calc("any", "COUNT({F1.m}:{R1.m})>2", True), None, style="total")
    sheet.row("Best", Calc("best", "MAX({F1.m}:{R1.m})", max(margins)), Link("Givens", "Givens"))
    sheet.row("Plain", Number(3, unit="m"), Verdict("OK"), None)
    sheet.say("A sentence that is long enough to be wrapped. " * 8, "caution")
    sheet.page_break()
    return sheet


def _charts() -> Sheet:
    sheet = Sheet("Charts", "Charts", [24] * 5, one_page=True, tab_color="2B5466")
    rows = [
        (*verdict_row(name, f"{name}.m", margin, f"{name}.v", verdict), minutes)
        for (name, (margin, verdict)), minutes in zip(MARGINS.items(), (0.2, 5.0, 320.0))
    ]
    bars = sheet.helper("Margins", ["link", "pass", "thin", "fail", "minutes"], rows)
    steps = [(0.0, -9.5, -10.25), (3.0, -11.3, -11.6), (8.0, -14.6, -15.35)]
    points = [(km, level) for km, *levels in steps for level in levels]
    level = sheet.helper("Level", ["km", "dBm"], points)
    km = [n / 10 for n in range(31)]
    labels = [f"{x:g}" if n % 5 == 0 else "" for n, x in enumerate(km)]
    ground = [100 + 20 * abs(x - 1.5) for x in km]
    water = [105.0 if value < 105 else 0.0 for value in ground]
    sight = [140.0] * len(km)
    hop = sheet.helper(
        "Profile",
        ["km", "ground", "water", "sight"],
        list(zip(labels, ground, water, sight, strict=True)),
    )
    margin_axis = Axis("dB", format="0")
    sheet.chart(VerdictBars("Margins", *bars[:4], margin_axis, "Margins: F1 6.25 dB, pass"))
    minutes = Axis("minutes a year", format="#,##0.###", log=True)
    sheet.chart(BarsChart("Outage", bars[0], [Series("min", bars[4])], minutes, "Outage bars"))
    lines = [Series("level", level[1], at=level[0])]
    sheet.chart(LinesChart("Level", Axis("km"), Axis("dBm"), lines, "Level falls along 8 km"))
    sheet.chart(
        ProfileChart(
            "Clearance",
            hop[0],
            hop[1],
            [Series("sight", hop[3], dashed=True)],
            Axis("km"),
            Axis("m", least=80),
            'Ground below the "line of sight"',
            water=hop[2],
        )
    )
    return sheet


@pytest.fixture(scope="session")
def make_book():
    def make(**changes) -> Book:
        said = {
            "title": "Crest & tower",
            "created": datetime(2026, 3, 1, 12),
            "subject": "Backhaul budget",
            "author": "A. Engineer",
            "revision": "B",
            "date": "2026-03-01",
            "footer": "digest 3f2a",
            "names": {"margin_sum_db": "sum"},
        }
        return Book([_light(), _givens(), _charts()], **(said | changes))

    return make


@pytest.fixture(scope="session")
def data(make_book) -> bytes:
    return write_book(make_book())
