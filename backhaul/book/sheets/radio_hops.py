"""Radio hops: every hop: result, ends, clearance, budget and modes of both directions, live.

Keys, with `i` the place of the hop in `evaluation.radio.links`, `a` the near end and what it
sends, `b` the far end:
`air.{i}.anchor`, `.distance_km`, `.verdict`, `.stated`, `.clearance_verdict`,
`.{at|obstacle|ray|bulge|fresnel|ratio|k}_{median|worst}`;
`air.{i}.{a|b}.{term}` for every term of `figures.radio_terms.DIRECTION_TERMS` (`received_dbm`,
`eirp_dbm`, …), and `.ground_m`, `.above_m`, `.height_m`, `.azimuth_deg`, `.magnetic_azimuth_deg`
(only where a declination is given), `.tilt_deg`, `.beamwidth_deg`, `.mode_at_target`,
`.rate_at_target_mbps`, `.best_margin_db`, `.healthy_margin_db`, `.best_availability_percent`,
`.target_percent`, `.eirp_limit_dbm`, `.max_input_dbm`,
`.{margin|overload|eirp|pointing}_verdict`;
`air.{i}.{a|b}.mode{n}.{term}` for every term of `MODE_TERMS`, and `.name`, `.user_rate_mbps`,
`.held_mbps`, `.use`.
A figure that cannot be had is a text cell under the same key.
"""

import numpy as np

from backhaul.book.formula_cells import NOT_KNOWN, judged_cell, worst_cell
from backhaul.book.plan import Figure, MarginBar, Plan
from backhaul.book.sheets.page_fit import Block, fit_pages
from backhaul.book.sheets.path_delays import lay_delays
from backhaul.book.sheets.radio_budget import write_budget, write_fading
from backhaul.book.sheets.radio_charts import write_charts, write_profile
from backhaul.book.sheets.radio_clearance import clearance_cell
from backhaul.book.sheets.radio_direction import Direction, direction_of
from backhaul.book.sheets.radio_geometry import write_ends, write_path
from backhaul.book.sheets.radio_hop import HALF, HopBlock
from backhaul.book.sheets.radio_in_use import (
    COUNTED_ON,
    summary_cells,
    target_cell,
    unless_it_fails,
)
from backhaul.book.sheets.radio_modes import write_modes
from backhaul.book.sheets.shared import NO_LIMIT, given_cell, is_known
from backhaul.book.us_sheet import sheet_of
from backhaul.budgets.radio import RadioBudget
from backhaul.budgets.reflection_remedies import REFLECTION_DB
from backhaul.checks.bands import LICENCE, judge
from backhaul.checks.safety import CAUTIONS, DEFERS
from backhaul.figures.judgements import Judgement
from backhaul.figures.radio_judgements import (
    CLEARANCE,
    EIRP,
    MARGIN,
    OVERLOAD,
    POINTING,
    REFLECTION,
)
from backhaul.figures.radio_terms import LIMIT
from backhaul.findings import CAUTION, PASS, THIN
from backhaul.path.links import RADIO
from backhaul.spreadsheet.cells import Calc, Number, SheetCell, Text, Verdict
from backhaul.spreadsheet.grid import Sheet

_COLUMNS = HALF * 2
STAYS = (
    "Stays as computed until backhaul runs again: gas, diffraction, reflection and its outage, wet "
    "snow, interference within the design, k and alpha of rain, multipath occurrence, "
    "azimuth, the choice of channel, the place of the tightest point."
)


def build(plan: Plan) -> Sheet | None:
    """The sheet, or None where a design has no hop."""
    links = plan.evaluation.network.links[RADIO]
    if not links:
        return None
    sheet = sheet_of(
        plan.evaluation.design,
        "Radio hops",
        "Radio hops",
        _COLUMNS,
        subtitle="Hops in both directions. Levels in dBm, losses in dB. Change yellow cells on "
        "Inputs; this sheet follows. P.… and F.… are recommendations of ITU-R.",
    )
    for text in _cautions(plan):
        sheet.row(Text(text, "caution", sheet.width))
    sheet.say(STAYS, "muted")
    warnings = _warnings(plan)
    blocks = []
    for link in links:
        if blocks:
            sheet.blank()
        first = sheet.next_row
        block = HopBlock(plan, sheet, link)
        _write(block, warnings)
        blocks.append(Block(first, block.sections, sheet.next_row - 1))
    fit_pages(sheet, blocks)
    lay_delays(plan, sheet, RADIO)
    return sheet


def _cautions(plan: Plan) -> list[str]:
    names = ["height", "radio"]
    if any(site.hazardous_area for site in plan.evaluation.design.sites.values()):
        names.append("explosive")
    bands = "Band rules are a reading of public texts and change: the local rules decide."
    return [f"{CAUTIONS[name]} {DEFERS.capitalize()}." for name in names] + [bands]


