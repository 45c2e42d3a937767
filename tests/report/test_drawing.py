"""Drawings: everything of a path stands on its line, in scale, readable, and nowhere else."""

import itertools
import re
import xml.etree.ElementTree as ET
from collections import Counter
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from all_designs import DESIGNS
from typer.testing import CliRunner

pytest.importorskip("matplotlib", reason="matplotlib is not installed: backhaul[drawing]")

from backhaul.api import evaluate, read_design
from backhaul.cli import app
from backhaul.drawing import drawn_file
from backhaul.drawing.drawn_file import drawing_bytes
from backhaul.drawing.figure import LETTERS, figure_of
from backhaul.drawing.looks import RAY
from backhaul.drawing.page import Page
from backhaul.drawing.sheets import (
    FOOT,
    MARGIN,
    PAPERS,
    draw_sheet,
    path_sheets,
    title_block,
)
from backhaul.drawing.sites_drawing import draw_sites, site_sheets
from backhaul.errors import InputError, OutputError
from backhaul.spreadsheet.shapes import Line, Words

ROOT = Path(__file__).parents[2]


@cache
def evaluated(folder):
    return evaluate(read_design(folder))


@cache
def sheets(folder, paper):
    evaluation = evaluated(folder)
    roots = [path for path in evaluation.network.chains if path not in evaluation.branches.parent]
    return path_sheets(evaluation, roots, paper, letters=LETTERS, before=2)


@cache
def pages(folder, paper):
    """Every sheet drawn, that of the sites first."""
    evaluation, made = evaluated(folder), []
    for sheet in site_sheets(evaluation, PAPERS[paper], (12, 12, 12, 25)):
        page = Page(sheet.width, sheet.height, LETTERS)
        draw_sites(page, sheet, right=12)
        made.append(page)
    for sheet in sheets(folder, paper):
        page = Page(*PAPERS[paper], LETTERS)
        draw_sheet(evaluation, sheet, page)
        title_block(page, evaluation, number=2, of=2, what="")
        made.append(page)
    return made


both = pytest.mark.parametrize(
    ("folder", "paper"),
    list(itertools.product(DESIGNS, PAPERS)),
    ids=lambda v: getattr(v, "name", v),
)


@both
def test_every_row_of_every_path_stands_once_in_its_order(folder, paper):
    steps: dict = {}
    for placed in itertools.chain.from_iterable(sheets(folder, paper)):
        steps.setdefault(placed.strip.path, []).extend(i.row.step for i in placed.strip.items)
    chains = evaluated(folder).network.chains
    assert steps == {path: [row.step for row in chain.rows] for path, chain in chains.items()}


@both
def test_things_stand_beside_each_other_inside_the_sheet(folder, paper):
    width, height = PAPERS[paper]
    for sheet in sheets(folder, paper):
        spans = []
        for placed in sheet:
            assert placed.y - placed.strip.up >= MARGIN - 0.1
            assert placed.y - placed.strip.up + placed.strip.height <= height - MARGIN - FOOT + 0.1
            edges = [(item.x, item.x + item.width) for item in placed.strip.items]
            assert all(a[1] <= b[0] + 1e-6 for a, b in itertools.pairwise(edges))
            assert edges[0][0] >= MARGIN and edges[-1][1] <= width - MARGIN
            spans.append((placed.strip.frames[0].x, placed.strip.right, placed.y))
        assert len({(x, y) for x, _, y in spans}) == len(spans)


def words(page):
    """The texts of a page."""
    return [shape.text for shape in page.shapes if isinstance(shape, Words)]


