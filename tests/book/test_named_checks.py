"""Where something fails, each sheet names the check, and nothing stands there as if it were sound."""

from functools import cache

import pytest
from all_designs import DESIGNS

from backhaul.api import evaluate, read_design
from backhaul.book.book import build_book
from backhaul.book.sheets.chain import SOUND_ROW
from backhaul.book.sheets.path_result import HOPS_ALONE
from backhaul.book.sheets.radio_in_use import NOT_TO_COUNT_ON
from backhaul.book.sheets.site_card_radio import SETTLE
from backhaul.findings import FAIL, PASS
from backhaul.path.links import RADIO
from backhaul.spreadsheet.cells import Calc, Text, Verdict, as_cell
from backhaul.spreadsheet.grid import HELPER_WIDTH
from backhaul.spreadsheet.styles import LOOKS, number_format
from backhaul.spreadsheet.text_width import column_pt, text_pt

each = pytest.mark.parametrize("folder", DESIGNS, ids=lambda folder: folder.name)


@cache
def made(folder):
    evaluation = evaluate(read_design(folder))
    return evaluation, build_book(evaluation)


def sheet_of(book, name):
    return next((sheet for sheet in book.sheets if sheet.name == name), None)


def words(cell) -> str:
    found = cell if isinstance(cell, str) else getattr(cell, "text", getattr(cell, "value", ""))
    return str(found or "")


def rows_of(evaluation, book):
    """Rows of Chain with the segment that each shows, and its path."""
    path, rows = None, {}
    for row in sheet_of(book, "Chain").rows:
        key = getattr(row.cells[0], "key", "") if row.cells else ""
        if key.endswith(".anchor"):
            path = next(p for p in evaluation.network.chains if key == f"chain.{p}.anchor")
            rows = {f"{s.step:g}": s for s in evaluation.network.chains[path].rows}
        elif row.cells and words(row.cells[0]) in rows and len(row.cells) > 10:
            yield path, rows[words(row.cells[0])], row


@each
def test_every_row_of_chain_names_the_checks_that_it_does_not_pass(folder):
    evaluation, book = made(folder)
    tried = 0
    for path, segment, row in rows_of(evaluation, book):
        checks = {
            finding.check
            for finding in evaluation.findings_on.get(segment.id, ())
            if finding.verdict != PASS and path in finding.paths
        }
        tried += bool(checks)
        assert all(check in words(row.cells[-1]) for check in checks), (path, segment.step)
    assert tried


@each
def test_no_row_of_a_link_that_fails_is_called_sound(folder):
    """A dash stands there; the row at which the link begins names what it fails by."""
    evaluation, book = made(folder)
    for path, segment, row in rows_of(evaluation, book):
        uses = [u for u in evaluation.network.uses[path] if segment.id in u.row_ids]
        # of two uses that meet in a thing, Chain shows the later
        fails = bool(uses) and evaluation.use_verdict(uses[-1]) == FAIL
        own = evaluation.verdicts_in[path].get(segment.id, PASS)
        shown = as_cell(row.cells[-2])
        if own == PASS and fails:
            assert isinstance(shown, Text) and shown.text == SOUND_ROW, (path, segment.step)
        else:
            assert isinstance(shown, Verdict) and shown.value == own, (path, segment.step)


def test_a_link_that_fails_by_another_row_says_so_where_its_rate_stands():
    """1550 nm optics for 80 km over 1.5 km: the row of the near one is sound, the link is not."""
    folder = next(each for each in DESIGNS if each.name == "estuary")
    evaluation, book = made(folder)
    found = {
        (path, segment.step): words(row.cells[-1])
        for path, segment, row in rows_of(evaluation, book)
    }
    assert found["sluice", 2].startswith("the link fails: receiver-overload, temperature; ")


@each
def test_a_hop_that_fails_has_no_mode_to_count_on(folder):
    evaluation, book = made(folder)
    hops = sheet_of(book, "Radio hops")
    cards = sheet_of(book, "Site cards")
    if hops is None:
        pytest.skip("no hop")
    told = {c.key: c for row in hops.rows for c in row.cells if isinstance(c, Calc)}
    for link in evaluation.network.links[RADIO]:
        fails = evaluation.link_verdict(link) == FAIL
        how = told[f"air.{link.index}.rate_at_target_mbps.how"]
        assert (how.value == NOT_TO_COUNT_ON) == fails
        assert f"{{air.{link.index}.verdict}}" in how.formula
    modes = [
        as_cell(row.cells[-1])
        for row in cards.rows
        if any(words(cell) == "Mode in use, transmitting" for cell in row.cells)
    ]
    fails = [evaluation.link_verdict(link) == FAIL for link in evaluation.network.links[RADIO]]
    if all(fails) and fails:
        assert modes and all(words(cell) in (SETTLE, "not known") for cell in modes)


@each
def test_at_a_glance_names_a_check_of_every_path_that_does_not_pass(folder):
    evaluation, book = made(folder)
    cells = [c for row in sheet_of(book, "At a glance").rows for c in row.cells]
    told = {c.key: c.value for c in cells if isinstance(c, Calc) and c.key.endswith(".why")}
    for path, verdict in evaluation.path_verdicts.items():
        checks = {f.check for f in evaluation.findings_in.get(path, ()) if f.accepted is None}
        if verdict != PASS:
            assert told[f"glance.{path}.why"].partition(";")[0] in checks


@each
def test_a_path_without_a_rate_has_no_year_and_no_delay_of_its_own(folder):
    """What its hops alone would carry is said to be theirs."""
    evaluation, book = made(folder)
    cells = {
        cell.key: cell
        for row in sheet_of(book, "At a glance").rows
        for cell in row.cells
        if isinstance(cell, Calc)
    }
    shown = {words(c) for row in sheet_of(book, "Chain").rows for c in row.cells}
    for path, served in evaluation.performance.paths.items():
        if served.rate_up_mbps is not None or not served.carries_data:
            continue
        assert f"glance.latency_us.{path}" not in cells
        year = cells.get(f"glance.availability_percent.{path}")
        if year is not None and f"glance.rate_up_mbps.{path}" not in cells:
            assert year.format.count("hops ") == 2
            assert HOPS_ALONE in shown


def test_a_unit_stands_behind_figures_and_never_behind_a_word():
    assert number_format(0.0, '0.0;-0.0;"no rate"', "Mb/s") == '0.0" Mb/s";-0.0" Mb/s";"no rate"'
    assert number_format(2.0, '[>3]"≥ 3";0.0', "dB") == '[>3]"≥ 3"" dB";0.0" dB"'


@each
def test_words_beside_the_print_area_do_not_reach_into_it(folder):
    """A text that is set to the right of its cell runs over what stands left of it."""
    _, book = made(folder)
    for sheet in book.sheets:
        for _, _, cell in sheet.helpers:
            look = LOOKS[cell.style] if isinstance(cell, Text) else None
            if look is None or look.wrap or look.across != "right":
                continue
            room = column_pt(HELPER_WIDTH)
            assert text_pt(cell.text, look.size_pt) <= room, (sheet.name, cell.text)
