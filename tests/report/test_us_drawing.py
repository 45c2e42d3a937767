"""Drawings of a project in US units: the metric ones in feet and miles, on paper and in the book.

0.3048 m a foot, 1.609344 km a mile (NIST SP 811, appendix B.8).
"""

import re
from pathlib import Path

import pytest

pytest.importorskip("matplotlib", reason="matplotlib is not installed: backhaul[drawing]")

from backhaul.api import evaluate, read_design
from backhaul.book.pictures import PathPictures
from backhaul.drawing.figure import LETTERS
from backhaul.drawing.page import Page
from backhaul.drawing.sheets import PAPERS, draw_sheet, path_sheets
from backhaul.drawing.sites_drawing import draw_sites, site_sheets
from backhaul.spreadsheet.shapes import Words

DEMO = Path(__file__).parents[2] / "demo"
LENGTH = re.compile(r"(-?\d+(?:\.\d+)?) (k?m|ft|mi)\b(?!/)")
SI = {"m": 1.0, "km": 1000.0, "ft": 0.3048, "mi": 1609.344}
METRIC = re.compile(r"\d k?m\b(?!/)|°C|\bkm from|\bm above")


def told(evaluation) -> list[str]:
    letters, pages = LETTERS.of(evaluation.design), []
    for sheet in site_sheets(evaluation, PAPERS["a3"], (12, 12, 12, 25)):
        page = Page(sheet.width, sheet.height, letters)
        draw_sites(page, sheet, right=12)
        pages.append(page)
    roots = [path for path in evaluation.network.chains if path not in evaluation.branches.parent]
    for sheet in path_sheets(evaluation, roots, "a3", letters=letters, before=2):
        page = Page(*PAPERS["a3"], letters)
        draw_sheet(evaluation, sheet, page)
        pages.append(page)
    return [shape.text for page in pages for shape in page.shapes if isinstance(shape, Words)]


def in_the_book(evaluation) -> list[str]:
    pictures = PathPictures(evaluation, 700.0)
    shapes = [
        shape
        for path in evaluation.network.chains
        for picture, _ in pictures.of(path)
        for shape in picture.shapes
    ]
    shapes += [
        shape
        for site in evaluation.design.sites
        for picture in pictures.of_site(site, evaluation.network.chains)
        for shape in picture.shapes
    ]
    return [shape.text for shape in shapes if isinstance(shape, Words)]


def metres(texts: list[str]) -> list[float]:
    return [float(n) * SI[unit] for text in texts for n, unit in LENGTH.findall(text)]


@pytest.mark.parametrize("drawn", [told, in_the_book])
@pytest.mark.parametrize("demo", ["estuary", "reservoir"])
def test_each_length_is_told_in_feet_or_miles(demo, drawn):
    metric = evaluate(read_design(DEMO / demo))
    us = evaluate(metric.design._replace(project=metric.design.project._replace(units="US")))
    ours, theirs = drawn(metric), drawn(us)
    assert not [text for text in theirs if METRIC.search(text)]
    lengths, found = sorted(metres(ours)), sorted(metres(theirs))
    # the level of a site that finds no room beside its name is left out
    assert len(lengths) - 2 <= len(found) and len(found) > 20
    for one in found:
        assert min(abs(one - other) / max(other, 1.0) for other in lengths) < 0.006


def test_a_long_chain_of_sites_stays_on_its_paper(tmp_path):
    """Nine chambers in a row: bands on A3, each way once, no name beyond its frame."""
    rows = ["path,step,kind,part,site,to_site,length_ft,label"]
    for n in range(9):
        rows.append(
            f"p,{4 * n + 1},device,switch-12-sfp,Chamber {n} of the long shore road,,,sw{n}"
        )
        if n < 8:
            ends = (f"Chamber {place} of the long shore road" for place in (n, n + 1))
            rows.append(f"p,{4 * n + 2},copper,cat6a-s-out,{','.join(ends)},{100 + n},")
    (tmp_path / "segments.csv").write_text("\n".join(rows), encoding="utf-8")
    (tmp_path / "project.csv").write_text("setting,value\nunits,US\n", encoding="utf-8")
    evaluation = evaluate(read_design(tmp_path))
    letters, (wide, high) = LETTERS.of(evaluation.design), PAPERS["a3"]
    sheets = site_sheets(evaluation, (wide, high), (12, 12, 12, 25))
    assert [(sheet.width, sheet.height) for sheet in sheets] == [(wide, high)]
    page = Page(wide, high, letters)
    draw_sites(page, sheets[0], right=12)
    words = [shape for shape in page.shapes if isinstance(shape, Words)]
    assert sorted(w.text for w in words if w.text.endswith(" ft")) == [
        f"{100 + n} ft" for n in range(8)
    ]
    assert sum(word.text.startswith("sw") and word.bold for word in words) == 9
    for word in words:
        assert word.x + letters.width(word.text, word.size, bold=word.bold) < wide - 12
        if word.text.startswith("Chamber"):
            assert letters.width(word.text, word.size, bold=word.bold) <= 40.0
