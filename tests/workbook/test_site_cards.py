"""Site cards: readings judged at once, limits by hand, every reading once, energy kept.

Outside references: the loss limit of TIA-568.3-D and ISO/IEC 14763-3 (0.75 dB a pair, 0.30 dB a
splice, 0.50 dB for the single-mode pairs at the test cords, as quoted in trade guidance), worked by
hand below; 57 V at most from a PoE source (IEEE 802.3, from memory); the conservation of energy.
Designs are invented.
"""

from io import BytesIO
from pathlib import Path

import openpyxl
import pytest
import recalculation
from small_designs import SITES, Typed, evaluated, rows

import backhaul.api
from backhaul.workbook.givens import row_key
from backhaul.checks.safety import CAUTIONS, DEFERS
from backhaul.workbook.cells import Number, Text, Verdict
from backhaul.workbook.sheets.cable_runs import cable_runs
from backhaul.workbook.sheets.site_card import (
    at_least_verdict,
    at_most_verdict,
    bearing_verdict,
    between_verdict,
    tick_verdict,
)
from backhaul.workbook.sheets.site_card_kit import all_kit

DEMO = Path(__file__).parents[2] / "demo"
DEMOS = ("reservoir", "estuary")
SHEETS = ("light", "air", "copper_and_supply", "cables_and_strands", "site_cards", "givens")
LIGHT = (
    "device switch-12-sfp site=works label=SW1",
    "optic 1000base-lx10 site=works",
    "fiber cord-os2-lcupc-scapc site=works length_m=5",
    "connector sc-apc",
    "fiber os2-12 site=works to_site=crest length_m=1700 strand=1/2 label=C1",
    "splice fusion-splice count=2",
    "connector sc-apc",
    "fiber cord-os2-lcupc-scapc site=crest length_m=5",
    "optic 1000base-lx10-i site=crest",
    "device switch-out-4-1g-poe-dc-120 site=crest label=SW2",
)
HOP = (
    "protector protector-copper-1g-out site=crest",
    "copper cat6a-s-out site=crest length_m=25",
    "protector protector-copper-1g-out site=crest",
    "radio radio-5ghz-he-int site=crest to_site=tower label=H1 height_m=6 to_height_m=8 "
    "frequency_ghz=5.6 channel_mhz=40 polarization=VH tx_power_dbm=5",
    "copper cat6a-s-out site=tower length_m=8",
    "device camera-class3 site=tower",
)
POWER = (
    "device supply-48v-300w-battery-out site=crest label=PS1",
    "feed 2.5mm2-out site=crest length_m=60",
    "device switch-out-4-1g-poe-dc-120 site=crest label=SW2",
)
WATER = {"water_low_m": "96", "water_high_m": "104", "water": "fresh"}


def whole(folder: Path, **settings):
    """Works to crest to tower, with its supply."""
    segments = rows("p", *LIGHT, *HOP) + rows("s", *POWER)
    return evaluated(folder, segments, **settings)


@pytest.fixture(scope="module")
def reservoir(tmp_path_factory):
    evaluation = whole(tmp_path_factory.mktemp("cards") / "d", project=WATER)
    return evaluation, Typed(evaluation, *SHEETS)


def demo(name: str):
    return backhaul.api.evaluate(backhaul.api.read_design(DEMO / name))


def cards(book):
    return next(sheet for sheet in book.sheets if sheet.name == "Site cards")


def keys(book) -> list[str]:
    return [cell.key for row in cards(book).rows for cell in row.cells if getattr(cell, "key", "")]


def words(book) -> list[str]:
    return [cell if isinstance(cell, str) else cell.text for row in cards(book).rows
            for cell in row.cells if isinstance(cell, str | Text)]  # fmt: skip


def card_words(book, site: str) -> str:
    """All words of one card."""
    texts, inside = [], False
    for row in cards(book).rows:
        for cell in row.cells:
            text = cell if isinstance(cell, str) else getattr(cell, "text", "")
            if text.startswith("Site card: "):
                inside = text == f"Site card: {site}"
            if inside and text:
                texts.append(text)
    return "\n".join(texts)


