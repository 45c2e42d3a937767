"""Drawings in the book: all of a path, whole and readable, its verdicts live, within bounds."""

import itertools
import re
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest
from all_designs import DESIGNS
from small_designs import Typed, evaluated, rows, short_paths

from backhaul.api import evaluate, read_design
from backhaul.book.book import build_book
from backhaul.book.inputs import row_key
from backhaul.book.pictures import MOST_PATHS, drawing_key
from backhaul.book.sheets.page_fit import PT_PER_CHARACTER
from backhaul.budgets.cable_runs import cable_runs
from backhaul.spreadsheet.cells import Link, Text, Verdict
from backhaul.spreadsheet.shapes import PT_PER_MM, Words
from backhaul.spreadsheet.text_width import text_pt
from backhaul.spreadsheet.writer import write_book

ROOT = Path(__file__).parents[2]
BUDGETS = ("optical_links", "radio_hops", "copper_and_supply", "chain", "line_drawings")
#: Common practice for what is read at arm's length, as in test_pages.
LEAST_PT = 6.95

each = pytest.mark.parametrize("folder", DESIGNS, ids=lambda folder: folder.name)


@cache
def made(folder):
    evaluation = evaluate(read_design(folder))
    return evaluation, build_book(evaluation)


def sheet_of(book, name):
    return next(sheet for sheet in book.sheets if sheet.name == name)


def drawings(book):
    """Path -> its pictures, by the keys of the headings above them; two paths may share one."""
    found, paths = {}, []
    for row in sheet_of(book, "Line drawings").rows:
        texts = [cell for cell in row.cells if isinstance(cell, Text)]
        headed = [c.key for c in texts if re.fullmatch(r"drawing\.[^{}]+", c.key)]
        if headed:
            paths = [key.removeprefix("drawing.") for key in headed]
        elif row.picture is not None:
            for path in paths:
                found.setdefault(path, []).append(row.picture)
    return found


def squeezed(text: str) -> str:
    return re.sub(r"\s", "", text)


def said(pictures) -> str:
    """All words of pictures, as if no line had been broken."""
    return squeezed(
        "".join(s.text for picture in pictures for s in picture.shapes if isinstance(s, Words))
    )


@each
def test_every_site_part_and_label_of_a_path_stands_in_its_drawing(folder):
    evaluation, book = made(folder)
    found = drawings(book)
    assert set(found) == set(evaluation.network.chains)
    for path, chain in evaluation.network.chains.items():
        words = said(found[path])
        for place, row in enumerate(chain.rows):
            is_ghost = place == 0 and evaluation.branches.parent.get(path) is not None
            wanted = [row.label or row.part] if is_ghost else [row.part, row.to_part]
            if row.to_site is None and not is_ghost and row.kind in ("device", "fiber", "feed"):
                wanted.append(row.label)
            wanted += [site for site in evaluation.network.places[row.id] if site]
            for text in filter(None, wanted):
                assert squeezed(text) in words, (path, row.step, text)


def boxes(picture):
    """Each text with the room that it takes, enlarged [pt]."""
    for shape in picture.shapes:
        if isinstance(shape, Words):
            size = shape.size * picture.scale
            width = text_pt(shape.text, size, bold=shape.bold)
            x = shape.x * picture.scale * PT_PER_MM
            x -= {"left": 0, "center": width / 2, "right": width}[shape.align]
            y = shape.y * picture.scale * PT_PER_MM
            yield shape.text, size, (x, y - 0.36 * size, x + width, y + 0.36 * size)


@each
@pytest.mark.parametrize("name", ["Line drawings", "Site cards"])
def test_words_are_large_inside_and_apart(folder, name):
    """Heights of capital letters; print of the sheet in its own scale."""
    _, book = made(folder)
    sheet = sheet_of(book, name)
    wide = sum(sheet.columns[: sheet.width]) * PT_PER_CHARACTER
    for _, picture in sheet.pictures:
        assert picture.width * picture.scale * PT_PER_MM == pytest.approx(wide)
        found = list(boxes(picture))
        for text, size, (x0, y0, x1, y1) in found:
            assert size >= LEAST_PT
            assert x0 >= 0 and y0 >= 0 and x1 <= wide and y1 <= picture.height_pt, text
        for (text, _, a), (other, _, b) in itertools.combinations(found, 2):
            across = min(a[2], b[2]) - max(a[0], b[0])
            down = min(a[3], b[3]) - max(a[1], b[1])
            assert across <= 0.5 or down <= 0.5, (text, other)


@each
def test_every_link_bears_its_verdict_live_and_leads_to_its_budget(folder):
    evaluation, book = made(folder)
    cells = [cell for row in sheet_of(book, "Line drawings").rows for cell in row.cells]
    below = [cell for cell in cells if isinstance(cell, Verdict)]
    assert all(cell.formula for cell in below)
    for path, uses in evaluation.network.uses.items():
        prefix = re.escape(drawing_key(path))
        for use in uses:
            steps = re.escape(f"{use.first_step:g}-{use.last_step:g}")
            own = [c for c in below if re.fullmatch(rf"{prefix}\.\d+\.{steps}", c.key)]
            assert own and {cell.value for cell in own} == {evaluation.link_verdict(use.link)}
        (whole,) = [c for c in below if c.key == f"{drawing_key(path)}.verdict"]
        assert whole.value == evaluation.path_verdicts[path]


