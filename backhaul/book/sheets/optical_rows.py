"""Rows of an optical link, each in both directions: length or count, losses, spread."""

from typing import Any

from backhaul.book.formula_cells import term_cell
from backhaul.book.sheets.optical_link import LinkBlock
from backhaul.book.sheets.shared import is_known
from backhaul.design.kinds import KINDS
from backhaul.figures.optical_terms import JOINT_TERMS, RUN_TERMS
from backhaul.figures.terms import Term
from backhaul.spreadsheet.cells import Calc, Head, SheetCell, Text

_HEADS = (
    "Step",
    "Part",
    "Way",
    "Length",
    "Each, highest",
    "Each, lowest",
    "Each, mean",
    "Spread",
    "Further",
    "Highest",
    "Lowest",
    "Mean",
    "Variance",
    "Dispersion",
)
_UNITS = (
    "",
    "",
    "",
    "km, pcs",
    "dB (/km)",
    "dB (/km)",
    "dB (/km)",
    "dB",
    "dB",
    "dB",
    "dB",
    "dB",
    "dB²",
    "ps/nm",
)
_RUN_COLUMNS = (
    "length_km",
    "attenuation_max_db_per_km",
    "attenuation_min_db_per_km",
    "attenuation_mean_db_per_km",
    "sigma_db_per_km",
    "extra_loss_db",
    "loss_max_db",
    "loss_min_db",
    "loss_mean_db",
    "variance_db2",
    "dispersion_ps_nm",
)
_JOINT_COLUMNS = (
    "count",
    "each_max_db",
    "each_min_db",
    "each_mean_db",
    "sigma_db",
    "",
    "loss_max_db",
    "loss_min_db",
    "loss_mean_db",
    "variance_db2",
    "",
)
_RUN = {term.key: term for term in RUN_TERMS}
_JOINT = {term.key: term for term in JOINT_TERMS}
_SUMMED = ("loss_max_db", "loss_min_db", "loss_mean_db", "variance_db2", "dispersion_ps_nm")
MEASURED = "measured"


def write_rows(block: LinkBlock) -> None:
    """The table of a link's rows."""
    block.sheet.row(
        *(Head(head, "head" if n < 3 else "head right") for n, head in enumerate(_HEADS))
    )
    block.sheet.row(
        *(Text(unit, "text right" if n > 2 else "text small") for n, unit in enumerate(_UNITS))
    )
    for row in block.items:
        for way in (0, 1):
            block.sheet.row(
                f"{row.step:g}" if way == 0 else "",
                row.part if way == 0 else "",
                block.way(way),
                *_cells(block, row, way),
            )


def _cells(block: LinkBlock, row: Any, way: int) -> list[SheetCell | str]:
    is_run = KINDS[row.kind].is_run
    arrays, place = block.item(row, way)
    terms = _RUN if is_run else _JOINT
    values = {key: arrays[key][place] for key in terms}
    known = {key: is_known(value) for key, value in values.items()}
    variant = str(arrays["loss_basis"][place]) if is_run else ""
    inputs = _run_givens(block, row, way, values) if is_run else _joint_givens(block, row, values)
    cells: list[SheetCell | str] = []
    for name in _RUN_COLUMNS if is_run else _JOINT_COLUMNS:
        if not name:
            cells.append("")
            continue
        if variant == MEASURED and name.startswith("attenuation_"):
            cells.append(_measured(block, row, way, name, values, inputs))
            continue
        cell = _term(block, terms[name], row, way, values, inputs, variant, known)
        cells.append(cell)
        if name in _SUMMED and known[name]:
            block.losses.setdefault((way, name), []).append(block.row_key(way, row, name))
    return cells


def _measured(block: LinkBlock, row: Any, way: int, name: str, values, inputs) -> SheetCell:
    """The measured loss stands where the highest attenuation would."""
    if name != "attenuation_max_db_per_km":
        return Text("–", "text right")
    return term_cell(
        _RUN["measured_db"],
        values["measured_db"],
        given=inputs.get("measured_db"),
        key_of=lambda key: block.row_key(way, row, key),
    )


def _term(block, term: Term, row: Any, way: int, values, inputs, variant: str, known) -> SheetCell:
    name, value = term.key, values[term.key]
    key = block.row_key(way, row, name)
    if name == "length_km":
        if not is_known(value) or "length_m" not in inputs:
            return Text("not given", "text right", key=key)
        return Calc(key, f"{{{inputs['length_m']}}}/1000", float(value), format="0.000")
    if name == "dispersion_ps_nm" and not is_known(value):
        return Text("none", "text right", key=key)
    away = {
        name: inputs[name]
        for name in ("glass_km", "sections", "dispersion_ps_per_nm_km")
        if name in inputs
    }
    return term_cell(
        term,
        value,
        key_of=lambda k: away.get(k) or block.row_key(way, row, k),
        given=inputs.get(name),
        variant=variant,
        known=known,
    )


def _run_givens(block: LinkBlock, row: Any, way: int, values: dict[str, Any]) -> dict[str, str]:
    inputs, part = block.plan.inputs, block.catalog.fibers[row.part]
    sender = block.optics[way]
    at = f"at {sender.tx_nominal_nm:g} nm" if sender.tx_nominal_nm else "at its wavelength"
    found = {
        "length_m": inputs.row(row, "length_m", "length", "m"),
        "measured_db": inputs.row(row, "measured_db", "measured loss", "dB"),
        "extra_loss_db": inputs.row(row, "extra_loss_db", "further loss", "dB"),
        "glass_km": block.glass_km,
        "sections": block.cable_sections,
    }
    if row.measured_db is None:
        found["sigma_db_per_km"] = inputs.part(
            "fibers", part, "sigma_db_km", "spread of a section", "dB/km"
        )
        for name, label in (("max", "highest"), ("min", "lowest"), ("mean", "mean")):
            term = f"attenuation_{name}_db_per_km"
            found[term] = inputs.part(
                "fibers",
                part,
                "",
                f"attenuation {at}, {label}",
                "dB/km",
                value=float(values[term]),
                key=f"{sender.tx_nominal_nm:g}.{name}"
                if sender.tx_nominal_nm
                else f"{sender.part}.{name}",
            )
    found["dispersion_ps_per_nm_km"] = inputs.part(
        "fibers",
        part,
        "",
        f"worst dispersion over the range of {sender.part}",
        "ps/(nm km)",
        value=float(values["dispersion_ps_per_nm_km"]),
        key=f"{sender.part}.dispersion",
    )
    return {name: key for name, key in found.items() if key}


def _joint_givens(block: LinkBlock, row: Any, values: dict[str, Any]) -> dict[str, str]:
    inputs, part = block.plan.inputs, block.catalog.joints[row.part]
    found = {
        "count": inputs.row(row, "count", "count", "", value=1 if row.count is None else row.count),
        "each_max_db": inputs.part("joints", part, "max_db", "loss, highest", "dB"),
        "each_min_db": inputs.part(
            "joints", part, "min_db", "loss, lowest", "dB", value=float(values["each_min_db"])
        ),
        "each_mean_db": inputs.part(
            "joints",
            part,
            "typical_db",
            "loss, mean",
            "dB",
            value=part.max_db if part.typical_db is None else part.typical_db,
        ),
        "sigma_db": inputs.part("joints", part, "sigma_db", "spread", "dB"),
    }
    return {name: key for name, key in found.items() if key}
