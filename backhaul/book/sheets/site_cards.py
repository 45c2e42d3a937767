"""Site cards: one a site: connect, splice, mount, aim, measure, sign.

Keys, with `n` the place of the card: `card.{n}.anchor`, `card.{n}.verdict`, `card.{n}.design`;
`card.{n}.{key}.{expected|lowest|highest|reading|water_m|by|date|remark|verdict}` of every reading,
`key` being the one that is printed beside it (`budgets.reading_keys`);
`card.{n}.by`, `.date`, `.photos`, `.remarks` of the card as a whole.
"""

from backhaul.book.plan import Plan
from backhaul.book.sheets.site_card import (
    COLUMNS,
    FAILED,
    NO,
    NO_KEY,
    OK,
    OPEN,
    YES,
    YES_KEY,
    Card,
)
from backhaul.book.sheets.site_card_connect import write_connect, write_splices
from backhaul.book.sheets.site_card_drawing import write_drawing
from backhaul.book.sheets.site_card_energy import write_energy
from backhaul.book.sheets.site_card_kit import Item, all_kit, write_equipment, write_kit
from backhaul.book.sheets.site_card_pages import Laid, lay_out, put_cards
from backhaul.book.sheets.site_card_radio import write_setup
from backhaul.book.sheets.site_card_readings import write_how, write_readings
from backhaul.book.sheets.site_card_verdict import rows_here, say_verdict
from backhaul.book.sheets.site_card_water import lay_bands, write_band_tables
from backhaul.book.us_sheet import sheet_of, take_over
from backhaul.budgets.cable_joints import JOINT_SPLICE
from backhaul.budgets.cable_runs import Run, cable_runs
from backhaul.budgets.order_lines import SPLICE
from backhaul.budgets.order_list import order_list
from backhaul.budgets.site_index import SiteIndex
from backhaul.budgets.site_readings import site_readings
from backhaul.checks.safety import CAUTIONS, DEFERS
from backhaul.design.kinds import COPPER, FEED, KINDS
from backhaul.findings import CAUTION
from backhaul.spreadsheet.cells import Calc, Head, Link, Text, ToFill, Verdict
from backhaul.spreadsheet.grid import Sheet

#: Columns of a card's title.
_TITLE = 2


def build(plan: Plan) -> Sheet:
    """The sheet: an overview, then one card a site, each on pages of its own."""
    sheet = sheet_of(
        plan.evaluation.design,
        "Site cards",
        "Site cards",
        COLUMNS,
        subtitle="One card a site. Type readings into the yellow cells: each is judged at once. "
        "Expected figures and limits follow Inputs; tolerances stand there too. A card has a drawing "
        "where that takes no page more; all are on Line drawings. This index does not print.",
    )
    sheet.helper(
        "Answers",
        ("word",),
        ((Text(YES, "helper", key=YES_KEY),), (Text(NO, "helper", key=NO_KEY),)),
    )
    runs = cable_runs(plan.evaluation)
    orders = plan.orders or order_list(plan.evaluation)
    kit = all_kit(plan.evaluation, runs, orders)
    index = SiteIndex(plan.evaluation, runs)
    cards = [
        Card(plan, sheet, number, name, index, site_readings(index, name))
        for number, name in enumerate(_sites(plan, kit))
    ]
    laid: list[Laid] = []
    pages = sheet_of(plan.evaluation.design, sheet.name, "", COLUMNS)
    for card in cards:
        bands = lay_bands(card, sheet)
        card.sheet = pages
        _write(card, kit.get(card.name, []), runs, bands, sheet)
        laid.append(lay_out(pages, card))
    put_cards(pages, laid)
    _overview(sheet, plan, cards)
    shift = len(sheet.rows)
    sheet.first_printed = shift + 1
    sheet.rows.extend(pages.rows)
    take_over(sheet, pages)
    sheet.page_breaks.extend(shift + row for row in pages.page_breaks)
    return sheet


def _sites(plan: Plan, kit: dict[str | None, list[Item]]) -> list[str | None]:
    """Sites in the order of the design; None where something stands at no site."""
    evaluation = plan.evaluation
    names: list[str | None] = list(evaluation.design.sites)
    named = [name for places in evaluation.network.places.values() for name in places]
    found = list(dict.fromkeys([*names, *(name for name in (*named, *kit) if name)]))
    return [*found, None] if None in kit or not found else found


def _overview(sheet: Sheet, plan: Plan, cards: list[Card]) -> None:
    sheet.blank()
    sheet.head(
        Head("Card", span=2),
        Head("Open", "head right"),
        Head("OK", "head right"),
        Head("FAIL", "head right"),
        Head("", span=2),
        Head("Verdict", "head center"),
    )
    for card in cards:
        link = Link(card.title, card.key("anchor"), span=2)
        if not card.verdicts:
            sheet.row(link, Text("nothing to measure", span=6))
            continue
        area = f"{{{card.verdicts[0]}}}:{{{card.verdicts[-1]}}}"
        counts = [
            Calc(
                card.key(name),
                f'COUNTIF({area},"{word}")',
                card.open_now if word == OPEN else 0,
                format="0",
            )
            for name, word in (("open", OPEN), ("ok", OK), ("failed", FAILED))
        ]
        formula = (
            f'IF({{{card.key("failed")}}}>0,"{FAILED}",'
            f'IF({{{card.key("open")}}}>0,"{OPEN}","{OK}"))'
        )
        sheet.row(
            link,
            *counts,
            Text(f"of {len(card.verdicts)} readings", span=2),
            Verdict(OPEN, formula=formula, key=card.key("verdict")),
        )


