"""The budget of a hop line by line, both directions side by side, live from power to level."""

from collections.abc import Callable

from backhaul.book.formula_cells import formula_cell, number_format, term_cell
from backhaul.book.inputs import row_key
from backhaul.book.sheets.radio_hop import HopBlock
from backhaul.book.sheets.shared import Known, is_known
from backhaul.budgets.climate import LOOKED_UP, TYPED
from backhaul.figures.radio_terms import DIRECTION_TERMS
from backhaul.figures.terms import Term
from backhaul.physics import multipath
from backhaul.spreadsheet.cells import Calc, SheetCell

#: Figures that no short cell formula gives: they stand as values.
_VALUES = {
    "gas_db_per_km": "value",
    "diffraction_loss_db": "value",
    "reflection_loss_db": "value",
    "rain_k": "value",
    "rain_alpha": "value",
    "occurrence_percent": "value",
    "latitude_deg": "value, WGS 84 geodesic",
}

_UNITS = {"degrees": "°"}


def write_budget(block: HopBlock) -> None:
    """All terms of both directions."""
    block.head("Budget", tuple(f"from {name}" for name in block.names))
    for term in DIRECTION_TERMS:
        cells = [_cell(block, term, way) for way in (0, 1)]
        block.pair(term.label, *cells, _UNITS.get(term.unit, term.unit), _how(block, term))


def _how(block: HopBlock, term: Term) -> str:
    words = [term.source] if term.source else []
    if term.key in _VALUES:
        words.append(_VALUES[term.key])
    elif term.key == "rain_rate_mm_h":
        words.append(f"Inputs, {_climate_basis(block)}")
    elif term.key == "tx_power_dbm":
        words.append("highest of the modes below")
    elif term.formula is None and term.key not in ("distance_km", "inclination_mrad"):
        words.append("Inputs")
    if term.key == "occurrence_percent":
        words.append(_method(block))
    if term.key == "rain_k":
        words.append(
            " / ".join(
                dict.fromkeys(
                    "vertical" if block.radio.rain_vertical[block.direction(way)] else "horizontal"
                    for way in (0, 1)
                )
            )
        )
    return "; ".join(filter(None, words))


def _method(block: HopBlock) -> str:
    return multipath.METHOD_NAMES[int(block.radio.multipath_method[block.index])]


def _climate_basis(block: HopBlock) -> str:
    return str(block.radio.climate.basis["rain_rate_mm_h"][block.index])


def _cell(block: HopBlock, term: Term, way: int) -> SheetCell:
    values, direction = block.radio.values, block.direction(way)
    value = values[term.key][direction]
    key = block.end(way, term.key)
    if is_known(value):
        if term.key == "tx_power_dbm" and (keys := _powers(block, way)):
            formula = f"MAX({','.join(f'{{{k}}}' for k in keys)})"
            return Calc(key, formula, float(value), format=number_format(term.digits))
        if term.key == "rain_rate_mm_h":
            return _rain_rate(block, key, term, float(value))
        if term.key == "inclination_mrad" and _has_heights(block):
            return _inclination(block, key, term)
    given = _GIVEN[term.key](block, way) if term.key in _GIVEN else None
    return term_cell(
        term,
        value,
        key_of=lambda name: block.end(way, name),
        given=given,
        known=Known(values, direction),
    )


def _powers(block: HopBlock, way: int) -> list[str]:
    powers = block.radio.modes["mode_power_dbm"]
    return [
        block.end(way, f"mode{number}.mode_power_dbm")
        for number, place in enumerate(block.modes(way))
        if is_known(float(powers[place]))
    ]


def _has_heights(block: HopBlock) -> bool:
    return all(is_known(float(height)) for height in block.hops.height_m[block.index])


def _inclination(block: HopBlock, key: str, term: Term) -> SheetCell:
    hops, index = block.hops, block.index
    return formula_cell(
        multipath.inclination_mrad,
        key,
        {
            "distance_km": block.key("distance_km"),
            "height1_m": block.end(0, "height_m"),
            "height2_m": block.end(1, "height_m"),
        },
        {
            "distance_km": float(hops.distance_km[index]),
            "height1_m": float(hops.height_m[index, 0]),
            "height2_m": float(hops.height_m[index, 1]),
        },
        digits=term.digits,
    )


