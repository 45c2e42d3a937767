"""Light: every optical link in both directions, line by line, live."""

from typing import Any

import numpy as np

from backhaul.budgets.optical_terms import DIRECTION_TERMS, JOINT_TERMS, RUN_TERMS
from backhaul.checks.safety import CAUTIONS, DEFERS
from backhaul.design.kinds import KINDS
from backhaul.findings import PASS
from backhaul.path.links import OPTICAL, Link
from backhaul.terms import Term
from backhaul.verdicts import at_most, margin_verdict
from backhaul.workbook.cells import Calc, SheetCell, Text, Verdict
from backhaul.workbook.charts import Axis, LinesChart, Series
from backhaul.workbook.grid import Sheet
from backhaul.workbook.live import term_cell, verdict_cell, worst_cell
from backhaul.workbook.plan import Plan

LIVE_CHECKS = ("optical-margin", "receiver-overload", "fiber-dispersion")
_HEAD = ("Step", "Part", "Way", "Length, count", "Each, highest", "Each, lowest", "Each, mean",
         "Spread", "Further", "Highest", "Lowest", "Mean", "Variance", "Dispersion")  # fmt: skip
_UNITS = ("", "", "", "km / pieces", "dB/km, dB", "dB/km, dB", "dB/km, dB", "dB", "dB", "dB", "dB",
          "dB", "dB²", "ps/nm")  # fmt: skip
_RUN_COLUMNS = ("length_km", "attenuation_max_db_per_km", "attenuation_min_db_per_km",
                "attenuation_mean_db_per_km", "sigma_db_per_km", "extra_loss_db", "loss_max_db",
                "loss_min_db", "loss_mean_db", "variance_db2", "dispersion_ps_nm")  # fmt: skip
_JOINT_COLUMNS = ("count", "each_max_db", "each_min_db", "each_mean_db", "sigma_db", "",
                  "loss_max_db", "loss_min_db", "loss_mean_db", "variance_db2", "")  # fmt: skip
_RUN = {term.key: term for term in RUN_TERMS}
_JOINT = {term.key: term for term in JOINT_TERMS}


def build(plan: Plan) -> Sheet | None:
    """The sheet, or None where a design has no light."""
    optical = plan.evaluation.optical
    if not optical.links:
        return None
    plan.live_checks.update(LIVE_CHECKS)
    sheet = Sheet(
        "Light", "Light", (6, 25, 14, 10, 10, 10, 10, 9, 9, 10, 9, 9, 9, 11),
        subtitle="Optical links in both directions: worst, best and statistical case. Losses in "
        "dB, levels in dBm. Change yellow cells on Givens; this sheet follows.",
    )  # fmt: skip
    sheet.row(Text(f"{CAUTIONS['laser']} {DEFERS.capitalize()}.", "caution", sheet.width))
    places = _item_places(plan)
    for link in plan.evaluation.network.links[OPTICAL]:
        _Block(plan, sheet, link, places).write()
    return sheet


def _item_places(plan: Plan) -> dict[tuple[str, int, int], int]:
    """Where a row stands in the run or joint arrays: (table, row id, direction) -> place."""
    places = {}
    for name, items in (("runs", plan.evaluation.optical.runs),
                        ("joints", plan.evaluation.optical.joints)):  # fmt: skip
        for place, (row, direction) in enumerate(
            zip(items["rows"], items["direction"].tolist(), strict=True)
        ):
            places[(name, row.id, direction)] = place
    return places


