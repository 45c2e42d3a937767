"""Site cards: one a site: kit, radio set-up, power and heat, what to measure, cautions.

Keys, with `n` the place of the card: `card.{n}.anchor`, `card.{n}.verdict`;
`card.{n}.{name}.{expected|lowest|highest|reading|verdict}` of every reading, with `name`
`loss{i}{a|b}` and `light{i}{a|b}` of what arrives at the near (a) or far (b) end of optical link i,
`radio{i}{a|b}`, `radio{i}{a|b}.azimuth`, `.tilt` of a terminal, `line.{n}` (volts), `copper.{i}`,
`run{segment id}` (lengths), `earth`, `faces`, `fixings` (ticks: no limits).
"""

from backhaul.book.plan import Plan
from backhaul.book.sheets.page_flow import Part, flow
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
    Reading,
)
from backhaul.book.sheets.site_card_aim import read_radio
from backhaul.book.sheets.site_card_kit import Item, all_kit, write_kit
from backhaul.book.sheets.site_card_optical import (
    limit_rows,
    read_light,
    write_light_limits,
)
from backhaul.book.sheets.site_card_power import write_power
from backhaul.book.sheets.site_card_radio import write_setup
from backhaul.book.sheets.site_card_wired import read_lengths, read_volts
from backhaul.budgets.cable_runs import cable_runs
from backhaul.budgets.site_index import SiteIndex
from backhaul.checks.safety import CAUTIONS, DEFERS
from backhaul.design.kinds import KINDS
from backhaul.findings import CAUTION, FAIL
from backhaul.path.links import COPPER, FEED
from backhaul.spreadsheet.cells import Calc, Head, Link, Text, ToFill, Verdict
from backhaul.spreadsheet.grid import Row, Sheet
from backhaul.wording import each_once

_READING_HEAD = (
    "What",
    "With what, how",
    Head("Expected", "head right"),
    Head("Lowest", "head right"),
    Head("Highest", "head right"),
    "Unit",
    Head("Reading", "head right"),
    Head("Verdict", "head center"),
)


def build(plan: Plan) -> Sheet:
    """The sheet: an overview, then one card a site, each on pages of its own."""
    sheet = Sheet(
        "Site cards",
        "Site cards",
        COLUMNS,
        subtitle="One card a site. Type readings into the yellow cells: each is judged at once. "
        "Expected figures and limits follow Inputs; tolerances stand there too.",
    )
    sheet.helper(
        "Answers",
        ("word",),
        ((Text(YES, "helper", key=YES_KEY),), (Text(NO, "helper", key=NO_KEY),)),
    )
    runs = cable_runs(plan.evaluation)
    kit = all_kit(plan.evaluation, runs)
    index = SiteIndex(plan.evaluation, runs)
    cards = [
        Card(plan, sheet, number, name, index) for number, name in enumerate(_sites(plan, kit))
    ]
    pages = Sheet(sheet.name, "", COLUMNS)
    for card in cards:
        card.sheet = pages
        first = pages.next_row
        _write(card, kit.get(card.name, []))
        _lay_out(pages, card, first)
    _overview(sheet, plan, cards)
    shift = len(sheet.rows)
    sheet.rows.extend(pages.rows)
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
    if plan.evaluation.verdict == FAIL:
        sheet.row(
            Text(
                "The design has checks that fail: settle them before going out (Open points).",
                "caution",
                sheet.width,
            )
        )
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
                len(card.verdicts) if word == OPEN else 0,
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


