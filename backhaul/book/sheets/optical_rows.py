"""Rows of an optical link, each in both directions: length or count, losses, spread."""

from typing import Any

from backhaul.book.formula_cells import term_cell
from backhaul.book.sheets.optical_link import LinkBlock
from backhaul.book.sheets.shared import is_known
from backhaul.design.kinds import KINDS
from backhaul.figures.optical_items import JOINT_TERMS, RUN_TERMS
from backhaul.figures.terms import Input
from backhaul.spreadsheet.cells import Head, SheetCell, Text

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
_ATTENUATION = tuple(name for name in _RUN_COLUMNS if name.startswith("attenuation_"))
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
    """Cells of one row of the link in one direction; their sums are remembered."""
    is_run = KINDS[row.kind].is_run
    arrays, place = block.item(row, way)
    terms, columns = (_RUN, _RUN_COLUMNS) if is_run else (_JOINT, _JOINT_COLUMNS)
    variant = str(arrays["loss_basis"][place]) if is_run else ""
    unused = _unused(variant)
    inputs = _inputs(block, arrays["subjects"][place], terms, unused)
    known = {key: is_known(arrays[key][place]) for key in terms}

    def key_of(name: str) -> str:
        """A cell of the table, else the input itself."""
        return block.row_key(way, row, name) if name in columns else inputs.get(name, name)

    cells: list[SheetCell | str] = []
    for name in columns:
        shown = "measured_db" if variant == MEASURED and name == _ATTENUATION[0] else name
        if not shown:
            cells.append("")
        elif shown in unused:
            cells.append(Text("–", "text right"))
        else:
            cells.append(
                term_cell(
                    terms[shown],
                    arrays[shown][place],
                    key_of=key_of if shown == name else lambda key: block.row_key(way, row, key),
                    given=inputs.get(shown),
                    variant=variant,
                    known=known,
                )
            )
        if name in _SUMMED and known[name]:
            block.losses.setdefault((way, name), []).append(block.row_key(way, row, name))
    return cells


def _unused(variant: str) -> tuple[str, ...]:
    """Figures that a loss which was measured stands in for."""
    return (*_ATTENUATION, "sigma_db_per_km") if variant == MEASURED else ()


def _inputs(block: LinkBlock, subject: Any, terms, unused: tuple[str, ...]) -> dict[str, str]:
    """Keys of the yellow cells of a row, and of figures of the whole link that it takes up."""
    found = {
        key: block.plan.inputs.of(term, subject)
        for key, term in terms.items()
        if isinstance(term, Input) and key not in unused
    }
    found |= {"glass_km": block.glass_km, "sections": block.cable_sections}
    return {name: key for name, key in found.items() if key}
