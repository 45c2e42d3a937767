"""Site cards: what connects to what, splices, aim, and whether it may be built. Designs are invented.

Outside references: TIA-598 colours of strands 1 and 2, blue and orange (from memory); the magnetic
azimuth is the true one less the declination, east positive (any handbook of navigation).
"""

import pytest
from site_card_designs import HOP, LIGHT, SHEETS, card_words, cards, demo, keys, whole
from small_designs import SITES, Typed, evaluated, rows

from backhaul.book.inputs import row_key
from backhaul.book.sheets.site_card_verdict import FAILS_ELSEWHERE, FAILS_HERE, SETTLED
from backhaul.budgets.cable_runs import cable_runs
from backhaul.budgets.reading_keys import folded
from backhaul.budgets.site_readings import readings_of
from backhaul.spreadsheet.cells import Text, ToFill

WITH_CHAIN = (*SHEETS[:3], "chain", *SHEETS[3:])


def _tables(book, site: str) -> dict[str, list[list[str]]]:
    """Rows of words of every table of a card, by its heading."""
    found: dict[str, list[list[str]]] = {}
    inside, heading = False, ""
    for row in cards(book).rows:
        words = [
            cell if isinstance(cell, str) else getattr(cell, "text", None) or ""
            for cell in row.cells
        ]
        if words and words[0].startswith("Site card: "):
            inside = words[0] == f"Site card: {site}"
        if not inside or not row.cells:
            continue
        if getattr(row.cells[0], "style", "") == "heading":
            heading = words[0]
        found.setdefault(heading, []).append(words)
    return found


def test_a_copper_run_is_named_from_port_to_port():
    tables = _tables(demo("reservoir")[1].book, "Crest cabinet")
    row = next(row for row in tables["Connect"] if row[0] == "cat6a-s-out, 24 m")
    assert row[1] == "crest-switch port 1 – protector-copper-1g, at the cable entry"
    assert row[2] == ("Crest mast: protector-copper-1g-out, beside the terminal – crest-hop port 1")
    assert row[4] == "up the mast"


def test_a_fiber_names_its_strands_with_colours_and_what_is_free():
    tables = _tables(demo("reservoir")[1].book, "Works")
    row = next(row for row in tables["Connect"] if row[0].startswith("crest-cable"))
    assert row[0] == "crest-cable: os2-12, 1620 m"
    assert row[3] == "1 blue, 2 orange; 10 free"
    assert row[2].startswith("Crest cabinet: ")


def test_every_run_stands_on_the_cards_of_both_its_ends():
    evaluation, made = demo("estuary")
    for run in cable_runs(evaluation):
        for end in run.ends:
            said = _tables(made.book, end.site)["Connect"]
            assert any(run.row.part in row[0] for row in said), (run.name, end.site)


def test_splices_go_from_strand_to_strand():
    tables = _tables(demo("reservoir")[1].book, "Works")
    (title,) = [title for title in tables if title.startswith("Splice")]
    assert [row[1:3] for row in tables[title][2:]] == [
        ["pigtail of lc-upc, patch panel, 1 of 2", "crest-cable strand 1 blue"],
        ["pigtail of lc-upc, patch panel, 2 of 2", "crest-cable strand 2 orange"],
    ]


def test_nothing_that_is_there_already_is_brought():
    evaluation, made = demo("reservoir")
    for site in evaluation.design.sites:
        tables = _tables(made.book, site)
        brought = " ".join(word for row in tables.get("Also bring", ()) for word in row)
        for row in evaluation.design.segments:
            if row.by == "existing" and row.site == site:
                assert row.part not in brought
    mount = _tables(made.book, "Works")["Mount"]
    assert any("there already" in word for row in mount for word in row)


def test_every_card_names_the_design_and_its_revision():
    for name in ("reservoir", "estuary"):
        evaluation, made = demo(name)
        for site in evaluation.design.sites:
            said = card_words(made.book, site)
            assert f"design digest {evaluation.design.digest}" in said
            assert f"revision {evaluation.design.project.revision}" in said