def _write(card: Card, items: list[Item], runs: list[Run], bands: dict, helpers: Sheet) -> None:
    sheet = card.sheet
    sheet.row(
        Text(f"Site card: {card.title}", "title", _TITLE, key=card.key("anchor")),
        Text(_design_text(card), "card right", len(COLUMNS) - _TITLE),
    )
    say_verdict(card, helpers)
    sheet.row(Text(_place(card), "card text", sheet.width))
    if not (items or card.here.all_equipment or card.here.optics or card.here.ends):
        sheet.row(Text("Nothing of this design stands here.", "card text", sheet.width))
        return
    for text in _cautions(card):
        sheet.row(Text(text, "card caution", sheet.width))
    write_connect(card, runs)
    # on the way of a cable: brought from here, spliced elsewhere
    spliced = (item for item in items if item.unit == SPLICE and item.part != JOINT_SPLICE)
    write_splices(card, sum(item.count for item in spliced))
    write_equipment(card)
    write_energy(card)
    write_kit(card, items)
    write_setup(card)
    write_readings(card, bands)
    _signature(card)
    write_band_tables(card, bands)
    write_how(card)
    if card.name is not None:
        write_drawing(card, card.name, {path for row in rows_here(card) for path in row.path})


def _design_text(card: Card) -> str:
    """By what the card is known: document, revision, date, digest of the design."""
    design = card.evaluation.design
    project = design.project
    words = (
        project.document,
        f"revision {project.revision}" if project.revision else "",
        project.date,
        f"design digest {design.digest}" if design.digest else "",
    )
    return ", ".join(str(word) for word in words if word)


def _place(card: Card) -> str:
    site = card.site
    if site is None:
        return "The design gives no figures of this site."
    words = []
    if site.latitude is not None and site.longitude is not None:
        words.append(f"{site.latitude:.5f}, {site.longitude:.5f} (WGS 84)")
    if site.ground_m is not None:
        words.append(f"ground {site.ground_m:g} m")
    words.append("outdoors" if site.outdoor else "indoors" if site.outdoor is False else "")
    if site.corrosivity:
        words.append(f"corrosivity {site.corrosivity} (ISO 12944-2)")
    if site.ambient_min_c is not None and site.ambient_max_c is not None:
        words.append(f"{site.ambient_min_c:g} to {site.ambient_max_c:g} °C")
        if site.rise_c:
            words.append(f"enclosures {site.rise_c:g} K warmer")
    return ", ".join(word for word in words if word)


def _cautions(card: Card) -> list[str]:
    """Cautions of this site; each defers to local codes and licensed practice."""
    context, here = card.evaluation.context, card.here
    wires = [row for row in here.touching if KINDS[row.kind].medium in (COPPER, FEED)]
    outdoors = bool(card.site and card.site.outdoor)
    area = card.site.hazardous_area if card.site else None
    on = {
        "laser": bool(here.ends) or len(here.touching) > len(wires),
        "height": bool(here.terminals),
        "mains": any(
            "AC" in (equipment.record.supply, getattr(equipment.record, "output", None))
            for equipment in here.all_equipment
        ),
        "lightning": (outdoors and bool(wires or here.terminals))
        or any(context.is_outdoor(row) for row in wires),
        "radio": bool(here.terminals),
        "explosive": bool(area),
    }
    card.cautions = [name for name, applies in on.items() if applies]
    found = []
    if on["explosive"]:
        begins = f"{card.title} is {area}"
        found = [f"{begins}. {CAUTIONS['explosive']} {DEFERS.capitalize()}."]
        found += [
            f"{finding.message}. {(finding.remedy or DEFERS).capitalize()}."
            for finding in card.evaluation.findings
            if finding.severity == CAUTION and finding.message.startswith(f"{begins}: ")
        ]
    usual = [CAUTIONS[name] for name in card.cautions if name != "explosive"]
    if usual:
        found.append(f"{' '.join(usual)} {DEFERS.capitalize()}.")
    return found


def _signature(card: Card) -> None:
    """Who measured and when, photos and who accepts."""
    sheet = card.sheet
    for cells in (
        (("Measured by, signature", "by"), ("Date, weather", "date")),
        (("Photos", "photos"), ("Remarks", "remarks")),
    ):
        (first, key), (second, other) = cells
        sheet.row(
            Text(first, "card strong"),
            ToFill(card.key(key), style="card fill", span=4),
            Text(second, "card strong", 2),
            ToFill(card.key(other), style="card fill", span=5),
        )
