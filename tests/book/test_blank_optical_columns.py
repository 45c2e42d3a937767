"""Every column of light blanked in turn: where check answers, all outlets say the same.

A blank is what a real catalogue and a real design have most of. The terminal, the JSON and the
workbook, recalculated by a second engine, must agree on every verdict. Designs are invented.
"""

import csv
from pathlib import Path

import pytest
from agreement import Recalculated, verdicts
from our_parts import our_rows
from small_designs import CATALOGS, LIGHT, SITES, rows, write_table
from thorough import one_in

from backhaul.catalog import load_catalog
from backhaul.catalog.families import FIBERS, JOINTS, OPTIC_REACH, OPTICS, PORTS
from backhaul.design.read import read_design
from backhaul.errors import InputError
from backhaul.evaluation import evaluate

MULTIMODE = (
    "device switch-12-sfp site=works label=SW1",
    "optic 1000base-sx site=works",
    "connector lc-upc",
    "fiber om3-12 site=works to_site=works length_m=120 strand=1/2 label=C2",
    "connector lc-upc",
    "optic 1000base-sx site=works",
    "device switch-12-sfp site=works label=SW2",
)
LONG = (
    "device switch-12-sfp site=works label=SW1",
    "optic 1000base-zx site=works",
    "attenuator attenuator-lc-upc-5",
    "fiber os2-12 site=works to_site=crest length_m=1700 strand=1/2 label=C1 measured_db=0.9",
    "optic 1000base-zx site=crest",
    "device switch-12-sfp site=crest label=SW3",
)
FORM_C = (
    "device switch-12-sfp+ site=works label=SW1",
    "optic 10gbase-er site=works",
    "fiber os2-12 site=works to_site=crest length_m=21000 strand=1/2 label=C1",
    "splice fusion-splice count=4",
    "optic 10gbase-er site=crest",
    "device switch-12-sfp+ site=crest label=SW3",
)
DESIGNS = {"gigabit": LIGHT, "multimode": MULTIMODE, "long haul": LONG, "form C": FORM_C}
FILES = {
    "optics.csv": OPTICS,
    "fibers.csv": FIBERS,
    "joints.csv": JOINTS,
    "optic_reach.csv": OPTIC_REACH,
    "ports.csv": PORTS,
}
_PARTS_OF_THE_BOOK = ("part", "source", "basis", "description", "note")
#: Columns of a row of light that a designer may leave blank.
_ROW_COLUMNS = ("site", "to_site", "length_m", "count", "strand", "label", "measured_db")


def write_design(folder: Path, segments: list[dict[str, str]]) -> Path:
    folder.mkdir()
    write_table(folder, "segments", segments)
    write_table(folder, "sites", SITES)
    return folder


def parts_of(segments: list[dict[str, str]]) -> set[str]:
    return {row["part"] for row in segments}


def catalogue_without(folder: Path, file: str, column: str, parts: set[str]) -> Path | None:
    """Our rows of these parts with one column blank; None where none of them fills it."""
    found = [row for row in our_rows(file) if row["part"] in parts]
    if not any(row.get(column) for row in found):
        return None
    folder.mkdir()
    write_table(folder, file.removesuffix(".csv"), [row | {column: ""} for row in found])
    return folder


def columns_of(file: str) -> list[str]:
    with (CATALOGS / file).open(encoding="utf-8", newline="") as stream:
        heads = next(csv.reader(stream))
    return [head for head in heads if head not in _PARTS_OF_THE_BOOK]


def assert_one_voice(folder: Path, catalogs: tuple[Path, ...]) -> bool:
    """Whether check answers; if so every outlet says the same."""
    try:
        catalog = load_catalog(catalogs)
        evaluation = evaluate(read_design(folder, catalog), catalog)
    except InputError:
        return False
    for said in verdicts(evaluation, Recalculated(evaluation)):
        words = {str(word) for word in (said.json, said.terminal, said.book) if word is not None}
        assert len(words) == 1, said
    return True


@pytest.mark.parametrize(
    ("name", "file"),
    [
        *(("gigabit", file) for file in FILES),
        ("multimode", "optics.csv"),
        ("multimode", "optic_reach.csv"),
        ("long haul", "joints.csv"),
        ("form C", "optics.csv"),
    ],
)
def test_a_blank_column_of_a_catalogue(tmp_path, name, file):
    segments = rows("p", *DESIGNS[name])
    design, answered = write_design(tmp_path / "d", segments), 0
    for number, column in enumerate(one_in(3, columns_of(file))):
        own = catalogue_without(tmp_path / f"{number}", file, column, parts_of(segments))
        if own is not None:
            answered += assert_one_voice(design, (own,))
    assert answered


@pytest.mark.parametrize("name", ["gigabit", "long haul"])
def test_a_blank_column_of_a_design(tmp_path, name):
    segments = rows("p", *DESIGNS[name])
    answered = 0
    for number, column in enumerate(one_in(2, _ROW_COLUMNS)):
        for place, row in enumerate(segments):
            if row.get(column):
                blanked = [r | {column: ""} if n == place else r for n, r in enumerate(segments)]
                folder = write_design(tmp_path / f"{number}-{place}", blanked)
                answered += assert_one_voice(folder, ())
    assert answered


def test_columns_that_were_blanked_are_all_there_are(tmp_path):
    """A new column of a family is blanked, too: nothing is listed by hand."""
    for file, family in FILES.items():
        declared = {column.name for column in family.columns} - set(_PARTS_OF_THE_BOOK)
        in_file = set(columns_of(file))
        assert {name for name in declared if name not in in_file} <= {
            "penalty_db",
            "max_volts",
            "price",
        }
