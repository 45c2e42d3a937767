"""Site cards: kit, power, cautions and words.

Outside references: the conservation of energy; 57 V at most from a PoE source (IEEE 802.3, from
memory). Designs are invented.
"""

from io import BytesIO

import openpyxl
import pytest
import recalculation
from site_card_designs import HOP, LIGHT, SHEETS, WATER, card_words, cards, keys, whole, words
from small_designs import SITES, Typed, evaluated, rows

from backhaul.book.sheets.site_card_kit import all_kit
from backhaul.budgets.cable_runs import cable_runs
from backhaul.budgets.order_list import order_list
from backhaul.checks.safety import CAUTIONS, DEFERS
from backhaul.spreadsheet.cells import Number, Text, Verdict


@pytest.fixture(scope="module")
def reservoir(tmp_path_factory):
    evaluation = whole(tmp_path_factory.mktemp("cards") / "d", project=WATER)
    return evaluation, Typed(evaluation, *SHEETS)


def test_kit_by_hand(reservoir):
    evaluation = reservoir[0]
    kit = all_kit(evaluation, cable_runs(evaluation), order_list(evaluation))
    found = {site: {item.part: item.count for item in items} for site, items in kit.items()}
    # two strands: a pair on each, two splices on each, a plug on each bare strand;
    # a sleeve a splice, a plug on each end of a copper run
    assert found["works"] == {
        "switch-12-sfp": 1,
        "1000base-lx10": 1,
        "cord-os2-lcupc-scapc": 1,
        "sc-apc": 2,
        "os2-12": 1,
        "plug SC/APC": 2,
    }
    assert found["crest"] == {
        "switch-out-4-1g-poe-dc-120": 1,
        "supply-48v-300w-battery-out": 1,
        "1000base-lx10-i": 1,
        "cord-os2-lcupc-scapc": 1,
        "sc-apc": 2,
        "fusion-splice": 4,
        "sleeve-splice-60mm": 4,
        "plug-rj45-cat6a-s": 1,
        "plug SC/APC": 2,
        "os2-12": 0,
        "radio-5ghz-he-int": 1,
        "protector-copper-1g-out": 1,
        "cat6a-s-out": 1,
        "2.5mm2-out": 1,
    }
    assert sum(item.count for item in kit["crest"] if item.part == "protector-copper-1g-out") == 2
    assert found["tower"] == {
        "radio-5ghz-he-int": 1,
        "camera-class3": 1,
        "cat6a-s-out": 1,
        "plug-rj45-cat6a-s": 1,
    }


def test_extras_are_brought_to_their_site(tmp_path):
    extras = [{"site": "crest", "part": "pole-mount", "description": "60 mm", "count": "2"}]
    book = Typed(whole(tmp_path / "d", extras=extras), *SHEETS).book
    assert "pole-mount" in card_words(book, "crest")
    assert "pole-mount" not in card_words(book, "tower")


def test_energy_is_kept(reservoir):
    """What is taken from the mains is the heat of all sites, what the lines lose and batteries store."""
    evaluation, book = reservoir
    found = book.typed({})
    heat = sum(found[f"site.{site}.heat_w"] for site in ("works", "crest", "tower"))
    lost = sum(line.values["line_loss_w"] for line in evaluation.power.lines)
    fed = {load.key for line in evaluation.power.lines for load in line.equipment}
    from_elsewhere = sum(
        equipment.record.watts
        for equipment in evaluation.network.all_equipment.values()
        if equipment.record.supply == "PoE" and equipment.key not in fed
    )
    taken = found["site.works.mains_w"] + found["site.crest.mains_w"]
    stored = sum(
        equipment.record.charge_w or 0.0
        for equipment in evaluation.network.all_equipment.values()
        if hasattr(equipment.record, "charge_w")
    )
    assert taken + from_elsewhere == pytest.approx(heat + lost + stored)


def test_level_over_water_says_where_it_holds(reservoir):
    evaluation, book = reservoir
    text = next(text for text in words(book.book) if "over water the level moves" in text)
    loss = float(evaluation.radio.reflection.loss_db[0])
    assert f"-{loss:.1f} to at most +6.0 dB between 96 and 104 m" in text
    assert sum("over water the level moves" in text for text in words(book.book)) == 2


def test_dry_hops_say_nothing_of_water(tmp_path):
    book = Typed(whole(tmp_path / "d"), *SHEETS)
    assert not any("level moves" in text for text in words(book.book))
    found = book.typed({})
    middle = found["card.1.h1.level.near.expected"]
    assert found["card.1.h1.level.near.lowest"] == pytest.approx(middle - 3.0)
    assert found["card.1.h1.level.near.highest"] == pytest.approx(middle + 3.0)


