"""Where a hop stands: its ends, its length, and the clearance of its tightest point, live."""

from typing import Any

import numpy as np

from backhaul.book.formula_cells import NOT_KNOWN, formula_cell, term_cell, verdict_cell
from backhaul.book.sheets.radio_hop import HopBlock
from backhaul.book.sheets.shared import Known, given_cell, is_known
from backhaul.budgets.hop_profiles import LAND
from backhaul.figures.radio_terms import HOP_TERMS
from backhaul.findings import FAIL, PASS, THIN
from backhaul.physics import geometry
from backhaul.physics.water import wave_crest_m
from backhaul.spreadsheet.cells import Calc, Number, SheetCell, Text, Verdict
from backhaul.units import DECIMALS, M_PER_KM

_HOP = {term.key: term for term in HOP_TERMS}
_ENDS = {
    "height_m": "a.height_m",
    "far_height_m": "b.height_m",
    "tilt_deg": "a.tilt_deg",
    "to_tilt_deg": "b.tilt_deg",
}
_CASES = ("median", "worst")
_P530 = "ITU-R P.530-19 sec. 2.2.2 (rules to be confirmed)"


def clearance_verdict(*, median_f1, worst_f1, wanted_median_f1, wanted_worst_f1):
    """fail below 0.6 F1 at the median k or below grazing at the worst, thin where P.530 asks more.

    >>> print(clearance_verdict(median_f1=0.8, worst_f1=0.4, wanted_median_f1=1.0,
    ...     wanted_worst_f1=0.3))
    thin
    """
    blocked = np.logical_or(
        np.round(median_f1, DECIMALS) < geometry.FREE_SPACE_CLEARANCE_F1,
        np.round(worst_f1, DECIMALS) < 0,
    )
    short = np.logical_or(
        np.round(median_f1, DECIMALS) < wanted_median_f1,
        np.round(worst_f1, DECIMALS) < wanted_worst_f1,
    )
    return np.where(blocked, FAIL, np.where(short, THIN, PASS))


def antenna_m(*, ground_m, above_m):
    """Height of an antenna above the datum [m].

    >>> antenna_m(ground_m=104.5, above_m=6.0)
    110.5
    """
    return ground_m + above_m


def write_ends(block: HopBlock) -> None:
    """Heights, azimuth and tilt of both ends."""
    block.head("Ends", block.names)
    _ground_and_antenna(block)
    _directions(block)
    antennas = (block.row.antenna, block.row.to_antenna or block.row.antenna)
    names = [antenna or "built in" for antenna in antennas]
    block.pair("Antenna", *(Text(name, "text small") for name in names))
    beams = [
        given_cell(
            block.end(way, "beamwidth_deg"),
            _beamwidth(block, way),
            float(block.hops.beamwidth_deg[block.index, way]),
        )
        for way in (0, 1)
    ]
    block.pair("Beamwidth", *beams, "°", "Inputs")


def _ground_and_antenna(block: HopBlock) -> None:
    hops, row, index = block.hops, block.row, block.index
    grounds, aboves, heights = [], [], []
    for way in (0, 1):
        column, site = ("height_m", "to_height_m")[way], block.sites[way]
        ground = block.site_given(site, "ground_m", "level that heights are measured from", "m")
        grounds.append(given_cell(block.end(way, "ground_m"), ground, hops.ground_m[index, way], 1))
        value = getattr(row, column)
        above = block.plan.inputs.row(row, column, f"antenna height at {block.names[way]}", "m")
        aboves.append(given_cell(block.end(way, "above_m"), above, value, 1))
        heights.append(
            formula_cell(
                antenna_m,
                block.end(way, "height_m"),
                {"ground_m": block.end(way, "ground_m"), "above_m": block.end(way, "above_m")},
                {
                    "ground_m": float(hops.ground_m[index, way]),
                    "above_m": np.nan if value is None else value,
                },
                digits=1,
            )
        )
    block.pair("Level of the site", *grounds, "m", "Inputs")
    block.pair("Antenna above it", *aboves, "m", "Inputs")
    block.pair("Antenna above the datum", *heights, "m")


def _directions(block: HopBlock) -> None:
    hops, index = block.hops, block.index
    azimuths = [float(hops.azimuth_deg[index]), float(hops.to_azimuth_deg[index])]
    block.pair(
        "Azimuth, from true north",
        *(given_cell(block.end(way, "azimuth_deg"), None, azimuths[way], 2) for way in (0, 1)),
        "°",
        "WGS 84 geodesic, value",
    )
    if any(site is not None and site.declination_deg is not None for site in block.sites):
        _magnetic(block, azimuths)
    values = block.radio.hop_values
    block.pair(
        "Tilt, up positive",
        *(_hop_term(block, key, values) for key in ("tilt_deg", "to_tilt_deg")),
        "°",
        "as a rigger sets it",
    )


def _magnetic(block: HopBlock, azimuths: list[float]) -> None:
    cells: list[SheetCell] = []
    for way, site in enumerate(block.sites):
        declination = site.declination_deg if site is not None else None
        key = block.site_given(site, "declination_deg", "magnetic declination, east positive", "°")
        cells.append(
            formula_cell(
                geometry.magnetic_azimuth_deg,
                block.end(way, "magnetic_azimuth_deg"),
                {"azimuth_deg": block.end(way, "azimuth_deg"), "declination_deg": key or ""},
                {
                    "azimuth_deg": azimuths[way],
                    "declination_deg": np.nan if declination is None else declination,
                },
            )
        )
    block.pair("Azimuth, from magnetic north", *cells, "°", "less the declination, Inputs")


