"""The tightest points of a hop at the median and at the worst k, live."""

from typing import Any

import numpy as np

from backhaul.book.formula_cells import NOT_KNOWN, formula_cell, judged_cell
from backhaul.book.keys import safe
from backhaul.book.sheets.radio_hop import HopBlock
from backhaul.book.sheets.shared import is_known
from backhaul.figures.radio_judgements import CLEARANCE
from backhaul.path.waters import NO_WATER, Body
from backhaul.physics import geometry
from backhaul.physics.sampling import Tightest
from backhaul.physics.water import wave_crest_m
from backhaul.spreadsheet.cells import Calc, Number, SheetCell, Text, Verdict
from backhaul.units import DECIMALS

_CASES = ("median", "worst")
_P530 = "ITU-R P.530-19 sec. 2.2.2 (rules to be confirmed)"


def write_clearance(block: HopBlock) -> None:
    """The tightest point at the median and at the worst k, followed live as heights change."""
    clear, index = block.radio.clearance, block.index
    ratios = (float(clear.median.ratio[index]), float(clear.worst.ratio[index]))
    if not all(map(is_known, ratios)):
        block.pair(
            "Clearance",
            Text(NOT_KNOWN, "text right"),
            Text(NOT_KNOWN, "text right"),
            "",
            "needs terrain or a water level, the level of both sites, both heights",
        )
        return
    k_factors = (geometry.MEDIAN_K_FACTOR, float(block.radio.worst_k[index]))
    points = [
        _Point(block, case, tightest, k)
        for case, tightest, k in zip(_CASES, (clear.median, clear.worst), k_factors, strict=True)
    ]
    block.pair(
        "k",
        *(point.k_cell() for point in points),
        "",
        "P.530; worst: "
        + (
            "typed"
            if block.evaluation.design.project.worst_k_factor is not None
            else "fit to its figure 2"
        ),
    )
    block.pair(
        "Tightest point, from the first end",
        *(point.at_cell() for point in points),
        "km",
        "value; whole profile searched",
    )
    block.pair(
        "Level there with cover, waves",
        *(p.obstacle_cell() for p in points),
        "m",
        "terrain; water highest, crests",
    )
    for label, name, formula, unit, how in (
        ("Line between the antennas there", "ray", _ray_m, "m", ""),
        ("Earth bulge there", "bulge", _bulge_m, "m", ""),
        ("First Fresnel radius there", "fresnel", _fresnel_m, "m", "ITU-R P.526 sec. 2.1"),
        ("Clear, share of the Fresnel radius", "ratio", geometry.clearance_ratio, "F1", _P530),
    ):
        block.pair(label, *(point.cell(name, formula) for point in points), unit, how)
    wanted = (geometry.MEDIAN_CLEARANCE_F1, float(clear.wanted_worst_f1[index]))
    block.pair(
        "P.530 asks for",
        *(
            Number(figure, key=block.key(f"wanted_{case}_f1"), format="0.00")
            for case, figure in zip(_CASES, wanted, strict=True)
        ),
        "F1",
        f"{clear.case[index]}; it fails below {geometry.FREE_SPACE_CLEARANCE_F1:g} F1 at "
        "k = 4/3, below grazing at the worst k",
    )


def clearance_cell(block: HopBlock) -> Verdict:
    """The live verdict of the clearance."""
    clear, index = block.radio.clearance, block.index
    values = {
        "ratio_median": float(clear.median.ratio[index]),
        "ratio_worst": float(clear.worst.ratio[index]),
        "wanted_median_f1": geometry.MEDIAN_CLEARANCE_F1,
        "wanted_worst_f1": float(clear.wanted_worst_f1[index]),
    }
    return judged_cell(CLEARANCE, block.key("clearance_verdict"), block.key, values)


def _ray_m(*, at_km, distance_km, height_m, far_height_m):
    return geometry.ray_height_m(
        distance1_km=at_km,
        distance2_km=distance_km - at_km,
        height1_m=height_m,
        height2_m=far_height_m,
    )


def _bulge_m(*, at_km, distance_km, k_factor):
    return geometry.earth_bulge_m(
        distance1_km=at_km, distance2_km=distance_km - at_km, k_factor=k_factor
    )


def _fresnel_m(*, at_km, distance_km, frequency_ghz, far_frequency_ghz):
    """Of the lower of the two frequencies: its zone is the wider."""
    return geometry.fresnel_radius_m(
        distance1_km=at_km,
        distance2_km=distance_km - at_km,
        frequency_ghz=np.minimum(frequency_ghz, far_frequency_ghz),
    )


def _crest_m(*, water_high_m, wave_height_m, cover_m):
    return water_high_m + wave_crest_m(wave_height_m=wave_height_m) + cover_m


_OPERANDS = {
    "ray": ("at_km", "distance_km", "height_m", "far_height_m"),
    "bulge": ("at_km", "distance_km", "k_factor"),
    "fresnel": ("at_km", "distance_km", "frequency_ghz", "far_frequency_ghz"),
    "ratio": ("ray_m", "obstacle_m", "bulge_m", "fresnel_m"),
}