@pytest.mark.parametrize("name", DEMOS)
def test_agrees_with_a_second_engine(name):
    data = Typed(demo(name), *SHEETS).data
    assert recalculation.compare(data) == []
    assert recalculation.empty_references(data) == []
    assert recalculation.unsafe_functions(data) == []


def test_agrees_where_other_sheets_are_missing(reservoir):
    """A card stands without the sheets that it refers to: its figures are values then."""
    evaluation, full = reservoir
    alone = Typed(evaluation, "site_cards", "givens")
    assert recalculation.compare(alone.data) == []
    cells = [{cell.key: cell.value for row in cards(book.book).rows for cell in row.cells
              if hasattr(cell, "value") and getattr(cell, "key", "")}
             for book in (alone, full)]  # fmt: skip
    assert cells[0].keys() == cells[1].keys()
    for key, value in cells[0].items():
        assert cells[1][key] == (value if isinstance(value, str) else pytest.approx(value)), key


# --- verdicts of readings -------------------------------------------------------------------

READINGS = [
    ("loss0b", 1.5, "OK"), ("loss0b", 3.784, "OK"), ("loss0b", 3.79, "FAIL"),
    ("loss0b", 0.1, "FAIL"),
    ("radio0a", -54.0, "OK"), ("radio0a", -20.0, "FAIL"), ("radio0a", -95.0, "FAIL"),
    ("line.0", 50.0, "OK"), ("line.0", 57.0, "OK"), ("line.0", 57.1, "FAIL"),
    ("line.0", 20.0, "FAIL"),
    ("copper.0", 25.0, "OK"), ("copper.0", 100.5, "FAIL"),
    ("earth", "yes", "OK"), ("earth", "no", "FAIL"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "reading", "wanted"), READINGS)
def test_a_typed_reading_is_judged(reservoir, name, reading, wanted):
    book = reservoir[1]
    key = f"card.1.{name}"
    found = book.typed({f"{key}.reading": reading})
    assert found[f"{key}.verdict"] == wanted
    others = [each for each in keys(book.book)
              if each.endswith(".verdict") and each.count(".") > 2 and each != f"{key}.verdict"]
    assert {found[each] for each in others} == {"open"}
    assert found["card.1.verdict"] == ("FAIL" if wanted == "FAIL" else "open")


def test_the_overview_counts(reservoir):
    book = reservoir[1]
    ticks = {f"card.2.{name}.reading": answer for name, answer in
             (("earth", "yes"), ("fixings", "no"))}  # fmt: skip
    found = book.typed(ticks)
    assert (found["card.2.ok"], found["card.2.failed"]) == (1, 1)
    total = sum(key.startswith("card.2.") and key.endswith(".reading") for key in keys(book.book))
    assert found["card.2.open"] == total - 2


def test_a_card_is_ok_when_all_is_read(reservoir):
    book = reservoir[1]
    names = [key[: -len(".reading")] for key in keys(book.book)
             if key.startswith("card.2.") and key.endswith(".reading")]  # fmt: skip
    values = {}
    for sheet_row in cards(book.book).rows:
        for cell in sheet_row.cells:
            key = getattr(cell, "key", "")
            if key.endswith(".expected") and key[: -len(".expected")] in names:
                values[f"{key[: -len('.expected')]}.reading"] = cell.value
    values |= {f"{name}.reading": "yes" for name in names if f"{name}.reading" not in values
               and name.split(".")[-1] in ("earth", "fixings")}
    values |= {f"{name}.reading": 8.0 for name in names if name.split(".", 2)[2] == "copper.1"}
    found = book.typed(values)
    assert [name for name in names if found[f"{name}.verdict"] != "OK"] == []
    assert found["card.2.verdict"] == "OK"


@pytest.mark.parametrize(("reading", "wanted"), [
    (359.5, "OK"), (0.0, "OK"), (2.0, "OK"), (358.0, "OK"), (2.1, "FAIL"), (357.9, "FAIL"),
    (180.0, "FAIL"), (-1.0, "OK"), (361.0, "OK"),
])  # fmt: skip
def test_a_bearing_goes_through_north(reading, wanted):
    assert str(bearing_verdict(reading=reading, lowest=358.0, highest=2.0)) == wanted