def _warnings(plan: Plan) -> dict[int, list[str]]:
    """Cautions with figures, by the row that they stand at."""
    found: dict[int, list[str]] = {}
    for finding in plan.evaluation.findings:
        if finding.check == "safety" and finding.severity == CAUTION:
            for row in finding.rows:
                found.setdefault(row, []).append(f"{finding.message}; {finding.remedy or DEFERS}")
    return found


def _write(block: HopBlock, warnings: dict[int, list[str]]) -> None:
    sheet, anchor = block.sheet, block.key("anchor")
    block.plan.anchors[block.link.key] = anchor
    sheet.row(Text(block.plan.link_title(block.link), "heading", sheet.width, key=anchor))
    directions = [direction_of(block, way) for way in (0, 1)]
    result = _Result(block, directions)

    def outcome() -> None:
        result.write()
        write_ends(block)

    block.beside(outcome, lambda: write_budget(block))
    block.sections.append(sheet.next_row)
    for text in warnings.get(block.row.id, []):
        sheet.row(Text(text[0].upper() + text[1:], "caution", sheet.width))

    def path_and_fading() -> None:
        write_path(block)
        write_fading(block)

    first = block.beside(path_and_fading, lambda: None)
    write_charts(block, directions, write_profile(block, first))
    write_modes(block, 0, directions[0])
    write_modes(block, 1, directions[1])


