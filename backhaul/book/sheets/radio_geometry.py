"""Where a hop stands: its ends, its length, and the clearance of its tightest point, live."""

from typing import Any

import numpy as np

from backhaul.book.formula_cells import NOT_KNOWN, formula_cell, term_cell
from backhaul.book.sheets.radio_clearance import write_clearance
from backhaul.book.sheets.radio_hop import HopBlock
from backhaul.book.sheets.shared import Known, given_cell, is_known
from backhaul.figures.hop_terms import END, HOP_TERMS
from backhaul.physics import geometry
from backhaul.spreadsheet.cells import Calc, Number, SheetCell, Text
from backhaul.units import M_PER_KM

_HOP = {term.key: term for term in HOP_TERMS}
_ENDS = {
    "height_m": "a.height_m",
    "far_height_m": "b.height_m",
    "tilt_deg": "a.tilt_deg",
    "to_tilt_deg": "b.tilt_deg",
}


def write_ends(block: HopBlock) -> None:
    """Heights, azimuth and tilt of both ends."""
    block.head("Ends", block.names)
    _ground_and_antenna(block)
    _directions(block)
    names = [end.antenna.part if end.antenna else "built in" for end in block.ends]
    block.pair("Antenna", *(Text(name, "text small") for name in names))
    block.pair("Beamwidth", *_given_at_ends(block, "beamwidth_deg"), "°", "Inputs")


def _given_at_ends(block: HopBlock, key: str) -> list[SheetCell]:
    """An input at both ends."""
    declared = END[key]
    return [
        given_cell(
            block.end(end.number, key),
            block.given(declared, end),
            declared.read(end),
            declared.digits,
        )
        for end in block.ends
    ]


def _ground_and_antenna(block: HopBlock) -> None:
    block.pair("Level of the site", *_given_at_ends(block, "ground_m"), "m", "Inputs")
    block.pair("Antenna above it", *_given_at_ends(block, "above_m"), "m", "Inputs")
    term, heights = END["height_m"], block.hops.height_m[block.index]
    cells = [
        term_cell(term, heights[end.number], key_of=lambda name, n=end.number: block.end(n, name))
        for end in block.ends
    ]
    block.pair(term.label, *cells, "m")


def _directions(block: HopBlock) -> None:
    hops, index = block.hops, block.index
    azimuths = [float(hops.azimuth_deg[index]), float(hops.to_azimuth_deg[index])]
    block.pair(
        "Azimuth, from true north",
        *(given_cell(block.end(way, "azimuth_deg"), None, azimuths[way], 1) for way in (0, 1)),
        "°",
        "WGS 84 geodesic, value",
    )
    if any(END["declination_deg"].read(end) is not None for end in block.ends):
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
    for way, end in enumerate(block.ends):
        declination = END["declination_deg"].read(end)
        key = block.given(END["declination_deg"], end)
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


def write_path(block: HopBlock) -> None:
    """Length, bulge and Fresnel radius half way, clearance at the tightest points."""
    values = block.radio.hop_values
    block.head("Path", ("k = 4/3", "worst k"))
    block.pair(
        "Distance",
        _distance(block),
        "",
        "km",
        "typed" if block.hops.is_typed[block.index] else "WGS 84 geodesic, value",
    )
    for key in ("half_km", "earth_bulge_mid_m", "fresnel_mid_m"):
        term = _HOP[key]
        block.pair(term.label, _hop_term(block, key, values), "", term.unit, term.source)
    write_clearance(block)


def _distance(block: HopBlock) -> SheetCell:
    key = block.key("distance_km")
    value = float(block.hops.distance_km[block.index])
    if not is_known(value):
        return Text(NOT_KNOWN, "text right", key=key)
    if block.hops.is_typed[block.index]:
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
