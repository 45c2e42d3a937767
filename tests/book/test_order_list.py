"""The order list against counts made by hand; the sheet against a second engine.

Rules that the counts follow (slack, loops, spares, one order length a run) are the project's
own; the small designs are invented, and their counts stand beside them.
"""

import csv
from io import StringIO

import book_formulas
import pytest
import recalculation
from small_designs import LIGHT, Typed, evaluated, line_of, rows

from backhaul.book.inputs import row_key
from backhaul.budgets.order_list import order_list
from backhaul.budgets.orders import spare_pieces
from backhaul.catalog import load_catalog
from backhaul.report.order_csv import COLUMNS, order_csv, write_order_csv

#: What the order list refers to.
SHEETS = (
    "optical_links",
    "alternatives",
    "order_list",
    "order_runs",
    "requirements",
    "inputs",
)


def by_part(evaluation) -> dict[str, tuple]:
    """(needed, spares, to order) of what is to be ordered."""
    lines = order_list(evaluation).lines_by("")
    assert len({(line.part, line.length_m) for line in lines}) == len(lines)
    return {line.part: (line.needed, line.spares, line.to_order) for line in lines}


def test_a_duplex_link_by_hand(tmp_path):
    found = by_part(evaluated(tmp_path / "d", rows("p", *LIGHT)))
    assert found == {
        "switch-12-sfp": (1, 0, 1),
        "switch-ind-6-sfp-2-sfp+": (1, 0, 1),
        "1000base-lx10": (1, 0, 1),
        "1000base-lx10-i": (1, 0, 1),
        "os2-12": (1700 * 1.05 + 20, 0, 2000.0),
        "cord-os2-lcupc-lcupc": (2, 0, 2),
        "lc-upc": ((2 + 1) * 2, 1, 7),
        # two end the cable, on two strands; the third joins reels: every strand, and a closure
        "fusion-splice": (2 * 2 + 12, 0, 16),
        "splice closure": (1, 0, 1),
        # a sleeve a splice and a tenth over, rounded half up; a tray for the joint's twelve
        "sleeve-splice-60mm": (16, 2, 18),
        "tray-splice-12": (1, 0, 1),
        # the cable's bare ends: one at the panel, one behind the splices; two strands each
        "plug LC/UPC": (4, 0, 4),
    }


def test_one_strand_takes_half_the_joints(tmp_path):
    lines = [
        line.replace("1000base-lx10-i", "1000base-bx10-u-i")
        .replace("1000base-lx10", "1000base-bx10-d")
        .replace("strand=1/2", "strand=1")
        for line in LIGHT
    ]
    evaluation = evaluated(tmp_path / "d", rows("p", *lines))
    found = by_part(evaluation)
    assert (found["lc-upc"][0], found["fusion-splice"][0], found["plug LC/UPC"][0]) == (
        3,
        2 + 12,
        2,
    )
    (pair,) = order_list(evaluation).pairs
    assert (pair.part, pair.partner, pair.count) == ("1000base-bx10-d", "1000base-bx10-u-i", 1)


def test_things_are_counted_once(tmp_path):
    second = rows(
        "q",
        *LIGHT[:1],
        "optic 1000base-lx10 site=works",
        "fiber os2-12 site=works to_site=crest length_m=1700 strand=3/4 label=C1",
        "optic 1000base-lx10-i site=crest",
        *LIGHT[-1:],
    )
    shared = rows("p", *LIGHT) + second
    shared += [
        {
            "path": "p/q",
            "step": "20",
            "kind": "protector",
            "part": "protector-copper-1g",
            "site": "crest",
        }
    ]
    found = by_part(evaluated(tmp_path / "d", shared))
    assert found["switch-12-sfp"][0] == found["switch-ind-6-sfp-2-sfp+"][0] == 1
    assert found["1000base-lx10"][0] == 2
    assert found["os2-12"] == (1805, 0, 2000)
    assert found["protector-copper-1g"][0] == 1
    assert found["plug LC/UPC"][0] == 4 + 4