class _Block:
    """One link: its rows in both directions, its budget, its chart."""

    def __init__(self, plan: Plan, sheet: Sheet, link: Link, places: dict):
        self.plan, self.sheet, self.link, self.places = plan, sheet, link, places
        self.catalog = plan.evaluation.catalog
        self.optical = plan.evaluation.optical
        self.prefix = f"light.{link.index}"
        self.optics = [self.catalog.optics[row.part] for row in (link.rows[0], link.rows[-1])]
        self.losses: dict[tuple[int, str], list[str]] = {}
        self.levels: list[list[tuple[float, str, str]]] = [[], []]

    def write(self) -> None:
        anchor = f"{self.prefix}.anchor"
        self.plan.anchors[self.link.key] = anchor
        self.sheet.blank()
        self.sheet.row(
            Text(self.plan.link_title(self.link), "heading", self.sheet.width, key=anchor)
        )
        self.sheet.head(*_HEAD)
        self.sheet.row(*(Text(unit, "text small") for unit in _UNITS))
        for row in self.link.rows[1:-1]:
            for way in (0, 1):
                self._item(row, way)
        self._budget()
        self._chart()

    def key(self, way: int, name: str) -> str:
        return f"{self.prefix}.{'ab'[way]}.{name}"

    def _item(self, row: Any, way: int) -> None:
        is_run = KINDS[row.kind].is_run
        items = self.optical.runs if is_run else self.optical.joints
        place = self.places[("runs" if is_run else "joints", row.id, 2 * self.link.index + way)]
        values = {
            term.key: items[term.key][place] for term in (RUN_TERMS if is_run else JOINT_TERMS)
        }
        prefix = f"{self.prefix}.{'ab'[way]}.row{row.id}"
        variant = str(items["loss_basis"][place]) if is_run else ""
        givens = self._run_givens(row, way) if is_run else self._joint_givens(row)
        known = {key: not (isinstance(v, float) and np.isnan(v)) for key, v in values.items()}
        cells: list[SheetCell | str] = [
            f"{row.step:g}" if way == 0 else "", row.part if way == 0 else "", self._way(way)
        ]  # fmt: skip
        measured = variant == "measured"
        for name in _RUN_COLUMNS if is_run else _JOINT_COLUMNS:
            if not name:
                cells.append("")
                continue
            if measured and name == "attenuation_max_db_per_km":
                cells.append(self._term("measured_db", prefix, values, givens, variant, known))
                continue
            if measured and name in ("attenuation_min_db_per_km", "attenuation_mean_db_per_km"):
                cells.append(Text("measured", "text small"))
                continue
            cells.append(self._term(name, prefix, values, givens, variant, known))
        self.sheet.row(*cells)
        for name in ("loss_max_db", "loss_min_db", "loss_mean_db", "variance_db2"):
            self.losses.setdefault((way, name), []).append(f"{prefix}.{name}")
        if is_run:
            self.losses.setdefault((way, "dispersion_ps_nm"), []).append(
                f"{prefix}.dispersion_ps_nm"
            )
        length = float(values["length_km"]) if is_run else 0.0
        self.levels[way].append((length, prefix, "run" if is_run else "joint"))

    def _term(self, name, prefix, values, givens, variant, known) -> SheetCell:
        term = (_RUN if "sections" in givens else _JOINT)[name]
        if name == "length_km":
            return Calc(f"{prefix}.length_km", f"{{{givens['length_m']}}}/1000",
                        float(values["length_km"]), format="0.000")  # fmt: skip
        if name == "variance_db2" and "sections" in givens:
            refs = {
                "length_km": f"{prefix}.length_km", "sigma_db_per_km": f"{prefix}.sigma_db_per_km",
                "sections": givens["sections"],
            }  # fmt: skip
            return term_cell(term, values[name], key_of=lambda k: refs.get(k, f"{prefix}.{k}"))
        if name == "dispersion_ps_nm":
            refs = {"dispersion_ps_per_nm_km": givens.get("dispersion_ps_per_nm_km", "")}
            if not refs["dispersion_ps_per_nm_km"]:
                return Text("none", "text right", key=f"{prefix}.{name}")
            return term_cell(term, values[name], key_of=lambda k: refs.get(k, f"{prefix}.{k}"))
        return term_cell(
            term, values[name], key_of=lambda k: f"{prefix}.{k}", given=givens.get(name),
            variant=variant, known=known,
        )  # fmt: skip

    def _run_givens(self, row: Any, way: int) -> dict[str, str]:
        givens, part = self.plan.givens, self.catalog.fibers[row.part]
        sender = self.optics[way]
        place = self.places[("runs", row.id, 2 * self.link.index + way)]
        runs = self.optical.runs
        at = f"at {sender.tx_nominal_nm:g} nm" if sender.tx_nominal_nm else "at its wavelength"
        found = {
            "length_m": givens.row(row, "length_m", "length", "m"),
            "measured_db": givens.row(row, "measured_db", "measured loss", "dB"),
            "extra_loss_db": givens.row(row, "extra_loss_db", "further loss", "dB"),
            "sections": self._sections(),
        }  # fmt: skip
        measured = row.measured_db is not None
        if not measured:
            found["sigma_db_per_km"] = givens.part(
                "fibers", part, "sigma_db_km", "spread of a section", "dB/km"
            )
            for name, label in (("max", "highest"), ("min", "lowest"), ("mean", "mean")):
                term = f"attenuation_{name}_db_per_km"
                found[term] = givens.part(
                    "fibers", part, "", f"attenuation {at}, {label}", "dB/km",
                    value=float(runs[term][place]), key=f"{sender.tx_nominal_nm:g}.{name}"
                    if sender.tx_nominal_nm else f"{sender.part}.{name}",
                )  # fmt: skip
        found["dispersion_ps_per_nm_km"] = givens.part(
            "fibers", part, "", f"worst dispersion over the range of {sender.part}", "ps/(nm km)",
            value=float(runs["dispersion_ps_per_nm_km"][place]), key=f"{sender.part}.dispersion",
        )
        return {name: key for name, key in found.items() if key}

    def _joint_givens(self, row: Any) -> dict[str, str]:
        givens, part = self.plan.givens, self.catalog.joints[row.part]
        found = {
            "count": givens.row(row, "count", "count", "", value=row.count or 1),
            "each_max_db": givens.part("joints", part, "max_db", "loss, highest", "dB"),
            "each_min_db": givens.part("joints", part, "min_db", "loss, lowest", "dB"),
            "each_mean_db": givens.part(
                "joints", part, "typical_db", "loss, mean", "dB",
                value=part.max_db if part.typical_db is None else part.typical_db,
            ),
            "sigma_db": givens.part("joints", part, "sigma_db", "spread", "dB"),
        }  # fmt: skip
        return {name: key for name, key in found.items() if key}

    def _sections(self) -> str:
        """Key of the cell that holds the sections of cable of this link."""
        return f"{self.prefix}.sections"

    def _way(self, way: int) -> str:
        places = self.plan.evaluation.network.places
        ends = [places[row.id][0] or row.part for row in (self.link.rows[0], self.link.rows[-1])]
        if ends[0] == ends[1]:
            ends = [f"step {self.link.first_step:g}", f"step {self.link.last_step:g}"]
        return f"to {ends[1 - way]}"

    def _budget(self) -> None:
        sheet, half = self.sheet, 4
        sheet.blank()
        sheet.row(
            Text("Line", "head", 3), Text(self._way(0), "head right", 2),
            Text(self._way(1), "head right", 2), Text("Unit", "head"), Text("How", "head", 6),
        )  # fmt: skip
        splices = [
            row for row in self.link.rows[1:-1] if KINDS[row.kind].divides_run
        ]  # fmt: skip
        counts = [self.plan.givens.row(row, "count", "count", "", value=row.count or 1)
                  for row in splices]  # fmt: skip
        total = sum(row.count or 1 for row in splices) + 1
        formula = "+".join([*(f"{{{key}}}" for key in counts), "1"])
        sheet.row(
            Text("Sections of cable", span=3),
            Calc(self._sections(), formula, total, format="0", span=2), Text("", span=2), "",
            Text("splices of the link and one", "text small", 6),
        )  # fmt: skip
        for term in (*DIRECTION_TERMS, *_EXTRA_TERMS):
            pair = [self._direction_cell(term, way) for way in (0, 1)]
            how = term.source or ("Givens" if term.formula is None and not term.total else "")
            sheet.row(
                Text(term.label, span=3), *(cell._replace(span=2) for cell in pair), term.unit,
                Text(how, "text small", 6),
            )  # fmt: skip
        self._verdicts(half)

    def _direction_cell(self, term: Term, way: int) -> SheetCell:
        direction = 2 * self.link.index + way
        values = self.optical.values
        value = values[term.key][direction]
        if term.total:
            keys = self.losses.get((way, term.total), [])
            if not keys or np.isnan(value):
                return term_cell(term, value if keys else 0.0, key_of=lambda k: self.key(way, k))
            return Calc(self.key(way, term.key), "+".join(f"{{{key}}}" for key in keys),
                        float(value), format="0.00000" if term.key == "variance_db2" else "0.00")  # fmt: skip
        variant = str(values["margin_basis"][direction])
        known = {key: not _is_nan(values[key][direction]) for key in values}
        return term_cell(
            term, value, key_of=lambda k: self.key(way, k),
            given=self._direction_given(term.key, way), variant=variant, known=known,
        )  # fmt: skip

    def _direction_given(self, name: str, way: int) -> str | None:
        givens, project = self.plan.givens, self.plan.evaluation.design.project
        sender, receiver = self.optics[way], self.optics[1 - way]
        direction = 2 * self.link.index + way
        if name in ("launch_min_dbm", "launch_max_dbm"):
            label = "launch, lowest" if name == "launch_min_dbm" else "launch, highest"
            return givens.part("optics", sender, name, label, "dBm")
        if name in ("sensitivity_dbm", "overload_dbm"):
            return givens.part("optics", receiver, name, name.partition("_")[0], "dBm")
        if name == "penalty_db":
            form_p = self.optical.values["budget_form"][direction] == "P"
            return givens.part("optics", receiver, name, "penalty", "dB") if form_p else None
        if name == "max_dispersion_ps_nm":
            return givens.part("optics", sender, name, "dispersion that it stands", "ps/nm")
        if name == "channel_limit_db":
            return givens.add(
                f"given.reach.{sender.part}.{'.'.join(self.optical.classes[self.link.index])}",
                group="Parts", label=f"{sender.part}: channel limit on "
                f"{', '.join(self.optical.classes[self.link.index])}",
                value=float(self.optical.values[name][direction]), unit="dB",
                source="catalogs/optic_reach.csv", where="catalogs/optic_reach.csv",
            )  # fmt: skip
        if name == "repair_allowance_db":
            if project.repair_allowance_db is not None:
                return givens.project(self.plan.evaluation, name, "held back for repairs", "dB")
            return givens.add(
                f"given.rule.repair.{self.link.index}", group="Rules",
                label=f"{self.plan.link_title(self.link)}: held back for repairs",
                value=float(self.optical.values[name][direction]), unit="dB",
                source="1 dB where a single-mode run is longer than 300 m, else 0",
            )
        if name == "healthy_margin_db":
            if project.optical_margin_db is not None:
                return givens.project(
                    self.plan.evaluation, "optical_margin_db", "healthy optical margin", "dB"
                )
            form = str(self.optical.values["budget_form"][direction])
            return givens.add(
                f"given.rule.healthy.{form}", group="Rules",
                label=f"healthy optical margin, budget form {form}",
                value=float(self.optical.values[name][direction]), unit="dB",
                source="rules of the project",
            )
        if name == "wanted_overload_margin_db":
            return givens.project(
                self.plan.evaluation, "overload_margin_db", "healthy distance to overload", "dB"
            )
        return None

    def _verdicts(self, half: int) -> None:
        values = self.optical.values
        parts: dict[str, str] = {}
        rows: list[tuple[str, list[Verdict]]] = []
        for label, name, formula, pairs in (
            ("Margin", "margin_verdict", margin_verdict,
             {"margin": "margin_db", "healthy": "healthy_margin_db"}),
            ("Channel limit", "limit_verdict", at_most,
             {"value": "loss_max_db", "limit": "channel_limit_db"}),
            ("Overload", "overload_verdict", margin_verdict,
             {"margin": "overload_margin_db", "healthy": "wanted_overload_margin_db"}),
            ("Dispersion", "dispersion_verdict", at_most,
             {"value": "dispersion_ps_nm", "limit": "max_dispersion_ps_nm"}),
        ):  # fmt: skip
            cells = []
            for way in (0, 1):
                direction = 2 * self.link.index + way
                now = {arg: float(values[term][direction]) for arg, term in pairs.items()}
                optional = name in ("limit_verdict", "dispersion_verdict", "overload_verdict")
                blank = any(np.isnan(v) for v in now.values())
                if optional and blank:
                    cells.append(Verdict(PASS, key=self.key(way, name)))
                    continue
                if name == "limit_verdict" and values["margin_basis"][direction] == "channel":
                    cells.append(Verdict(PASS, key=self.key(way, name)))
                    continue
                cell = verdict_cell(
                    formula, self.key(way, name),
                    {arg: self.key(way, term) for arg, term in pairs.items()}, now,
                )  # fmt: skip
                if name == "margin_verdict" and blank and values["window_overlap"][direction] == 0:
                    cell = Verdict(PASS, key=self.key(way, name))
                cells.append(cell)
                parts[self.key(way, name)] = cell.value
            rows.append((label, cells))
        for label, cells in rows:
            self.sheet.row(
                Text(f"{label}: verdict", span=3), *(cell._replace(span=2) for cell in cells), "",
                Text("", span=6),
            )  # fmt: skip
        stated = self.plan.stated_verdict(self.link)
        stated_key = f"{self.prefix}.stated"
        parts[stated_key] = stated
        self.sheet.row(
            Text("Everything else (To settle)", span=3), Verdict(stated, key=stated_key, span=2),
            Text("", span=2), "",
            Text("optics, ports, wavelengths, connectors, strands, reach: as found", "text small",
                 6),
        )  # fmt: skip
        key = f"{self.prefix}.verdict"
        cell = worst_cell(key, parts)
        self.sheet.row(Text("Link", "strong", 3), cell._replace(span=2), style="strong")
        self.plan.link_verdicts[self.link.key] = (key, cell.value)
        self._leave_margins()

    def _leave_margins(self) -> None:
        values = self.optical.values
        for way in (0, 1):
            direction = 2 * self.link.index + way
            margin, healthy = (float(values[k][direction]) for k in ("margin_db",
                                                                     "healthy_margin_db"))  # fmt: skip
            if np.isnan(margin):
                continue
            for path in self.link.paths:
                self.plan.margins.append((
                    path, f"{path} light {self._way(way)}", self.key(way, "margin_db"),
                    self.key(way, "healthy_margin_db"), margin, healthy, "dB",
                ))  # fmt: skip

    def _chart(self) -> None:
        """Level along the fiber, worst case, both ways, between overload and sensitivity."""
        values = self.optical.values
        direction = 2 * self.link.index
        if np.isnan(values["margin_db"][[direction, direction + 1]]).any():
            return
        total = sum(length for length, _, _ in self.levels[0])
        series, ranges = [], []
        for way in (0, 1):
            steps = self.levels[way] if way == 0 else self.levels[way][::-1]
            launch = self.key(way, "launch_min_dbm")
            level, formula = float(values["launch_min_dbm"][direction + way]), f"{{{launch}}}"
            km = 0.0 if way == 0 else total
            points = [(km, level, formula)]
            for number, (length, prefix, kind) in enumerate(steps):
                items = self.optical.runs if kind == "run" else self.optical.joints
                row_id = int(prefix.rpartition("row")[2])
                place = self.places[("runs" if kind == "run" else "joints", row_id,
                                     direction + way)]  # fmt: skip
                level -= float(items["loss_max_db"][place])
                km += length if way == 0 else -length
                above = f"{{{self.prefix}.chart.{'ab'[way]}.{number}}}"
                points.append((km, level, f"{above}-{{{prefix}.loss_max_db}}"))
            rows = [
                (round(x, 6), Calc(f"{self.prefix}.chart.{'ab'[way]}.{number}", text, y))
                for number, (x, y, text) in enumerate(points)
            ]
            ranges.append(self.sheet.helper(
                f"Level {self._way(way)}, {self.plan.link_title(self.link)}", ("km", "dBm"), rows
            ))  # fmt: skip
        limits = self.sheet.helper(
            "Limits at the receiver", ("km", "sensitivity", "overload"),
            [
                (x, Calc(f"{self.prefix}.chart.sens.{n}", f"{{{self.key(0, 'sensitivity_dbm')}}}",
                         float(values["sensitivity_dbm"][direction])),
                 Calc(f"{self.prefix}.chart.over.{n}", f"{{{self.key(0, 'overload_dbm')}}}",
                      float(values["overload_dbm"][direction]))
                 if not np.isnan(values["overload_dbm"][direction]) else None)
                for n, x in enumerate((0.0, round(total, 6) or 1.0))
            ],
        )  # fmt: skip
        for way in (0, 1):
            series.append(Series(self._way(way), ranges[way][1], at=ranges[way][0],
                                 dashed=bool(way)))  # fmt: skip
        series.append(Series("sensitivity", limits[1], at=limits[0], colour="C05A4E", width_pt=1.0))
        if not np.isnan(values["overload_dbm"][direction]):
            series.append(Series("overload", limits[2], at=limits[0], colour="D9A441",
                                 width_pt=1.0))  # fmt: skip
        self.sheet.blank()
        self.sheet.chart(LinesChart(
            "Level along the fiber, worst case", Axis("km from the first end", least=0.0),
            Axis("dBm"), series,
            f"Level along the fiber in both directions, {self.plan.link_title(self.link)}",
        ), rows=14)  # fmt: skip


_EXTRA_TERMS = (
    Term("dispersion_ps_nm", "Dispersion", "ps/nm", total="dispersion_ps_nm", digits=1,
         source="ITU-T G.652 (11/2016)"),
    Term("max_dispersion_ps_nm", "Dispersion that the optic stands", "ps/nm", digits=1),
)  # fmt: skip


def _is_nan(value: Any) -> bool:
    return isinstance(value, float | np.floating) and bool(np.isnan(value))