def boxes(page):
    """Each text with the room that it takes [mm], as the library sets it."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    figure = figure_of(page)
    canvas = FigureCanvasAgg(figure)
    mm = 25.4 / figure.dpi
    for text in figure.texts:
        box = text.get_window_extent(canvas.get_renderer())
        yield text.get_text(), np.array([box.x0, box.y0, box.x1, box.y1]) * mm


@both
def test_no_text_runs_off_the_sheet_or_over_another(folder, paper):
    for page in pages(folder, paper):
        found = list(boxes(page))
        width, height = page.width, page.height
        for text, (x0, y0, x1, y1) in found:
            assert x0 >= 0 and y0 >= 0 and x1 <= width and y1 <= height, text
        edges = np.array([box for _, box in found])
        for n, (text, (x0, y0, x1, y1)) in enumerate(found):
            across = np.minimum(edges[:, 2], x1) - np.maximum(edges[:, 0], x0)
            down = np.minimum(edges[:, 3], y1) - np.maximum(edges[:, 1], y0)
            # heights of boxes hold room above small letters
            over = np.flatnonzero((across > 0.3) & (down > 0.9))
            assert over.tolist() == [n], (text, [found[m][0] for m in over if m != n])


@both
def test_every_link_bears_its_verdict_as_a_word(folder, paper):
    evaluation = evaluated(folder)
    wanted = Counter(
        {"fail": "FAIL"}.get(v, v)
        for uses in evaluation.network.uses.values()
        for v in map(evaluation.use_verdict, uses)
    )
    found = Counter(text for page in pages(folder, paper) for text in words(page))
    assert all(found[word] >= count for word, count in wanted.items()), (wanted, found)


def test_a_hop_is_in_scale():
    """The demo's ray runs from 214.5 + 7 m to 215 + 4 m over 2.40 km; ticks of the picture tell
    where a level stands."""
    (page,) = [
        p
        for p in pages(ROOT / "demo" / "reservoir", "a3")
        if any("F1 clear" in text for text in words(p))
    ]
    (ray,) = [
        s for s in page.shapes if isinstance(s, Line) and s.colour == RAY and len(s.points) > 10
    ]
    ticks = {}
    for shape in page.shapes:
        if isinstance(shape, Words) and re.fullmatch(r"2[0-9]0", shape.text):
            ticks[float(shape.text)] = shape.y
    levels, heights = zip(*sorted(ticks.items()), strict=True)
    slope, at_zero = np.polyfit(heights, levels, 1)
    ends = [slope * y + at_zero for _, y in (ray.points[0], ray.points[-1])]
    assert ends == pytest.approx([221.5, 219.0], abs=0.05)


def test_the_narrowest_place_and_the_tightest_are_marked():
    said = [text for p in pages(ROOT / "demo" / "reservoir", "a3") for text in words(p)]
    evaluation = evaluated(ROOT / "demo" / "reservoir")
    hop = evaluation.radio.clearance.median.ratio[0]
    assert f"tightest here: {hop:.2f} F1 clear" in said
    assert "lowest rate here: 227.5 Mb/s" in said  # as the README's session has it


def test_all_forms_are_whole_and_the_same_again():
    evaluation = evaluated(ROOT / "demo" / "reservoir")
    pdf, png, svg = (drawing_bytes(evaluation, form, paper="a4") for form in ("pdf", "png", "svg"))
    assert pdf.startswith(b"%PDF") and b"%%EOF" in pdf[-32:]
    count = pdf.count(b"/Type /Page\n") + pdf.count(b"/Type /Page ")
    assert png.startswith(b"\x89PNG")
    width, height = (int.from_bytes(png[n : n + 4]) for n in (16, 20))
    assert round(height / width, 2) == round(count * 210 / 297, 2)
    root = ET.fromstring(svg)
    assert root.tag.endswith("svg") and root.get("width").startswith("841.89")
    names = [e.get("id") for e in root.iter() if e.get("id")]
    assert len(names) == len(set(names))
    used = set(re.findall(r'(?:href="#|url\(#)([^")]+)', svg.decode()))
    assert used <= set(names)
    assert drawing_bytes(evaluation, "svg", paper="a4") == svg
    assert drawing_bytes(evaluation, "pdf", paper="a4") == pdf


def test_a_picture_of_very_many_sheets_is_refused(monkeypatch):
    evaluation = evaluated(ROOT / "demo" / "reservoir")
    height = int.from_bytes(drawing_bytes(evaluation, "png", paper="a4")[20:24])
    monkeypatch.setattr(drawn_file, "MOST_PIXELS", height)
    assert drawing_bytes(evaluation, "png", paper="a4")
    monkeypatch.setattr(drawn_file, "MOST_PIXELS", height - 1)
    with pytest.raises(OutputError, match="draw some paths with --path"):
        drawing_bytes(evaluation, "png", paper="a4")
    assert drawing_bytes(evaluation, "pdf", paper="a4")


def test_one_path_alone_comes_with_its_branches():
    evaluation = evaluated(ROOT / "demo" / "reservoir")
    svg = drawing_bytes(evaluation, "svg", paths=["crest"])
    assert svg.count(b"<svg") == 1
    with pytest.raises(InputError, match="a path of the design"):
        drawing_bytes(evaluation, "svg", paths=["tour"])


def draw(*words):
    return CliRunner().invoke(app, ["drawing", *map(str, words)])


def test_the_command_writes_and_refuses(tmp_path, monkeypatch):
    demo = ROOT / "demo" / "estuary"
    done = draw(demo, "-o", tmp_path / "e.pdf", "--path", "hide")
    assert done.exit_code == 1 and (tmp_path / "e.pdf").read_bytes().startswith(b"%PDF")
    for words, said in (
        (("-o", tmp_path / "e.dwg"), ".svg, .pdf or .png"),
        (("-o", tmp_path / "no" / "e.pdf"), "does not exist"),
    ):
        done = draw(demo, *words)
        assert isinstance(done.exception, OutputError) and said in str(done.exception)
    assert draw(demo, "-o", tmp_path / "f.pdf", "--paper", "a5").exit_code == 2
    (tmp_path / "link.pdf").symlink_to(tmp_path / "e.pdf")
    assert "regular file" in str(draw(demo, "-o", tmp_path / "link.pdf").exception)
    monkeypatch.setitem(__import__("sys").modules, "matplotlib", None)
    done = draw(demo, "-o", tmp_path / "g.pdf")
    assert "pip install 'backhaul[drawing]'" in str(done.exception)
    assert not (tmp_path / "g.pdf").exists()