def test_two_runs_are_two_order_lengths(tmp_path):
    second = [
        line.replace("label=C1", "label=C2")
        .replace("label=SW1", "label=SW3")
        .replace("label=SW2", "label=SW4")
        for line in LIGHT
    ]
    line = line_of(evaluated(tmp_path / "d", rows("p", *LIGHT) + rows("q", *second)), "os2-12")
    assert (line.needed, line.to_order, line.pack) == (3610, 4000, "2 × 2000 m")


def test_a_hop_has_two_terminals_and_two_antennas(tmp_path):
    hop = (
        "device switch-12-sfp site=crest label=SW1",
        "copper cat6a-out site=crest length_m=10",
        (
            "radio radio-18ghz-low to_part=radio-18ghz-high site=crest to_site=tower height_m=6 "
            "to_height_m=6 antenna=dish-0.3m-18ghz label=H1"
        ),
    )
    power = (
        "device injector-at-1g site=tower",
        "copper cat6a-out site=tower length_m=5",
        "radio radio-18ghz-high site=tower label=H1",
    )
    dish = next(
        name
        for name, part in load_catalog().antennas.items()
        if part.frequency_min_ghz and part.frequency_min_ghz <= 18 <= part.frequency_max_ghz
    )
    hop = tuple(line.replace("dish-0.3m-18ghz", dish) for line in hop)
    found = by_part(evaluated(tmp_path / "d", rows("p", *hop) + rows("power", *power)))
    assert found["radio-18ghz-low"][0] == 1
    assert found["radio-18ghz-high"][0] == 1
    assert found[dish][0] == 2


@pytest.mark.parametrize(
    ("length", "slack", "loop", "lengths"),
    [
        (1700, 5, 10, (2000.0,)),  # 1805 m
        (1885.7142857, 5, 10, (2000.0,)),  # 2000 m to the millimetre
        (1887, 5, 10, (4000.0,)),  # 2001.35 m: one length, not 2000 + 250
        (10000, 0, 0, (6000.0, 4000.0)),  # none holds it
        (5714.2857143, 5, 0, (6000.0,)),
        (12000, 0, 0, (6000.0, 6000.0)),
        (12001, 0, 0, (6000.0, 6000.0, 250.0)),
    ],
)
def test_runs_are_cut_from_one_length(tmp_path, length, slack, loop, lengths):
    lines = [line.replace("length_m=1700", f"length_m={length}") for line in LIGHT]
    project = {"cable_slack_percent": str(slack), "loop_m": str(loop)}
    (run,) = line_of(evaluated(tmp_path / "d", rows("p", *lines), project=project), "os2-12").runs
    assert run.lengths_m == lengths


def test_cords_take_no_slack_and_go_by_length(tmp_path):
    lines = [line.replace("site=crest length_m=5", "site=crest length_m=5.1") for line in LIGHT]
    lines = order_list(evaluated(tmp_path / "d", rows("p", *lines))).lines_by("")
    cords = [line for line in lines if line.part == "cord-os2-lcupc-lcupc"]
    assert sorted((line.length_m, line.needed, line.spares) for line in cords) == [
        (5, 1, 0),
        (10, 1, 0),
    ]


def test_an_assembly_is_of_its_length_without_spares(tmp_path):
    lines = (
        "device switch-12-sfp site=works",
        "optic 1000base-lx10 site=works",
        "fiber assembly-os2-4-lcupc-lcupc site=works to_site=crest length_m=160",
        "optic 1000base-lx10-i site=crest",
        "device switch-12-sfp site=crest",
    )
    line = line_of(evaluated(tmp_path / "d", rows("p", *lines)), "assembly-os2-4-lcupc-lcupc")
    assert (line.needed, line.spares, line.to_order, line.pack) == (1, 0, 1, "of 200 m")


