"""Site cards: one a site: connect, splice, mount, aim, measure, sign.

Keys, with `n` the place of the card: `card.{n}.anchor`, `card.{n}.verdict`, `card.{n}.design`;
`card.{n}.{key}.{expected|lowest|highest|reading|water_m|by|date|remark|verdict}` of every reading,
`key` being the one that is printed beside it (`budgets.reading_keys`);
`card.{n}.by`, `.date`, `.photos`, `.remarks` of the card as a whole.
"""

from backhaul.book.plan import Plan
from backhaul.book.sheets.page_fit import row_heights_pt
from backhaul.book.sheets.page_flow import Part, flow
from backhaul.book.sheets.site_card import (
    COLUMNS,
    FAILED,
    HEADING_PT,
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
from backhaul.book.sheets.site_card_radio import write_setup
from backhaul.book.sheets.site_card_readings import MEASURE, write_how, write_readings
from backhaul.book.sheets.site_card_verdict import rows_here, say_verdict
from backhaul.book.sheets.site_card_water import lay_bands, write_band_tables
from backhaul.book.us_sheet import sheet_of, take_over
from backhaul.budgets.cable_runs import Run, cable_runs
from backhaul.budgets.order_lines import SPLICE
from backhaul.budgets.order_list import order_list
from backhaul.budgets.site_index import SiteIndex
from backhaul.budgets.site_readings import site_readings
from backhaul.checks.groups import few
from backhaul.checks.safety import CAUTIONS, DEFERS
from backhaul.design.kinds import COPPER, FEED, KINDS
from backhaul.findings import CAUTION
from backhaul.spreadsheet.cells import Calc, Head, Link, Text, ToFill, Verdict
from backhaul.spreadsheet.grid import Row, Sheet

#: Columns of a card's title.
_TITLE = 2
#: Share of a page up to which a table of a card is not parted, where that takes no page more.
_KEPT = 0.8
#: Height of a row of one line of ten points.
_LINE_PT = 12.4
_HOW = "how each is read"
_ONE_LINE_PT = 15.0


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
    apart: list[tuple[str, Row]] = []
    pages = sheet_of(plan.evaluation.design, sheet.name, "", COLUMNS)
    for card in cards:
        bands = lay_bands(card, sheet)
        card.sheet = pages
        first = pages.next_row
        _write(card, kit.get(card.name, []), runs, bands, sheet)
        _lay_out(pages, card, first, apart)
    _write_apart(pages, apart)
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
    write_splices(card, sum(item.count for item in items if item.unit == SPLICE))
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


def _lay_out(pages: Sheet, card: Card, first: int, apart: list[tuple[str, Row]]) -> None:
    """Lay the card on pages of its own; each page but the first names the site and its cautions.

    A table is parted only where that saves a page. The drawing is left out where it takes one more;
    how readings are taken, too, and stands in `apart`.
    """
    shift = first - 1
    rows = [_thin(row) for row in pages.rows[shift:]]
    del pages.rows[shift:]
    part = _fewest(pages.name, card, rows, shift)
    if card.drawing_row:
        card.sections.pop()
        drawing = card.drawing_row - first
        told = Row((Text(_drawn_elsewhere(card), "card text", len(COLUMNS)),), _LINE_PT)
        bare = _fewest(pages.name, card, rows[:drawing], shift)
        tries = (
            part,
            _fewest(pages.name, card, [*rows[:drawing], *rows[drawing + 1 :]], shift),
            _fewest(pages.name, card, [*rows[:drawing], told], shift),
            bare,
        )
        part = next(one for one in tries if len(one.page_breaks) <= len(bare.page_breaks))
    if card.how_row and part.page_breaks:
        how = card.how_row - first
        without = _fewest(pages.name, card, [*map(_pointing, rows[:how])], shift)
        if len(without.page_breaks) < len(part.page_breaks):
            part = without
            apart.append((card.title, rows[how]))
    pages.page_breaks.extend(shift + row for row in (0, *part.page_breaks))
    pages.rows.extend(part.rows)


def _drawn_elsewhere(card: Card) -> str:
    """Where the drawing of a site stands whose card has no room for it."""
    paths = {path for row in rows_here(card) for path in row.path}
    return f"Drawing: Line drawings, {few(path for path in card.evaluation.network.chains if path in paths)}."


def _pointing(row: Row) -> Row:
    """The heading of the readings says where it is told how they are taken."""
    first = row.cells[0] if row.cells else None
    if not isinstance(first, Text) or (first.text, first.style) != (MEASURE, "heading"):
        return row
    return row._replace(cells=(first._replace(text=f"{MEASURE}: {_HOW}, last page of the cards"),))


def _write_apart(pages: Sheet, apart: list[tuple[str, Row]]) -> None:
    """How readings are taken, of the cards that have no room for it."""
    if not apart:
        return
    pages.page_breaks.append(len(pages.rows))
    pages.rows.append(Row((Text(f"Site cards: {_HOW}", "title", len(COLUMNS)),)))
    for title, row in apart:
        pages.rows.append(Row((Text(title, "heading", len(COLUMNS)),), HEADING_PT))
        pages.rows.append(row)
    pages.rows.append(Row((Text(f"{DEFERS.capitalize()}.", "card caution", len(COLUMNS)),)))


def _fewest(name: str, card: Card, rows: list[Row], shift: int) -> Sheet:
    laid = [_flowed(name, card, rows, shift, keep) for keep in (_KEPT, 0.0)]
    return min(laid, key=lambda sheet: len(sheet.page_breaks))


def _thin(row: Row) -> Row:
    """A row of one line takes no more than it needs."""
    if row.height is not None or any("title" in getattr(cell, "style", "") for cell in row.cells):
        return row
    [height] = row_heights_pt(Sheet("", "", COLUMNS), [row])
    return row if height > _ONE_LINE_PT else row._replace(height=_LINE_PT)


def _flowed(name: str, card: Card, rows: list[Row], shift: int, keep: float) -> Sheet:
    part = Sheet(name, "", COLUMNS, rows=list(rows))
    ends = [*(section.first - 1 for section in card.sections[1:]), shift + len(rows)]
    laid = []
    for section, end in zip(card.sections, ends, strict=bool(card.sections)):
        starts = range(section.head + 2 - shift, end + 1 - shift)
        head = [section.head - shift] if section.has_head else []
        laid.append(
            Part(section.first - shift, end - shift, head, starts, section.whole and keep > 0, keep)
        )
    flow(part, laid, [Row((Text(_again(card), "card caution", len(COLUMNS)),))])
    return part


def _again(card: Card) -> str:
    """At the head of every page of a card but the first: the site, what to beware of."""
    words = f"Site card, continued: {card.title}."
    if not card.cautions:
        return words
    return f"{words} The cautions on its first page hold. {DEFERS.capitalize()}."