def test_office_matter_is_not_on_a_card():
    said = "\n".join(card_words(demo("reservoir")[1].book, s) for s in ("Crest cabinet", "Works"))
    for word in ("Heat", "VA", "how made"):
        assert word not in said


def test_magnetic_is_true_less_declination_else_a_blank(tmp_path):
    found = demo("reservoir")[1].typed({})
    true = found["card.3.radio0a.azimuth_deg"]  # the fourth site, declination -2
    assert found["card.3.radio0a.magnetic_azimuth_deg"] == pytest.approx(true + 2.0)
    sites = [{**site, "declination_deg": ""} for site in SITES]
    book = Typed(whole(tmp_path / "d", sites=sites), *SHEETS).book
    blanks = [
        cell
        for row in cards(book).rows
        for cell in row.cells
        if getattr(cell, "key", "").endswith(".magnetic_azimuth_deg")
    ]
    assert len(blanks) == 2 and all(isinstance(cell, ToFill) for cell in blanks)
    assert "Magnetic, of the day" in card_words(book, "crest")


def test_a_far_site_is_a_reference_for_the_aim():
    said = card_words(demo("reservoir")[1].book, "Crest mast")
    assert "Reference: Works at 184.4° true, 1.46 km" in said


def test_a_failing_design_says_so_on_every_card():
    evaluation, made = demo("estuary")
    assert evaluation.verdict == "fail"
    book = Typed(evaluation, *WITH_CHAIN)
    found = book.typed({})
    said = [found[f"card.{n}.design"] for n in range(len(evaluation.design.sites))]
    assert set(said) <= {FAILS_HERE, FAILS_ELSEWHERE} and said.count(FAILS_HERE) >= 5
    assert made  # without Chain it is said in words
    assert FAILS_HERE in card_words(made.book, "Lookout")


def test_whether_it_may_be_built_follows_what_is_typed():
    evaluation, _ = demo("reservoir")
    book = Typed(evaluation, *WITH_CHAIN)
    cable = next(run.row for run in cable_runs(evaluation) if run.row.label == "crest-cable")
    assert book.typed({})["card.0.design"] == SETTLED
    failing = book.typed({row_key(cable, "length_m"): 90_000})
    assert failing["card.0.design"] == FAILS_HERE  # Works
    assert failing["card.2.design"] == FAILS_HERE  # Crest cabinet
    assert failing["card.1.design"] == FAILS_ELSEWHERE  # Gatehouse: its paths carry power


# Printed keys ----------------------------------------------------------------------------------


def _keys(evaluation) -> set[str]:
    return {reading.key for readings in readings_of(evaluation).values() for reading in readings}


def test_keys_of_labelled_things_survive_a_revision(tmp_path):
    """Steps are renumbered, a row goes in, paths change places: labels keep their keys."""
    before = _keys(whole(tmp_path / "a"))
    segments = rows("p", *LIGHT[:4], "connector sc-apc", *LIGHT[4:], *HOP)
    for row in segments:
        row["step"] = str(10 * int(row["step"]))
    after = _keys(evaluated(tmp_path / "b", segments))
    labelled = {key for key in before if not key.startswith(("p.", "s.", "ps1", "sw2.volts"))}
    assert len(labelled) > 15 and labelled <= after
    assert {"h1.level.near", "h1.level.far", "c1.length", "sw1.serial"} <= labelled


def test_cards_print_the_keys_of_the_readings():
    for name in ("reservoir", "estuary"):
        evaluation, made = demo(name)
        printed = {
            cell.text
            for row in cards(made.book).rows
            for cell in row.cells[:1]
            if isinstance(cell, Text) and cell.style == "card text"
        }
        assert _keys(evaluation) <= printed
        wanted = {f"{key}.reading" for key in _keys(evaluation)}
        found = {key.split(".", 2)[2] for key in keys(made.book) if key.endswith(".reading")}
        assert found == wanted


def test_a_key_is_read_however_it_is_typed():
    assert folded(" Crest_Hop.Level.NEAR") == folded("crest-hop.level.near")
    assert folded("crest-hop.level.near") != folded("crest-hop.level.far")
