"""Optical links: every optical link in both directions, line by line, live.

Keys, with `i` the place of the link in `evaluation.optical.links`, `a` towards its far end, `b`
back: `light.{i}.anchor`, `.sections`, `.stated`, `.verdict`, `.rate_mbps`; `light.{i}.{a|b}.{term}` for every
term of `figures.optical_terms.DIRECTION_TERMS`, and `.{margin|overload|dispersion}_verdict`;
`light.{i}.{a|b}.row{segment id}.{term}` for the terms of `RUN_TERMS` or `JOINT_TERMS` in the table.
A figure that cannot be had is a text cell under the same key.
"""

from collections.abc import Iterator

from backhaul.book.formula_cells import verdict_cell, worst_cell
from backhaul.book.optical_keys import judged_figures
from backhaul.book.plan import Figure, MarginBar, Plan
from backhaul.book.sheets.optical_as_built import as_built_lines, standing_term
from backhaul.book.sheets.optical_budget import Line, budget_lines, write_budget
from backhaul.book.sheets.optical_charts import level_chart
from backhaul.book.sheets.optical_link import LinkBlock, item_places
from backhaul.book.sheets.optical_rows import write_rows
from backhaul.book.sheets.page_fit import Block, fit_pages
from backhaul.book.sheets.path_delays import lay_delays
from backhaul.book.sheets.shared import is_known
from backhaul.book.us_sheet import sheet_of
from backhaul.budgets.performance import optical_rate_mbps
from backhaul.checks.safety import CAUTIONS, DEFERS
from backhaul.figures.judgements import Judgement
from backhaul.figures.optical_terms import JUDGEMENTS, MARGIN
from backhaul.findings import FAIL
from backhaul.path.links import OPTICAL
from backhaul.spreadsheet.cells import Calc, Text, Verdict
from backhaul.spreadsheet.grid import Sheet

_COLUMNS = (5.5, 22.5, 15, 11, 11, 11, 11, 9.5, 9.5, 10, 12.5, 12.5, 11, 26)

#: Of a link's heading: with room above it, which at the top of a page costs no row.
_HEADING_PT = 25.0


def build(plan: Plan) -> Sheet | None:
    """The sheet, or None where a design has no light."""
    optical = plan.evaluation.optical
    if not optical.links:
        return None
    sheet = sheet_of(
        plan.evaluation.design,
        "Optical links",
        "Optical links",
        _COLUMNS,
        subtitle="Optical links in both directions: worst, best and statistical case. Losses in "
        "dB, levels in dBm. Change yellow cells on Inputs; this sheet follows. "
        "G.… are recommendations of ITU-T.",
    )
    sheet.row(Text(f"{CAUTIONS['laser']} {DEFERS.capitalize()}.", "caution", sheet.width))
    places = item_places(plan)
    blocks, rates = [], []
    for link in plan.evaluation.network.links[OPTICAL]:
        first = sheet.next_row
        block = LinkBlock(plan, sheet, link, places)
        _write(block)
        rates.extend(_rate(block))
        blocks.append(Block(first, block.sections, sheet.next_row - 1))
    if rates:
        sheet.helper("Rate of optical links, 0 where the light does not suffice", ("Mb/s",), rates)
    fit_pages(sheet, blocks)
    lay_delays(plan, sheet, OPTICAL)
    return sheet


def _write(block: LinkBlock) -> None:
    anchor = f"{block.prefix}.anchor"
    block.plan.anchors[block.link.key] = anchor
    title = block.plan.link_title(block.link)
    block.sheet.row(Text(title, "heading", block.sheet.width, key=anchor), height=_HEADING_PT)
    write_rows(block)
    given, found = budget_lines(block)
    found = [*found, *as_built_lines(block)]
    write_budget(block, [*given, *_verdicts(block)], found, level_chart(block))
    _leave_margins(block)


def _verdicts(block: LinkBlock) -> list[Line]:
    parts: dict[str, str] = {}
    lines = []
    for judged in JUDGEMENTS:
        cells = [
            block.plan.judged(
                block.link,
                judged.check,
                _verdict(block, judged, way),
                direction=way,
                figure=_figure(block, judged, way),
            )
            for way in (0, 1)
        ]
        parts.update((cell.key, cell.value) for cell in cells if isinstance(cell, Verdict))
        lines.append(Line(f"{judged.label}: verdict", *cells))
    stated = block.plan.stated_verdict(block.link)
    stated_key = f"{block.prefix}.stated"
    parts[stated_key] = stated
    lines.append(
        Line(
            "Everything else (Open points)",
            Verdict(stated, key=stated_key),
            Text(""),
            how=block.plan.stated_checks(block.link) or "ports, strands: of the last run",
        )
    )
    key = f"{block.prefix}.verdict"
    cell = worst_cell(key, parts, answered=block.plan.answered)
    block.plan.link_verdicts[block.link.key] = (key, cell.value)
    return [*lines, Line("Link", cell, Text(""), how="the worst of these")]


def _rate(block: LinkBlock) -> Iterator[tuple[Calc]]:
    """The rate of the link, which is none where its margin fails; Chain takes it from here."""
    now_mbps, _ = block.plan.evaluation.performance.rates[block.link.key]
    if not is_known(now_mbps):
        return
    lit_mbps = optical_rate_mbps(block.link, block.catalog)
    key = f"{block.prefix}.rate_mbps"
    block.plan.rates[block.link.key] = (key, key)
    dark = ",".join(f'{{{block.key(way, MARGIN.name)}}}="{FAIL}"' for way in (0, 1))
    yield (Calc(key, f"IF(OR({dark}),0,{lit_mbps:.9g})", float(now_mbps), format="0"),)


def _verdict(block: LinkBlock, judged: Judgement, way: int) -> Verdict | Text:
    """The live word; where a figure is missing a finding says so, and it is stated below."""
    key = block.key(way, judged.name)
    terms = {name: standing_term(block, term, way) for name, term in judged.of.items()}
    now = {name: float(block.value(term, way)) for name, term in terms.items()}
    if not all(map(is_known, now.values())):
        return Text("not judged", "text right", key=key)
    refs = {name: block.key(way, term) for name, term in terms.items()}
    return verdict_cell(judged.word, key, refs, now)


def _figure(block: LinkBlock, judged: Judgement, way: int) -> Figure:
    """Key of what is judged, the first of its figures, and its values."""
    name = next(iter(judged.of.values()))
    key = block.key(way, standing_term(block, name, way))
    return key, *judged_figures(block.optical, block.link, name)


def _leave_margins(block: LinkBlock) -> None:
    """Margins for the chart of At a glance."""
    for way in (0, 1):
        term = standing_term(block, "margin_db", way)
        margin, healthy = (float(block.value(name, way)) for name in (term, "healthy_margin_db"))
        if not is_known(margin):
            continue
        for path in block.link.paths:
            block.plan.margins.append(
                MarginBar(
                    path,
                    f"{path} light {block.way(way)}",
                    block.key(way, term),
                    block.key(way, "healthy_margin_db"),
                    margin,
                    healthy,
                    block.link.key,
                )
            )