def _beamwidth(block: HopBlock, way: int) -> str | None:
    name = (block.row.antenna, block.row.to_antenna or block.row.antenna)[way]
    family = "antennas" if name else "radios"
    part = block.evaluation.catalog.antennas[name] if name else block.hops.radios[block.index][way]
    return block.plan.inputs.part(family, part, "beamwidth_deg", "beamwidth", "°")


def write_path(block: HopBlock) -> None:
    """Length, bulge and Fresnel radius half way, clearance at the tightest points."""
    values = block.radio.hop_values
    block.head("Path", ("k = 4/3", "worst k"))
    block.pair(
        "Distance",
        _distance(block),
        "",
        "km",
        "typed" if block.row.length_m else "WGS 84 geodesic, value",
    )
    for key in ("half_km", "earth_bulge_mid_m", "fresnel_mid_m"):
        term = _HOP[key]
        block.pair(term.label, _hop_term(block, key, values), "", term.unit, term.source)
    _clearance(block)


def _distance(block: HopBlock) -> SheetCell:
    key = block.key("distance_km")
    value = float(block.hops.distance_km[block.index])
    if not is_known(value):
        return Text(NOT_KNOWN, "text right", key=key)
    if block.row.length_m:
        given = block.plan.inputs.row(block.row, "length_m", "length of the hop", "m")
        return Calc(key, f"{{{given}}}/{M_PER_KM}", value, format="0.000")
    return Number(value, key=key, format="0.000")


def _hop_term(block: HopBlock, key: str, values: Any) -> SheetCell:

    def key_of(name: str) -> str:
        if name == "frequency_ghz":
            return block.end(0, name)
        return block.key(_ENDS.get(name, name))

    return term_cell(
        _HOP[key], values[key][block.index], key_of=key_of, known=Known(values, block.index)
    )


def _clearance(block: HopBlock) -> None:
    """The tightest point at the median and at the worst k, followed live as heights change."""
    clear, index = block.radio.clearance, block.index
    ratios = (float(clear.median[index]), float(clear.worst[index]))
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
        _Point(block, case, at_km, k)
        for case, at_km, k in zip(
            _CASES,
            (float(clear.median_at_km[index]), float(clear.worst_at_km[index])),
            k_factors,
            strict=True,
        )
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
        "median_f1": float(clear.median[index]),
        "worst_f1": float(clear.worst[index]),
        "wanted_median_f1": geometry.MEDIAN_CLEARANCE_F1,
        "wanted_worst_f1": float(clear.wanted_worst_f1[index]),
    }
    refs = {
        "median_f1": block.key("ratio_median"),
        "worst_f1": block.key("ratio_worst"),
        "wanted_median_f1": block.key("wanted_median_f1"),
        "wanted_worst_f1": block.key("wanted_worst_f1"),
    }
    return verdict_cell(clearance_verdict, block.key("clearance_verdict"), refs, values)


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

    def __init__(self, block: HopBlock, case: str, at_km: float, k_factor: float):
        self.block, self.case = block, case
        hops, index = block.hops, block.index
        self.surface, self.ground_m, self.cover_m = point_of(block, at_km)
        self.values = {
            "at_km": at_km,
            "k_factor": k_factor,
            "distance_km": float(hops.distance_km[index]),
            "height_m": float(hops.height_m[index, 0]),
            "far_height_m": float(hops.height_m[index, 1]),
            "frequency_ghz": float(hops.frequency_ghz[index, 0]),
            "far_frequency_ghz": float(hops.frequency_ghz[index, 1]),
            "obstacle_m": self.ground_m + self.cover_m,
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
        plan, project = self.block.plan, self.block.evaluation.design.project
        if self.surface == LAND or project.water_high_m is None:
            return Number(self.values["obstacle_m"], key=self.key("obstacle"), format="0.00")
        refs = {
            name: plan.inputs.project(self.block.evaluation, name, label, "m")
            for name, label in (
                ("water_high_m", "highest water level"),
                ("wave_height_m", "significant wave height"),
            )
        }
        return formula_cell(
            lambda *, water_high_m, wave_height_m: _crest_m(
                water_high_m=water_high_m, wave_height_m=wave_height_m, cover_m=self.cover_m
            ),
            self.key("obstacle"),
            refs,
            {"water_high_m": project.water_high_m, "wave_height_m": project.wave_height_m},
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


def point_of(block: HopBlock, at_km: float) -> tuple[str, float, float]:
    """Surface, level and cover [m] of the profile's highest point at a distance."""
    place = int(np.flatnonzero(block.hops.profiled == block.index)[0])
    profile = block.hops.profile
    own = slice(profile.start[place], profile.start[place] + profile.count[place])
    there = np.flatnonzero(profile.distance_km[own] == at_km)
    top = there[np.argmax(profile.surface_m[own][there])]
    surface, ground = str(block.hops.surface[own][top]), float(profile.ground_m[own][top])
    return surface, ground, float(profile.surface_m[own][top]) - ground