def test_what_others_provide_stands_apart(tmp_path):
    lines = list(LIGHT)
    lines[0] += " by=existing"
    lines[4] += " by=client"
    lines[8] += " by=later"
    orders = order_list(evaluated(tmp_path / "d", rows("p", *lines)))
    assert not {"switch-12-sfp", "os2-12", "1000base-lx10-i"} & {
        line.part for line in orders.lines_by("")
    }
    assert {
        (line.by, line.part): (line.needed, line.spares, line.to_order)
        for line in orders.lines
        if line.by
    } == {
        ("existing", "switch-12-sfp"): (1, 0, 0),
        ("client", "os2-12"): (1805, 0, 0),
        ("client", "plug LC/UPC"): (4, 0, 0),
        ("later", "1000base-lx10-i"): (1, 0, 0),
    }


@pytest.mark.parametrize(
    ("needed", "percent", "spares"),
    [
        (1, 10, 0),
        (4, 10, 0),
        (5, 10, 1),
        (10, 10, 1),
        (14, 10, 1),
        (15, 10, 2),
        (30, 10, 3),
        (3, 0, 0),
        (7, 100, 7),
        (70, 10, 7),
        (1, 200, 0),
        (2, 200, 4),
        (100, 7, 7),
        (29, 100 / 29, 1),
    ],
)
def test_spares_are_rounded_half_up(needed, percent, spares):
    """Half up, none for a single piece; 100 × 7 % is 7.000000000000001 in binary."""
    assert spare_pieces(needed=needed, spare_percent=percent) == spares


def test_extras_are_carried(tmp_path):
    extras = [
        {"site": "crest", "part": "mast-8m", "description": "tubular mast", "count": "1"},
        {"site": "crest", "part": "cabinet-ip66", "count": "2", "unit": "piece"},
        {"site": "crest", "part": "pole-mount", "count": "2", "unit": "piece"},
        {"site": "tower", "part": "pole-mount", "count": "1", "unit": "piece"},
        {"site": "crest", "part": "duct", "description": "duct 40 mm", "count": "120", "unit": "m"},
        {"site": "crest", "part": "earth", "count": "1", "unit": "set", "by": "client"},
    ]
    evaluation = evaluated(tmp_path / "d", rows("p", *LIGHT), extras=extras)
    found = by_part(evaluation)
    assert {part: found[part] for part in ("mast-8m", "cabinet-ip66", "pole-mount", "duct")} == {
        "mast-8m": (1, 0, 1),
        "cabinet-ip66": (2, 0, 2),
        "pole-mount": (3, 0, 3),
        "duct": (120, 0, 120),
    }
    assert line_of(evaluation, "earth").by == "client"


def test_the_sheet_agrees_with_a_second_engine(tmp_path):
    evaluation = evaluated(tmp_path / "d", rows("p", *LIGHT), project={"currency": "EUR"})
    book = Typed(evaluation, *SHEETS)
    assert recalculation.compare(book.data, tolerance=1e-9) == []
    assert book_formulas.unsafe_functions(book.data) == []
    assert book_formulas.empty_references(book.data) == []
    assert book_formulas.blanks(book.data) == []


def test_prices_spares_and_cuts_are_live(tmp_path):
    evaluation = evaluated(tmp_path / "d", rows("p", *LIGHT))
    book = Typed(evaluation, *SHEETS)
    lines = order_list(evaluation).lines_by("")
    place = {line.part: n for n, line in enumerate(lines)}
    run = next(row for row in evaluation.design.segments if row.part == "os2-12")
    cable, pairs = f"order.{place['os2-12']}", f"order.{place['lc-upc']}"
    found = book.typed(
        {
            f"{pairs}.spares": 6,
            row_key(run, "length_m"): 9000.0,
            f"{cable}.s1.price": 0.5,
            f"{pairs}.s1.price": 3.0,
            f"{pairs}.s1.weeks": 4.0,
        }
    )
    assert found[f"{pairs}.ordered"] == 12
    assert found[f"{cable}.needed"] == pytest.approx(9000 * 1.05 + 20)
    assert found[f"{cable}.ordered"] == 10000
    assert found[f"{cable}.pack"].split("  ")[:2] == ["1 × 6000 m", "1 × 4000 m"]
    assert found["order.s1.goods"] == pytest.approx(0.5 * 10000 + 3 * 12)
    goods = [line for line in lines if line.section != "Work on site"]
    assert found["order.s1.goods_open"] == len(goods) - 2
    assert found["order.s1.weeks"] == 4
    assert found["order.cheapest_goods"] == "none is complete yet"