@pytest.mark.parametrize(("formula", "limits", "inside", "outside"), [
    (between_verdict, {"lowest": -3.0, "highest": 2.0}, (-3.0, 2.0, 0.0), (-3.1, 2.1)),
    (at_least_verdict, {"lowest": 42.5}, (42.5, 50.0), (42.4,)),
    (at_most_verdict, {"highest": 90.0}, (90.0, 3.0), (90.1,)),
])  # fmt: skip
def test_limits_belong_to_what_is_accepted(formula, limits, inside, outside):
    assert {str(formula(reading=reading, **limits)) for reading in inside} == {"OK"}
    assert {str(formula(reading=reading, **limits)) for reading in outside} == {"FAIL"}


def test_sums_of_tenths_do_not_fail():
    assert str(at_least_verdict(reading=0.3 - 0.1 - 0.2, lowest=0.0)) == "OK"
    assert str(tick_verdict(reading="perhaps")) == "FAIL"


# --- limits -----------------------------------------------------------------------------------

# 1.71 km at 0.4 dB/km, two pairs at the test cords, two pairs and two splices between
LIMIT_DB = 1.71 * 0.4 + 2 * 0.50 + 2 * 0.75 + 2 * 0.30


def test_the_loss_limit_by_hand(reservoir):
    found = reservoir[1].typed({})
    assert found["card.1.loss0b.limit_db"] == pytest.approx(LIMIT_DB)
    assert found["card.1.loss0b.highest"] == pytest.approx(LIMIT_DB)
    assert found["card.0.loss0a.highest"] == pytest.approx(LIMIT_DB)


def test_limits_follow_the_givens(reservoir):
    evaluation, book = reservoir
    cable = next(run.row for run in cable_runs(evaluation) if run.row.label == "C1")
    found = book.typed({row_key(cable, "length_m"): 2700,
                        "given.rule.end_pair_db.single": 0.75,
                        "given.rule.level_tolerance_db": 5.0})  # fmt: skip
    assert found["card.1.loss0b.highest"] == pytest.approx(LIMIT_DB + 0.4 + 0.5)
    now = book.typed({})
    assert found["card.1.radio0a.highest"] == pytest.approx(now["card.1.radio0a.highest"] + 2.0)
    assert found["card.1.radio0a.lowest"] == pytest.approx(now["card.1.radio0a.lowest"] - 2.0)


def test_what_the_budget_cannot_bear_is_not_accepted(tmp_path):
    """Where the margin runs out before the standard's limit, the budget's limit stands."""
    lines = [line.replace("length_m=1700", "length_m=9900") for line in LIGHT]
    evaluation = evaluated(tmp_path / "d", rows("p", *lines))
    found = Typed(evaluation, *SHEETS).typed({})
    values = evaluation.optical.values
    bears = float(values["loss_max_db"][0] + values["margin_db"][0])
    assert bears < found["card.1.loss0b.limit_db"]
    assert found["card.1.loss0b.highest"] == pytest.approx(bears)


def test_light_at_a_receiver_is_never_allowed_to_overload(tmp_path):
    lines = [line.replace("1000base-lx10-i", "1000base-zx").replace("1000base-lx10", "1000base-zx")
             for line in LIGHT]  # fmt: skip
    evaluation = evaluated(tmp_path / "d", rows("p", *lines))
    found = Typed(evaluation, *SHEETS).typed({})
    overload = evaluation.catalog.optics["1000base-zx"].overload_dbm
    assert float(evaluation.optical.values["received_max_dbm"][0]) > overload
    assert found["card.1.light0b.highest"] == pytest.approx(overload)


# --- everything once --------------------------------------------------------------------------