def test_cautions_belong_to_the_site(reservoir):
    book = reservoir[1].book
    wanted = {
        "works": ("laser", "mains"),
        "crest": ("laser", "height", "mains", "lightning", "radio"),
        "tower": ("height", "lightning", "radio"),
    }
    for site, names in wanted.items():
        said = card_words(book, site)
        assert [name for name, text in CAUTIONS.items() if text in said] == list(names)
    for row in cards(book).rows:
        for cell in row.cells:
            if isinstance(cell, Text) and cell.style == "card caution" and cell.text.endswith("."):
                about = any(text in cell.text for text in CAUTIONS.values())
                assert not about or cell.text.lower().endswith(f"{DEFERS}.")


def test_explosive_air_names_its_zone(tmp_path):
    sites = [dict(site) for site in SITES]
    sites[2]["hazardous_area"] = "zone 2 IIB T4"
    book = Typed(whole(tmp_path / "d", sites=sites), *SHEETS).book
    said = card_words(book, "tower")
    assert "tower is zone 2 IIB T4. " + CAUTIONS["explosive"] in said
    assert "threshold of 3.5 W" in said  # IEC 60079-0:2017 Table 5, group IIB
    assert CAUTIONS["explosive"] not in card_words(book, "crest")


def test_a_site_without_anything_has_a_short_card(tmp_path):
    sites = [*SITES, {"site": "spare"}]
    book = Typed(whole(tmp_path / "d", sites=sites), *SHEETS)
    said = card_words(book.book, "spare")
    assert "Nothing of this design stands here." in said and "measure" not in said
    assert recalculation.compare(book.data) == []


def test_a_design_without_sites_has_one_card(tmp_path):
    lines = [
        " ".join(word for word in line.split() if not word.startswith(("site=", "to_site=")))
        for line in (*LIGHT, *HOP[:2])
    ]
    lines.append("device camera-class3")
    book = Typed(
        evaluated(tmp_path / "d", rows("p", *lines), sites=[{"site": "elsewhere"}]), *SHEETS
    )
    assert "switch-12-sfp" in card_words(book.book, "no site given")
    assert recalculation.compare(book.data) == []
    assert sum(key.endswith(".loss.reading") for key in keys(book.book)) == 2


def test_user_text_is_never_a_formula(tmp_path):
    sites = [{**site, "site": site["site"].replace("works", "=1+1")} for site in SITES]
    segments = rows("p", *LIGHT, *HOP)
    for row in segments:
        for name in ("site", "label"):
            row[name] = row.get(name, "").replace("works", "=1+1").replace("SW1", "+SW1")
    data = Typed(evaluated(tmp_path / "d", segments, sites=sites), *SHEETS).data
    sheet = openpyxl.load_workbook(BytesIO(data))["Site cards"]
    cells = [cell for row in sheet.iter_rows() for cell in row]
    texts = [cell for cell in cells if str(cell.value).startswith("=1+1")]
    assert texts and all(cell.data_type == "s" and cell.quotePrefix for cell in texts)
    assert recalculation.compare(data) == []


def test_verdicts_are_live_and_figures_not_typed(reservoir):
    """Every verdict is a formula; expected figures and limits are formulas, not values."""
    for row in cards(reservoir[1].book).rows:
        for cell in row.cells:
            if isinstance(cell, Verdict):
                assert cell.formula
            if getattr(cell, "key", "").endswith((".expected", ".lowest", ".highest")):
                assert not isinstance(cell, Number), cell.key


def test_each_end_reads_what_the_other_sends(tmp_path):
    """Unlike radios and unlike optics: the card of an end shows the direction that arrives."""
    lines = [
        line.replace("1000base-lx10-i", "1000base-bx10-u-i")
        .replace("1000base-lx10", "1000base-bx10-d")
        .replace("strand=1/2", "strand=1")
        for line in LIGHT
    ]
    hop = [
        line.replace("tx_power_dbm=5", "to_part=radio-5ghz-vht-int").replace(
            "channel_mhz=40", "channel_mhz=20"
        )
        for line in HOP
    ]
    evaluation = evaluated(tmp_path / "d", rows("p", *lines, *hop))
    book = Typed(evaluation, *SHEETS)
    found, radio, light = book.typed({}), evaluation.radio.values, evaluation.optical.values
    assert radio["received_dbm"][0] != radio["received_dbm"][1]
    assert found["card.1.h1.level.near.expected"] == pytest.approx(radio["received_dbm"][1])
    assert found["card.2.h1.level.far.expected"] == pytest.approx(radio["received_dbm"][0])
    assert found["card.1.p.9.loss.expected"] == pytest.approx(light["mean_db"][0])
    assert found["card.0.p.2.loss.expected"] == pytest.approx(light["mean_db"][1])
    assert "from works, 1490 nm" in card_words(book.book, "crest")
    assert "from crest, 1310 nm" in card_words(book.book, "works")