def test_the_cheapest_complete_offer_is_found(tmp_path):
    """Three suppliers: the cheapest lacks a line, the next does not comply, the third wins."""
    evaluation = evaluated(tmp_path / "d", rows("p", *LIGHT))
    book = Typed(evaluation, *SHEETS)
    lines = order_list(evaluation).lines_by("")
    goods = [n for n, line in enumerate(lines) if line.section != "Work on site"]
    assert [line.section for line in lines][len(goods) :] == ["Work on site"] * (
        len(lines) - len(goods)
    )
    typed: dict[str, object] = {"order.s3.name": "Third"}
    for s, price in ((1, 1.0), (2, 2.0), (3, 3.0)):
        typed |= {f"order.{n}.s{s}.price": price for n in goods[(s == 1) :]}
    typed[f"order.{goods[0]}.s2.complies"] = "no"
    found = book.typed(typed)
    assert found["order.cheapest_goods"] == pytest.approx(
        3.0 * sum(lines[n].to_order for n in goods)
    )
    assert found["order.cheapest_goods_name"] == "Third"
    assert found["order.cheapest_works"] == "none is complete yet"


def test_live_cuts_follow_typed_order_lengths(tmp_path):
    evaluation = evaluated(tmp_path / "d", rows("p", *LIGHT))
    book = Typed(evaluation, *SHEETS)
    place = next(
        n for n, line in enumerate(order_list(evaluation).lines_by("")) if line.part == "os2-12"
    )
    found = book.typed({f"run.{place}.size3": 1805.0})
    assert found[f"order.{place}.ordered"] == 1805


def test_csv_is_safe_and_read_by_pandas(tmp_path):
    import pandas

    extras = [
        {"site": "crest", "part": "=1+1", "description": "@sum", "count": "2", "note": "-3 dB"}
    ]
    evaluation = evaluated(tmp_path / "d", rows("p", *LIGHT), extras=extras)
    target = tmp_path / "order.csv"
    write_order_csv(evaluation, target)
    frame = pandas.read_csv(target, keep_default_na=False)
    assert tuple(frame.columns) == COLUMNS
    assert dict(zip(frame["part"], frame["to_order"], strict=True))["os2-12"] == 2000
    bad = ("=", "+", "-", "@", "\t", "\r")
    assert not frame.map(lambda cell: isinstance(cell, str) and cell.startswith(bad)).any(axis=None)
    (extra,) = frame[frame["section"] == "Extras"].to_dict("records")
    assert (extra["part"], extra["description"], extra["note"]) == ("'=1+1", "'@sum", "'-3 dB")
    plain = list(csv.reader(StringIO(order_csv(evaluation))))
    assert all(len(row) == len(COLUMNS) for row in plain)


def test_command_writes_both(tmp_path):
    from typer.testing import CliRunner

    from backhaul.cli import app

    evaluated(tmp_path / "d", rows("p", *LIGHT))
    out, listed = tmp_path / "b.xlsx", tmp_path / "o.csv"
    result = CliRunner().invoke(
        app, ["workbook", str(tmp_path / "d"), "-o", str(out), "--order-csv", str(listed)]
    )
    assert result.exit_code in (0, 1), result.output
    assert out.stat().st_size > 0
    assert b"os2-12" in listed.read_bytes()