def _frequency(block: HopBlock, way: int) -> str | None:
    column = ("frequency_ghz", "to_frequency_ghz")[way]
    sent = [float(ghz) for ghz in block.hops.frequency_ghz[block.index]]
    if way and block.row.to_frequency_ghz is None and sent[0] == sent[1]:
        return _frequency(block, 0)
    if not is_known(sent[way]):
        return None
    if getattr(block.row, column) is None:
        return block.plan.inputs.add(
            row_key(block.row, column),
            group="Segments",
            label=f"{block.row.path[0]} step {block.row.step:g} {block.row.part}: frequency sent "
            f"from {block.names[way]}",
            value=sent[way],
            unit="GHz",
            source="middle of the radio's range"
            if block.row.frequency_ghz is None
            else block.row.at("frequency_ghz"),
            where=block.row.at(column),
        )
    return block.plan.inputs.row(
        block.row, column, f"frequency sent from {block.names[way]}", "GHz"
    )


def _gain(block: HopBlock, way: int) -> str | None:
    """Gain of the antenna at one end: the row's antenna, else the part's own."""
    name = (block.row.antenna, block.row.to_antenna or block.row.antenna)[way]
    if name:
        return block.plan.inputs.part(
            "antennas", block.evaluation.catalog.antennas[name], "gain_dbi", "gain", "dBi"
        )
    radio = block.hops.radios[block.index][way]
    return block.plan.inputs.part("radios", radio, "antenna_dbi", "gain, antenna built in", "dBi")


def _extra(block: HopBlock, way: int) -> str | None:
    return block.plan.inputs.row(
        block.row,
        "extra_loss_db",
        "further loss, both ends together",
        "dB",
        value=block.row.extra_loss_db or 0.0,
    )


def _noise_rise(block: HopBlock, way: int) -> str | None:
    return block.plan.inputs.project(
        block.evaluation, "noise_rise_db", "noise rise at every receiver", "dB"
    )


def _rain_keys(block: HopBlock) -> list[str]:
    """Inputs of the rain rate of a hop: of its sites, of the maps, or the default."""
    inputs, name = block.plan.inputs, "rain_rate_mm_h"
    basis, value = _climate_basis(block), float(block.radio.climate.values[name][block.index])
    label = "rain rate exceeded in 0.01 % of the year"
    if basis == TYPED:
        keys = [block.site_given(site, name, label, "mm/h") for site in block.sites]
        return [key for key in keys if key]
    if basis == LOOKED_UP:
        key = inputs.add(
            f"given.climate.{block.index}.{name}",
            group="Climate",
            label=f"{block.plan.link_title(block.link)}: {label}",
            value=value,
            unit="mm/h",
            source="ITU-R P.837 map",
        )
    else:
        key = inputs.add(
            f"given.rule.{name}",
            group="Rules",
            label=f"{label}, where not known",
            value=value,
            unit="mm/h",
            source="cautious default",
        )
    return [key] if key else []


def _rain_rate(block: HopBlock, key: str, term: Term, value: float) -> SheetCell:
    """The rain rate of a hop: the mean of its sites."""
    keys = _rain_keys(block)
    formula = "+".join(f"{{{given}}}" for given in keys)
    if len(keys) > 1:
        formula = f"({formula})/{len(keys)}"
    return Calc(key, formula, value, format=number_format(term.digits))


def _distance(block: HopBlock, way: int) -> str | None:
    return block.key("distance_km")


_GIVEN: dict[str, Callable[[HopBlock, int], str | None]] = {
    "distance_km": _distance,
    "frequency_ghz": _frequency,
    "tx_gain_dbi": _gain,
    "rx_gain_dbi": lambda block, way: _gain(block, 1 - way),
    "extra_loss_db": _extra,
    "noise_rise_db": _noise_rise,
    "tx_power_dbm": lambda block, way: transmit_power(block, way),  # noqa: PLW0108 - defined below
}


def transmit_power(block: HopBlock, way: int) -> str | None:
    """Power of a terminal without modes: the row's, else the part's."""
    if block.row.tx_power_dbm is not None:
        return typed_power(block)
    radio = block.hops.radios[block.index][way]
    return block.plan.inputs.part("radios", radio, "tx_power_dbm", "power", "dBm")


def typed_power(block: HopBlock) -> str | None:
    """Power that the row sets for both ends."""
    return block.plan.inputs.row(block.row, "tx_power_dbm", "power, at most, both ends", "dBm")
