"""The budget of a hop line by line, both directions side by side, live from power to level."""

from backhaul.book.formula_cells import number_format, term_cell
from backhaul.book.line_of_sight import in_words
from backhaul.book.sheets.radio_direction import direction_of
from backhaul.book.sheets.radio_hop import HopBlock
from backhaul.book.sheets.shared import Known, is_known
from backhaul.budgets.climate import LOOKED_UP, TYPED
from backhaul.figures.mode_terms import TYPED_POWER
from backhaul.figures.radio_terms import ALONE, DIRECTION_TERMS, STILL
from backhaul.figures.terms import Input, Term
from backhaul.physics import multipath
from backhaul.spreadsheet.cells import Calc, Number, SheetCell, Text

#: Figures that no short cell formula gives: they stand as values.
_VALUES = {
    "channel_mhz": "value",
    "interference_dbm": "value",
    "gas_db_per_km": "value",
    "diffraction_loss_db": "value",
    "off_axis_deg": "value",
    "reflection_loss_db": "value",
    "rain_k": "value",
    "rain_alpha": "value",
    "occurrence_percent": "value",
    "latitude_deg": "value, WGS 84 geodesic",
}

#: Lines that only stand where masts sway, and where other senders of the design are heard.
OF_SWAY = ("sway_deg", "to_sway_deg", "beam_deg", "to_beam_deg", "pointing_loss_db")
OF_BEAM = ("beam_deg", "to_beam_deg")
#: And where several hops share a terminal.
OF_HUB = ("off_axis_deg", "off_axis_loss_db")
OF_OTHERS = ("channel_mhz", "noise_figure_db", "noise_dbm", "interference_dbm")
#: What stands where no other sender of the design is heard.
_NOBODY = "nobody"
_LABELS = {term.key: term.label for term in DIRECTION_TERMS}
_FIRST_OF_FADING = [term.key for term in DIRECTION_TERMS].index("occurrence_percent")
_BUDGET, _FADING = DIRECTION_TERMS[:_FIRST_OF_FADING], DIRECTION_TERMS[_FIRST_OF_FADING:]


def write_budget(block: HopBlock) -> None:
    """All terms of both directions that apply."""
    block.head("Budget", tuple(f"from {name}" for name in block.names))
    values, ways = block.radio.values, [way.place for way in block.ways]
    idle: set[str] = set()
    if all(values["sway_basis"][place] == STILL for place in ways):
        idle.update(OF_SWAY)
    if block.row.hub is None:
        idle.update(OF_HUB)
    else:
        idle.difference_update(OF_BEAM)
    if all(values["noise_basis"][place] == ALONE for place in ways):
        idle.update(OF_OTHERS)
    for term in _BUDGET:
        if term.key not in idle:
            cells = [_cell(block, term, way) for way in (0, 1)]
            block.pair(term.label, *cells, term.unit, _how(block, term))
        elif term.key == "pointing_loss_db":
            cells = [Number(0.0, key=block.end(way, term.key), format="0.0") for way in (0, 1)]
            block.pair(term.label, *cells, term.unit, "no sway_deg is given")


def write_fading(block: HopBlock) -> None:
    """Terms of multipath, which the outage of the modes rests on."""
    block.head("Fading by multipath", tuple(f"from {name}" for name in block.names))
    for term in _FADING:
        cells = [_cell(block, term, way) for way in (0, 1)]
        block.pair(term.label, *cells, term.unit, _how(block, term))


def _how(block: HopBlock, term: Term) -> str:
    words = [term.source or in_words(term.formula, _LABELS)]
    if term.key in _VALUES:
        words.append(_VALUES[term.key])
    elif term.key == "rain_rate_mm_h":
        words.append(f"Inputs, {_climate_basis(block)}")
    elif term.key == "tx_power_dbm":
        words.append("highest of the modes below")
    elif isinstance(term, Input):
        words = ["Inputs"]
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
    elif term.key == "interference_dbm":
        return Text(_NOBODY, "text right", key=key)
    given = None
    if isinstance(term, Input):
        given = block.given(term, block.ways[way])
    elif term.key == "distance_km":
        given = block.key("distance_km")
    elif term.key == "tx_power_dbm":
        given = transmit_power(block, way)
    return term_cell(
        term,
        value,
        key_of=lambda name: _key_of(block, way, name),
        given=given,
        variant=str(values[term.by][direction]) if term.by else "",
        known=Known(values, direction),
    )


def _key_of(block: HopBlock, way: int, name: str) -> str:
    """Key of a figure of a direction; the two heights are those of the hop's ends."""
    if name in ("height1_m", "height2_m"):
        return block.end(("height1_m", "height2_m").index(name), "height_m")
    return block.end(way, name)


def _powers(block: HopBlock, way: int) -> list[str]:
    powers = block.radio.modes["mode_power_dbm"]
    numbers = [
        number for number, place in enumerate(block.modes(way)) if is_known(float(powers[place]))
    ]
    direction = direction_of(block, way)
    numbers += range(direction.count, direction.count + direction.spares)
    return [block.end(way, f"mode{number}.mode_power_dbm") for number in numbers]


def _rain_keys(block: HopBlock) -> list[str]:
    """Inputs of the rain rate of a hop: of its sites, of the maps, or the default."""
    inputs, name = block.plan.inputs, "rain_rate_mm_h"
    basis, value = _climate_basis(block), float(block.radio.climate.values[name][block.index])
    label = "rain rate exceeded in 0.01 % of the year"
    if basis == TYPED:
        keys = [inputs.site(site, name, label, "mm/h") for site in block.sites if site is not None]
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


def transmit_power(block: HopBlock, way: int) -> str | None:
    """Power of a terminal without modes: the row's, else the part's."""
    if block.row.tx_power_dbm is not None:
        return block.given(TYPED_POWER, block.ways[way])
    radio = block.ends[way].radio
    return block.plan.inputs.part("radios", radio, "tx_power_dbm", "power", "dBm")