@pytest.mark.parametrize("name", DEMOS)
def test_every_reading_stands_once(name):
    """Both directions of every fiber link, both ends of every hop, every load of a line."""
    evaluation = demo(name)
    found = [key.split(".", 2)[2] for key in keys(Typed(evaluation, *SHEETS).book)
             if key.endswith(".reading")]  # fmt: skip
    links = evaluation.network.links
    for kind, count in (("loss", 2 * len(links["optical"])), ("light", 2 * len(links["optical"]))):
        mine = [each for each in found if each.startswith(kind)]
        assert len(mine) == len(set(mine)) == count
    radios = [each for each in found if each.startswith("radio") and each.count(".") == 1]
    assert len(radios) == len(set(radios)) == 2 * len(links["radio"])
    lines = [each for each in found if each.startswith("line.")]
    at_sites = [(n, site) for n, line in enumerate(evaluation.power.lines)
                for site in {load.site for load in line.loads}]  # fmt: skip
    assert len(lines) == len(at_sites)
    assert len([each for each in found if each.startswith("copper.")]) == len(links["copper"])


@pytest.mark.parametrize("name", DEMOS)
def test_one_card_a_site(name):
    evaluation = demo(name)
    titles = [text for text in words(Typed(evaluation, *SHEETS).book)
              if text.startswith("Site card: ")]  # fmt: skip
    assert titles == [f"Site card: {site}" for site in evaluation.design.sites]


@pytest.mark.parametrize("name", DEMOS)
def test_each_card_begins_a_page(name):
    sheet = cards(Typed(demo(name), *SHEETS).book)
    starts = [number for number, row in enumerate(sheet.rows, 1) for cell in row.cells
              if getattr(cell, "text", "").startswith("Site card: ")]  # fmt: skip
    assert {start - 1 for start in starts} <= set(sheet.page_breaks)


@pytest.mark.parametrize("name", DEMOS)
def test_each_page_of_a_card_names_the_site_and_defers(name):
    sheet, site = cards(Typed(demo(name), *SHEETS).book), ""
    assert sheet.page_breaks
    for number in sorted(sheet.page_breaks):
        text = sheet.rows[number].cells[0].text
        if text.startswith("Site card: "):
            site = text.partition(": ")[2]
        else:
            assert text.startswith(f"Site card, continued: {site}.")
            assert DEFERS.capitalize() in text


# --- kit, power, words ------------------------------------------------------------------------

def test_kit_by_hand(reservoir):
    evaluation = reservoir[0]
    kit = all_kit(evaluation, cable_runs(evaluation))
    found = {site: {item.part: item.count for item in items} for site, items in kit.items()}
    # two strands: a pair on each, two splices on each, a plug on each bare strand
    assert found["works"] == {
        "switch-12-sfp": 1, "1000base-lx10": 1, "cord-os2-lcupc-scapc": 1, "sc-apc": 2,
        "os2-12": 1, "plug SC/APC": 2,
    }  # fmt: skip
    assert found["crest"] == {
        "switch-out-4-1g-poe-dc-120": 1, "supply-48v-300w-battery-out": 1, "1000base-lx10-i": 1,
        "cord-os2-lcupc-scapc": 1, "sc-apc": 2, "fusion-splice": 4, "plug SC/APC": 2, "os2-12": 0,
        "radio-5ghz-he-int": 1, "protector-copper-1g-out": 1, "cat6a-s-out": 1, "2.5mm2-out": 1,
    }  # fmt: skip
    assert sum(item.count for item in kit["crest"] if item.part == "protector-copper-1g-out") == 2
    assert found["tower"] == {"radio-5ghz-he-int": 1, "camera-class3": 1, "cat6a-s-out": 1}


def test_extras_are_brought_to_their_site(tmp_path):
    extras = [{"site": "crest", "part": "pole-mount", "description": "60 mm", "count": "2"}]
    book = Typed(whole(tmp_path / "d", extras=extras), *SHEETS).book
    assert "pole-mount" in card_words(book, "crest")
    assert "pole-mount" not in card_words(book, "tower")


def test_energy_is_kept(reservoir):
    """What is taken from the mains is the heat of all sites and what the lines lose."""
    evaluation, book = reservoir
    found = book.typed({})
    optics = sum(evaluation.catalog.optics[part].watts
                 for part in ("1000base-lx10", "1000base-lx10-i"))  # fmt: skip
    heat = sum(found[f"card.{n}.heat_w"] for n in range(3)) - optics
    lost = sum(line.values["line_loss_w"] for line in evaluation.power.lines)
    fed = {load.key for line in evaluation.power.lines for load in line.loads}
    from_elsewhere = sum(thing.record.watts for thing in evaluation.network.things.values()
                         if thing.record.supply == "PoE" and thing.key not in fed)  # fmt: skip
    taken = found["card.0.mains_w"] + found["card.1.mains_w"]
    assert taken + from_elsewhere == pytest.approx(heat + lost)