class _Point:
    """The tightest point of a hop at one k: its cells."""

    def __init__(self, block: HopBlock, case: str, tightest: Tightest, k_factor: float):
        self.block, self.case = block, case
        hops, index = block.hops, block.index
        at_km, top_m = float(tightest.at_km[index]), float(tightest.top_m[index])
        self.cover_m = float(tightest.cover_m[index])
        self.body = _body_at(block, at_km, top_m - self.cover_m)
        self.values = {
            "at_km": at_km,
            "k_factor": k_factor,
            "distance_km": float(hops.distance_km[index]),
            "height_m": float(hops.height_m[index, 0]),
            "far_height_m": float(hops.height_m[index, 1]),
            "frequency_ghz": float(hops.frequency_ghz[index, 0]),
            "far_frequency_ghz": float(hops.frequency_ghz[index, 1]),
            "obstacle_m": top_m,
        }
        self.refs = {
            "at_km": self.key("at"),
            "k_factor": self.key("k"),
            "obstacle_m": self.key("obstacle"),
            "ray_m": self.key("ray"),
            "bulge_m": self.key("bulge"),
            "fresnel_m": self.key("fresnel"),
            "distance_km": block.key("distance_km"),
            "height_m": block.end(0, "height_m"),
            "far_height_m": block.end(1, "height_m"),
            "frequency_ghz": block.end(0, "frequency_ghz"),
            "far_frequency_ghz": block.end(1, "frequency_ghz"),
        }

    def key(self, name: str) -> str:
        return self.block.key(f"{name}_{self.case}")

    def k_cell(self) -> SheetCell:
        if self.case == "median":
            return Number(self.values["k_factor"], key=self.key("k"), format="0.000")
        if self.block.evaluation.design.project.worst_k_factor is not None:
            given = self.block.plan.inputs.project(
                self.block.evaluation, "worst_k_factor", "k in the worst case", ""
            )
            return Calc(self.key("k"), f"{{{given}}}", self.values["k_factor"], format="0.000")
        return formula_cell(
            geometry.worst_k_factor,
            self.key("k"),
            {"distance_km": self.refs["distance_km"]},
            {"distance_km": self.values["distance_km"]},
            digits=3,
        )

    def at_cell(self) -> SheetCell:
        return Number(self.values["at_km"], key=self.key("at"), format="0.000")

    def obstacle_cell(self) -> SheetCell:
        """Level of the point: of water it follows the water level, of land it is a value."""
        level = self.values["obstacle_m"]
        if self.body is None:
            return Number(level, key=self.key("obstacle"), format="0.00")
        refs = water_inputs(self.block, self.body)
        values = {"water_high_m": self.body.high_m, "wave_height_m": self.body.wave_height_m}
        return formula_cell(
            lambda *, water_high_m, wave_height_m: _crest_m(
                water_high_m=water_high_m, wave_height_m=wave_height_m, cover_m=self.cover_m
            ),
            self.key("obstacle"),
            refs,
            values,
        )

    def cell(self, name: str, formula: Any) -> SheetCell:
        operands = _OPERANDS[name]
        cell = formula_cell(
            formula,
            self.key(name),
            {key: self.refs[key] for key in operands},
            {key: self.values[key] for key in operands},
        )
        self.values[f"{name}_m"] = float(formula(**{key: self.values[key] for key in operands}))
        return cell


def _body_at(block: HopBlock, at_km: float, level_m: float) -> Body | None:
    """The body of water whose crest stands there, None on land."""
    ground = block.hops.ground
    rows = ground.rows_of(block.index)
    if rows is None:
        return None
    km = ground.profile.distance_km[rows]
    row = int(np.clip(np.searchsorted(km, at_km, side="right") - 1, 0, len(km) - 2))
    for place in (row, max(row - 1, 0)):
        number = int(ground.body[rows][place])
        if number != NO_WATER and round(ground.bodies[number].crest_m - level_m, DECIMALS) == 0:
            return ground.bodies[number]
    return None


def water_inputs(block: HopBlock, body: Body) -> dict[str, str]:
    """Yellow cells of the highest level and of the waves of a body of water."""
    plan, design = block.plan, block.evaluation.design
    labels = {"water_high_m": "highest water level", "wave_height_m": "significant wave height"}
    row = design.waters.get(body.name)
    if row is None:
        return {
            name: plan.inputs.project(block.evaluation, name, label, "m")
            for name, label in labels.items()
        }
    columns = {"water_high_m": "high_m", "wave_height_m": "wave_height_m"}
    return {
        name: plan.inputs.add(
            f"given.water.{safe(body.name)}.{columns[name]}",
            group="Waters",
            label=f"{body.name}: {label}",
            value=getattr(body, columns[name]),
            unit="m",
            source=row.at(columns[name]),
            where=row.at(columns[name]),
        )
        for name, label in labels.items()
    }