@each
def test_chain_and_drawings_lead_to_each_other(folder):
    evaluation, book = made(folder)
    there = {
        cell.to
        for row in sheet_of(book, "Chain").rows
        for cell in row.cells
        if isinstance(cell, Link)
    }
    back = {
        cell.to
        for row in sheet_of(book, "Line drawings").rows
        for cell in row.cells
        if isinstance(cell, Link)
    }
    for path in evaluation.network.chains:
        assert drawing_key(path) in there
        assert f"chain.{path}.anchor" in back


def test_a_verdict_follows_what_is_typed_and_the_drawing_says_none():
    """90 km of cable: no light is left. No drawing bears a word of verdict that could stay behind."""
    evaluation, book = made(ROOT / "demo" / "reservoir")
    live = Typed(evaluation, *BUDGETS, "inputs")
    cable = next(run.row for run in cable_runs(evaluation) if run.row.label == "crest-cable")
    key = f"{drawing_key('tower')}.1.2-10"
    assert live.typed({})[key] == "pass"
    typed = live.typed({row_key(cable, "length_m"): 90_000})
    assert typed[key] == typed[f"{drawing_key('tower')}.verdict"] == "fail"
    for name in ("Line drawings", "Site cards"):
        for _, picture in sheet_of(book, name).pictures:
            words = {shape.text for shape in picture.shapes if isinstance(shape, Words)}
            assert not words & {"pass", "thin", "fail", "FAIL"}
            assert not any(re.search(r"\bdBm?\b|Mb/s|Gb/s", text) for text in words)


def test_cards_draw_their_own_site_where_it_takes_no_page_more():
    """Pages as in test_pages; the fullest card of the demo has no room, and says where it is drawn."""
    evaluation, book = made(ROOT / "demo" / "reservoir")
    drawn: dict[str, list] = {}
    for _, picture in sheet_of(book, "Site cards").pictures:
        site = re.fullmatch(r"Site (.*), line \d+", picture.name)[1]
        drawn.setdefault(site, []).append(picture)
    assert set(drawn) == {"Works", "Gatehouse", "Crest cabinet", "Crest mast"}
    cells = [cell for row in sheet_of(book, "Site cards").rows for cell in row.cells]
    told = [c.text for c in cells if isinstance(c, Text) and c.text.startswith("Drawing: ")]
    assert told == ["Drawing: Line drawings, tower, tower-gauge, power-tower and 1 more."]
    labels: dict[str, set] = {}
    for row in evaluation.design.segments:
        if row.label:
            labels.setdefault(row.label, set()).update(evaluation.network.places[row.id])
    for site, pictures in drawn.items():
        words = said(pictures)
        for label, places in labels.items():
            assert (squeezed(label) in words) == (site in places), (site, label)
    assert "toCrestmast" in said(drawn["Crest cabinet"])
    assert "fromWorks" in said(drawn["Crest cabinet"])


def test_of_many_paths_some_are_drawn_and_the_sheet_says_so(tmp_path):
    evaluation = short_paths(tmp_path, MOST_PATHS + 3)
    last = list(evaluation.network.chains)[-1]
    evaluation.path_verdicts.update(dict.fromkeys(evaluation.network.chains, "pass"))
    evaluation.path_verdicts[last] = "fail"
    book = build_book(evaluation)
    found = drawings(book)
    assert len(found) == MOST_PATHS and last in found
    assert list(found)[:-1] == [f"P{n}" for n in range(MOST_PATHS - 1)]
    subtitle = sheet_of(book, "Line drawings").rows[1].cells[0].text
    assert f"{MOST_PATHS} paths are drawn" in subtitle and " 3 more " in subtitle
    assert not sheet_of(book, "Site cards").pictures  # forty paths at one site


#: Of as many letters as a name may have.
HOSTILE = [
    ('a{b}<&>"c', 'path <&>"{x}'),
    ("L" * 200, "P" * 200),
    ("much " * 40, "=1+1"),
]


@pytest.mark.parametrize(("label", "site"), HOSTILE)
def test_hostile_names_neither_break_the_file_nor_leave_the_field(tmp_path, label, site):
    segments = rows(
        "P1",
        "device switch-24-1g-poe-370",
        "copper cat6a-out length_m=40",
        "device camera-class4",
    )
    segments[0] |= {"label": label.strip(), "site": site}
    segments[1] |= {"site": site, "to_site": "Far"}
    segments[2] |= {"site": "Far", "label": "<script>&amp;"}
    sites = [{"site": name, "ground_m": "3", "outdoor": "no"} for name in (site, "Far")]
    evaluation = evaluated(tmp_path / "d", segments, sites=sites)
    book = build_book(evaluation)
    data = write_book(book)
    assert write_book(build_book(evaluation)) == data
    for name in ("Line drawings", "Site cards"):
        sheet = sheet_of(book, name)
        assert sheet.pictures
        wide = sum(sheet.columns[: sheet.width]) * PT_PER_CHARACTER
        for _, picture in sheet.pictures:
            for text, _, (x0, y0, x1, y1) in boxes(picture):
                assert x0 >= 0 and y0 >= 0 and x1 <= wide and y1 <= picture.height_pt, text


def test_the_library_that_draws_is_not_needed(tmp_path):
    """A book is written where matplotlib is not installed."""
    program = (
        "import sys; sys.modules['matplotlib'] = None\n"
        "from backhaul.cli import app\n"
        f"app(['workbook', {str(ROOT / 'demo' / 'reservoir')!r}, '-o', {str(tmp_path / 'b.xlsx')!r}])"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, check=False)
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "b.xlsx").stat().st_size > 100_000