def _write(card: Card, items: list[Item]) -> None:
    sheet = card.sheet
    sheet.row(Text(f"Site card: {card.title}", "title", sheet.width, key=card.key("anchor")))
    sheet.row(Text(_place(card), "muted", sheet.width))
    ends, terminals = card.here.ends, card.here.terminals
    if not (items or card.here.all_equipment or card.here.optics or ends):
        sheet.row(Text("Nothing of this design stands here.", span=sheet.width))
        return
    for text in _cautions(card):
        sheet.row(Text(text, "caution", sheet.width))
    instruments = sheet.row()
    write_kit(card, items)
    if terminals:
        write_setup(card, terminals)
        write_power(card)
    limits = limit_rows(card, ends)
    card.section("What to measure", *_READING_HEAD)
    read_light(card, ends, limits)
    read_radio(card, terminals)
    read_volts(card)
    read_lengths(card)
    _ticks(card, bool(ends), bool(terminals))
    _signature(card)
    if not terminals:
        write_power(card)
    write_light_limits(card, limits)
    if card.instruments:
        words = each_once(card.instruments)
        sheet.rows[instruments - 1] = Row(
            (Text(f"To measure with: {words}.", "strong", sheet.width),)
        )


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
    found = [f"{CAUTIONS[name]} {DEFERS.capitalize()}." for name, applies in on.items() if applies]
    if area:
        found[-1] = f"{card.title} is {area}. {found[-1]}"
        begins = f"{card.title} is {area}: "
        found += [
            f"{finding.message}. {(finding.remedy or DEFERS).capitalize()}."
            for finding in card.evaluation.findings
            if finding.severity == CAUTION and finding.message.startswith(begins)
        ]
    return found


def _ticks(card: Card, has_light: bool, has_radio: bool) -> None:
    """What is looked at and answered by yes or no."""
    card.read(
        Reading(
            "earth",
            "Earth bonding done and tested",
            "Protectors, screens, mast, cabinet on one earth; resistance by local codes, tested by a "
            "licensed person",
            is_tick=True,
            instrument="earth tester",
        )
    )
    if has_light:
        card.read(
            Reading(
                "faces",
                "End faces inspected and clean",
                "Microscope, every plug before it is mated (IEC 61300-3-35); the far end dark",
                is_tick=True,
                instrument="fiber microscope and cleaner",
            )
        )
    if has_radio:
        card.read(
            Reading(
                "fixings",
                "Mount and fixings accepted",
                "By the engineer who is responsible for the structure",
                is_tick=True,
            )
        )


def _signature(card: Card) -> None:
    sheet = card.sheet
    sheet.blank()
    card.signature = sheet.next_row - 1
    mirrored = card.evaluation.radio.reflection.mirrored
    if any(mirrored[terminal.link.index] for terminal in card.here.terminals):
        sheet.row(
            "Water level at the readings, m",
            Text("same datum as the design", "text small"),
            ToFill(card.key("water_m"), format="0.00", span=3),
        )
    for label, name in (("Measured by", "by"), ("Date, weather", "date"), ("Remarks", "remarks")):
        sheet.row(label, "", ToFill(card.key(name), span=6))


def _lay_out(pages: Sheet, card: Card, first: int) -> None:
    """Lay the card on pages of its own; each page but the first names the site and its cautions."""
    part, shift = Sheet(pages.name, "", COLUMNS, rows=pages.rows[first - 1 :]), first - 1
    del pages.rows[shift:]
    ends = [*(section.first - 1 for section in card.sections[1:]), shift + len(part.rows)]
    parts = []
    for section, end in zip(card.sections, ends, strict=bool(card.sections)):
        last = min(end, card.signature)
        starts = range(section.head + 2 - shift, last + 1 - shift)
        parts.append(
            Part(section.first - shift, end - shift, (section.head - shift,), starts, section.whole)
        )
    flow(part, parts, [Row((Text(_again(card), "caution", len(COLUMNS)),))])
    pages.page_breaks.extend(shift + row for row in (0, *part.page_breaks))
    pages.rows.extend(part.rows)


def _again(card: Card) -> str:
    """At the head of every page of a card but the first: the site, what to beware of."""
    words = f"Site card, continued: {card.title}."
    if not card.cautions:
        return words
    names = ", ".join(CAUTIONS[name].partition(":")[0].lower() for name in card.cautions)
    return f"{words} Beware of {names}: the cautions on its first page hold. {DEFERS.capitalize()}."