class _Result:
    """What the hop delivers and its verdicts, on top of its block."""

    def __init__(self, block: HopBlock, directions: list[Direction]):
        self.block, self.directions = block, directions
        self.radio: RadioBudget = block.radio
        self.parts: dict[str, str] = {}

    def write(self) -> None:
        block = self.block
        block.head("Result", tuple(f"from {name}" for name in block.names))
        summaries = [summary_cells(block, way, self.directions[way]) for way in (0, 1)]
        for label, name, unit, how in (
            ("Mode in use", "mode_at_target", "", "the fastest that holds"),
            ("Its place among the modes", "place_in_use", "", "1 is the slowest"),
            ("Rate for users", "rate_at_target_mbps", "Mb/s", "0 where no mode holds"),
            (
                "Margin, mode in use",
                "margin_in_use_db",
                "dB",
                "before the healthy margin is taken off",
            ),
            ("Margin, most robust mode", "best_margin_db", "dB", ""),
        ):
            told = unless_it_fails(block, name, how) if name in COUNTED_ON else how
            block.pair(label, *(summary[name] for summary in summaries), unit, told)
        self._limits(summaries)
        self._verdicts()
        self._rates()

    def _limits(self, summaries: list[dict[str, SheetCell]]) -> None:
        block = self.block
        healthy = LIMIT["healthy_margin_db"]
        block.pair(
            "Healthy margin",
            *(
                Calc(
                    block.end(way, "healthy_margin_db"),
                    f"{{{block.given(healthy, block.ways[way])}}}",
                    float(healthy.read(block.ways[way])),
                    format="0.0",
                )
                for way in (0, 1)
            ),
            "dB",
            "Inputs",
        )
        block.pair(
            "Availability, most robust mode",
            *(summary["best_availability_percent"] for summary in summaries),
            "%",
            "all causes",
        )
        block.pair(
            "Availability wanted",
            *(target_cell(block, way) for way in (0, 1)),
            "%",
            "share of the path's",
        )
        self.limits, rules = zip(*(self._eirp_limit(way) for way in (0, 1)), strict=True)
        for way, cell in enumerate(self.limits):
            if isinstance(value := getattr(cell, "value", None), float):
                block.plan.eirp_limits[block.direction(way)] = value
        block.pair("EIRP allowed", *self.limits, "dBm", " / ".join(dict.fromkeys(rules)))
        block.pair(
            "Highest input level", *(self._max_input(way) for way in (0, 1)), "dBm", "Inputs"
        )
        loss = float(self.radio.reflection.loss_db[block.index])
        deepest = ",".join(f"{{{block.end(way, 'reflection_loss_db')}}}" for way in (0, 1))
        block.pair(
            "Deepest fade over water",
            Calc(block.key("hop_reflection_loss_db"), f"MAX({deepest})", loss, format="0.0")
            if is_known(loss)
            else Text(NOT_KNOWN, "text right", key=block.key("hop_reflection_loss_db")),
            Number(REFLECTION_DB, key=block.key("reflection_limit_db"), format="0.0"),
            "dB",
            "beside it: what needs no remedy",
        )

    def _eirp_limit(self, way: int) -> tuple[SheetCell, str]:
        """Highest EIRP that a rule allows, and the rule."""
        block, key = self.block, self.block.end(way, "eirp_limit_dbm")
        context = block.evaluation.context
        if context.design.project.region is None and block.row.eirp_limit_dbm is None:
            return Text("no region", "text right", key=key), "set region to have it checked"
        rules = [rule for rule in judge(context, block.direction(way)) if rule.gain_ok]
        rules = [rule for rule in rules if is_known(rule.limit_dbm)]
        if not rules:
            return Text("no band", "text right", key=key), "see Open points"
        best = max(rules, key=lambda rule: rule.limit_dbm)
        if best.rule == LICENCE:
            given = block.given(LIMIT["eirp_limit_dbm"], block.ways[way])
            return Calc(key, f"{{{given}}}", best.limit_dbm, format="0.0"), "licence, Inputs"
        if np.isinf(best.limit_dbm):
            return Text(NO_LIMIT, "text right", key=key), best.rule
        return Number(best.limit_dbm, key=key, format="0.0"), f"{best.rule}, value"

    def _max_input(self, way: int) -> SheetCell:
        block, key = self.block, self.block.end(way, "max_input_dbm")
        declared = LIMIT["max_input_dbm"]
        given = block.given(declared, block.ways[way])
        value = declared.read(block.ways[way])
        return given_cell(key, given, value, missing=declared.none)

    def _verdicts(self) -> None:
        block = self.block
        for judgement, how in (
            (MARGIN, "thin below the healthy margin"),
            (OVERLOAD, ""),
            (EIRP, "in the strongest mode"),
            (POINTING, "a quarter of the beam"),
        ):
            cells = [self._of_way(judgement, way) for way in (0, 1)]
            block.pair(f"{judgement.label}: verdict", *cells, "", how)
        for judgement, cell, how in (
            (CLEARANCE, clearance_cell(block), "under Path, below"),
            (REFLECTION, self._reflection(), f"thin above {REFLECTION_DB:g} dB"),
        ):
            figure: Figure = ("",)
            if judgement is REFLECTION:
                key = block.key("hop_reflection_loss_db")
                figure = key, float(self.radio.reflection.loss_db[block.index])
            noted = self._note(cell, judgement.check, figure=figure)
            block.pair(f"{judgement.label}: verdict", noted, "", "", how)
        stated = block.plan.stated_verdict(block.link)
        block.pair(
            "Everything else (Open points)",
            self._note(Verdict(stated, key=block.key("stated"))),
            "",
            "",
            block.plan.stated_checks(block.link) or "of the last run",
        )
        cell = worst_cell(block.key("verdict"), self.parts, answered=block.plan.answered)
        block.sheet.row(Text("Hop", "strong", 2), cell)
        block.plan.link_verdicts[block.link.key] = (block.key("verdict"), cell.value)

    def _note(
        self,
        cell: Verdict,
        check: str = "",
        way: int | None = None,
        figure: Figure = ("",),
    ) -> Verdict:
        self.parts[cell.key] = cell.value
        if check:
            self.block.plan.judged(self.block.link, check, cell, direction=way, figure=figure)
        return cell

    def _of_way(self, judgement: Judgement, way: int) -> Verdict:
        """A judgement of one direction."""
        block = self.block
        key = block.end(way, f"{judgement.name}_verdict")
        margins = self.directions[way].margins
        still = judgement is POINTING and not any(
            self.radio.values["sway_deg"][other.place] > 0 for other in block.ways
        )
        if still or (judgement is MARGIN and not margins):
            return self._note(Verdict(PASS, key=key), judgement.check, way)
        known = any(map(is_known, margins))
        best = float(np.nanmax(margins)) if known else np.nan
        limit = getattr(self.limits[way], "value", None)
        given = {
            "best_margin_db": best,
            "eirp_limit_dbm": limit if isinstance(limit, float) else None,
        }
        values = {
            figure: given[figure] if figure in given else block.value(figure, way)
            for figure in judgement.of.values()
        }
        if judgement is MARGIN and known:
            self._leave_margin(way, margins, values["healthy_margin_db"])
        cell = judged_cell(judgement, key, lambda figure: block.end(way, figure), values)
        figure = block.end(way, "best_margin_db"), best
        return self._note(
            cell, judgement.check, way, figure if judgement is MARGIN else ("", float("nan"))
        )

    def _reflection(self) -> Verdict:
        """Thin where it is not known, else by the worse of both directions."""
        block, key = self.block, self.block.key("reflection_verdict")
        if self.radio.reflection.unknown[block.index]:
            return Verdict(THIN, key=key)
        values = {
            "hop_reflection_loss_db": float(self.radio.reflection.loss_db[block.index]),
            "reflection_limit_db": REFLECTION_DB,
        }
        return judged_cell(REFLECTION, key, block.key, values)

    def _leave_margin(self, way: int, margins: list[float], healthy: float) -> None:
        """The margin of the mode in use, for the chart of At a glance."""
        block, in_use = self.block, self.directions[way].in_use
        if in_use < 0 or not is_known(margins[in_use]):
            return
        for path in block.link.paths:
            name = f"{path} air from {block.names[way]}"
            cells = (block.end(way, f"{key}_db") for key in ("margin_in_use", "healthy_margin"))
            block.plan.margins.append(
                MarginBar(path, name, *cells, float(margins[in_use]), healthy, block.link.key)
            )

    def _rates(self) -> None:
        """Where both directions have a rate, Chain refers to it."""
        block = self.block
        if all(direction.in_use >= 0 for direction in self.directions):
            block.plan.rates[block.link.key] = tuple(
                block.end(way, "rate_at_target_mbps") for way in (0, 1)
            )