def test_level_over_water_says_where_it_holds(reservoir):
    evaluation, book = reservoir
    text = next(text for text in words(book.book) if "expected without the mirror" in text)
    loss = float(evaluation.radio.mirror.loss_db[0])
    assert f"-{loss:.1f} to at most +6.0 dB between 96 and 104 m" in text
    assert sum("expected without the mirror" in text for text in words(book.book)) == 2


def test_dry_hops_say_nothing_of_water(tmp_path):
    book = Typed(whole(tmp_path / "d"), *SHEETS)
    assert not any("mirror" in text and "moves" in text for text in words(book.book))
    found = book.typed({})
    middle = found["card.1.radio0a.expected"]
    assert found["card.1.radio0a.lowest"] == pytest.approx(middle - 3.0)
    assert found["card.1.radio0a.highest"] == pytest.approx(middle + 3.0)


def test_cautions_belong_to_the_site(reservoir):
    book = reservoir[1].book
    wanted = {"works": ("laser", "mains"),
              "crest": ("laser", "height", "mains", "lightning", "radio"),
              "tower": ("height", "lightning", "radio")}  # fmt: skip
    for site, names in wanted.items():
        said = card_words(book, site)
        assert [name for name, text in CAUTIONS.items() if text in said] == list(names)
    for row in cards(book).rows:
        for cell in row.cells:
            if isinstance(cell, Text) and cell.style == "caution" and cell.text.endswith("."):
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
    lines = [" ".join(word for word in line.split() if not word.startswith(("site=", "to_site=")))
             for line in (*LIGHT, *HOP[:2])]  # fmt: skip
    lines.append("device camera-class3")
    book = Typed(evaluated(tmp_path / "d", rows("p", *lines), sites=[{"site": "elsewhere"}]),
                 *SHEETS)  # fmt: skip
    assert "switch-12-sfp" in card_words(book.book, "no site given")
    assert recalculation.compare(book.data) == []
    assert sum(key.endswith(".reading") and ".loss" in key for key in keys(book.book)) == 2


def test_user_text_is_never_a_formula(tmp_path):
    sites = [{**site, "site": site["site"].replace("works", "=1+1")} for site in SITES]
    segments = rows("p", *LIGHT, *HOP)
    for row in segments:
        for name in ("site", "label"):
            row[name] = row.get(name, "").replace("works", "=1+1").replace("SW1", "+SW1")
    data = Typed(evaluated(tmp_path / "d", segments, sites=sites), *SHEETS).data
    sheet = openpyxl.load_workbook(BytesIO(data))["Site cards"]
    texts = [cell for row in sheet.iter_rows() for cell in row if str(cell.value).startswith("=1+1")]
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
    lines = [line.replace("1000base-lx10-i", "1000base-bx10-u-i")
             .replace("1000base-lx10", "1000base-bx10-d").replace("strand=1/2", "strand=1")
             for line in LIGHT]  # fmt: skip
    hop = [line.replace("tx_power_dbm=5", "to_part=radio-5ghz-vht-int").replace(
        "channel_mhz=40", "channel_mhz=20") for line in HOP]  # fmt: skip
    evaluation = evaluated(tmp_path / "d", rows("p", *lines, *hop))
    book = Typed(evaluation, *SHEETS)
    found, radio, light = book.typed({}), evaluation.radio.values, evaluation.optical.values
    assert radio["received_dbm"][0] != radio["received_dbm"][1]
    assert found["card.1.radio0a.expected"] == pytest.approx(radio["received_dbm"][1])
    assert found["card.2.radio0b.expected"] == pytest.approx(radio["received_dbm"][0])
    assert found["card.1.loss0b.expected"] == pytest.approx(light["mean_db"][0])
    assert found["card.0.loss0a.expected"] == pytest.approx(light["mean_db"][1])
    assert "from works, 1490 nm" in card_words(book.book, "crest")
    assert "from crest, 1310 nm" in card_words(book.book, "works")
