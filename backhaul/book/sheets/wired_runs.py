"""Loop resistance row by row, live from length, conductor and temperature."""

from typing import Any

from backhaul.book.formula_cells import formula_cell
from backhaul.book.sheets.shared import given_cell, is_known
from backhaul.book.sheets.wired_plan import Wired
from backhaul.budgets.conductors import cable_temperature_c, poe_pairs, row_resistance
from backhaul.budgets.power import Line
from backhaul.design.kinds import KINDS
from backhaul.figures.arrays import number
from backhaul.figures.power_terms import AC
from backhaul.physics import copper, supply
from backhaul.spreadsheet.cells import Calc, Head, Number, SheetCell, Text

_HEADS = (
    "Line",
    "Part",
    "Length",
    "Conductor",
    "Cable",
    "Pairs",
    "Loop, warm",
    "Reactance of a conductor",
    "Reactance, loop",
)
_UNITS = ("", "", "m", "ohm/km", "°C", "", "ohm", "ohm/km", "ohm")
_SPANS = (1, 3, 1, 2, 1, 1, 1, 2, 2)
_HOW = (
    f"2 × length × resistance of a conductor × (1 + {copper.COPPER_PER_K:g} × (T − "
    f"{copper.REFERENCE_C:g} °C)), for twisted pairs over the pairs that carry power "
    "(IEC 60228, IEC 60909); T is that of the cable."
)


def write_runs(wired: Wired) -> None:
    """The table; one row a segment of every line."""
    if not wired.lines:
        return
    wired.heading("Loop resistance, row by row")
    wired.sheet.say(_HOW, "muted")
    wired.sheet.row(
        *(
            Head(head, "head" if n in (0, 1) else "head right", span)
            for n, (head, span) in enumerate(zip(_HEADS, _SPANS, strict=True))
        )
    )
    wired.sheet.row(
        *(
            Text(unit, "text small" if n in (0, 1) else "text right", span)
            for n, (unit, span) in enumerate(zip(_UNITS, _SPANS, strict=True))
        )
    )
    for line in wired.lines:
        for index, row in enumerate(line.link.rows):
            name = wired.name(line.link) if index == 0 else ""
            cells = [
                Text(cell) if isinstance(cell, str) else cell
                for cell in (name, *_cells(wired, line, row))
            ]
            wired.sheet.row(
                *(cell._replace(span=span) for cell, span in zip(cells, _SPANS, strict=True))
            )


def row_key(wired: Wired, line: Line, row: Any, name: str) -> str:
    """Key of a figure of one row of a line."""
    return wired.key(line, f"row{row.id}.{name}")


def _cells(wired: Wired, line: Line, row: Any) -> list[SheetCell | str]:
    kind = KINDS[row.kind]
    part = getattr(wired.catalog, kind.families[0])[row.part]
    pairs = poe_pairs(line) if line.is_poe else None
    ohm, reactance = row_resistance(
        row, wired.evaluation.network, wired.catalog, wired.evaluation.design, pairs=pairs
    )
    if not kind.is_run:
        given = wired.plan.inputs.part(
            "protectors", part, "ohm", "resistance in line", "ohm", value=part.ohm or 0.0
        )
        return [
            row.part,
            "",
            "",
            "",
            "",
            given_cell(row_key(wired, line, row, "loop_ohm"), given, ohm, 3),
            "",
            _no_reactance(wired, line, row),
        ]
    return [row.part, *_run(wired, line, row, part, pairs, ohm, reactance)]


def _run(wired, line: Line, row: Any, part: Any, pairs: int | None, ohm: float, reactance: float):
    inputs = wired.plan.inputs
    warm = cable_temperature_c(row, wired.evaluation.network, wired.evaluation.design)
    values = {
        "length_m": number(row.length_m),
        "temperature_c": warm,
        "ohm_per_km": float("nan") if part.ohm_per_km is None else part.ohm_per_km,
    }
    refs = {name: row_key(wired, line, row, name) for name in values}
    family = "coppers" if pairs else "feeds"
    cells: list[SheetCell | str] = [
        given_cell(
            refs["length_m"], inputs.row(row, "length_m", "length", "m"), values["length_m"], 1
        ),
        given_cell(
            refs["ohm_per_km"],
            inputs.part(family, part, "ohm_per_km", "resistance of a conductor at 20 °C", "ohm/km"),
            part.ohm_per_km,
            3,
        ),
        Calc(refs["temperature_c"], wired.temperature_formula([row]), float(warm), format="0.0"),
    ]
    loop = row_key(wired, line, row, "loop_ohm")
    if pairs:
        pairs_key = row_key(wired, line, row, "pairs")
        cells.append(Number(pairs, key=pairs_key, format="0"))
        cells.append(
            formula_cell(
                copper.pairs_loop_ohm,
                loop,
                {**refs, "pairs": pairs_key},
                {**values, "pairs": pairs},
                digits=3,
            )
        )
    else:
        cells.append("")
        cells.append(formula_cell(supply.feed_loop_ohm, loop, refs, values, digits=3))
    cells += _reactance(wired, line, row, part, refs["length_m"], reactance)
    return cells


def _reactance(wired, line: Line, row: Any, part: Any, length_key: str, reactance: float):
    """Reactance of a run that carries alternating current."""
    if line.values["current"] != AC:
        return ["", _no_reactance(wired, line, row)]
    per_km = part.reactance_ohm_per_km or 0.0
    key = row_key(wired, line, row, "reactance_ohm_per_km")
    given = wired.plan.inputs.part(
        "feeds", part, "reactance_ohm_per_km", "reactance of a conductor", "ohm/km", value=per_km
    )
    return [
        given_cell(key, given, per_km, 3),
        formula_cell(
            supply.feed_loop_reactance_ohm,
            row_key(wired, line, row, "loop_reactance_ohm"),
            {"length_m": length_key, "reactance_ohm_per_km": key},
            {"length_m": number(row.length_m), "reactance_ohm_per_km": per_km},
            digits=3,
        ),
    ]


def _no_reactance(wired: Wired, line: Line, row: Any) -> SheetCell | str:
    if line.values["current"] != AC:
        return ""
    return Number(0.0, key=row_key(wired, line, row, "loop_reactance_ohm"), format="0.000")


def loop_cell(wired: Wired, line: Line, name: str) -> SheetCell:
    """Resistance or reactance of a whole line: the sum of its rows."""
    key, value = wired.key(line, name), float(line.values[name])
    if name == "loop_reactance_ohm" and line.values["current"] != AC:
        return Number(0.0, key=key, format="0.000")
    if not is_known(value):
        return given_cell(key, None, None)
    formula = "+".join(f"{{{row_key(wired, line, row, name)}}}" for row in line.link.rows)
    return Calc(key, formula, value, format="0.000")
