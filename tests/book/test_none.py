"""Designs with every "none" that there is: words in the place of a figure enter no arithmetic.

In turn every family of parts loses all that it may leave blank, so does every table of the demos,
and a band loses its limits. The whole book must build, and a second engine must compute from a copy
with wrong stored values what we stored. The blanks are invented.
"""

import shutil
from pathlib import Path

import book_formulas
import pytest
import recalculation
from small_designs import CATALOGS, write_table
from thorough import one_in
from typed_books import read, table

from backhaul.book.book import build_book
from backhaul.catalog.families import FAMILIES
from backhaul.design.columns import SEGMENTS, SITES
from backhaul.errors import InputError
from backhaul.spreadsheet.writer import write_book
from backhaul.tables.column import NUMBER

DEMO = Path(__file__).parents[2] / "demo"
_KEPT = ("part", "description", "source", "basis", "kind", "note")
#: Without these a design cannot be read.
_NEEDED = ("path", "step", "kind", "part", "site", "to_site", "label", "antenna", "channel_mhz")


def blank_family(folder: Path, family) -> Path:
    """A user's catalogue of a family with nothing in what may stay blank."""
    folder.mkdir()
    rows = table(CATALOGS / family.file)
    keep = {column.name for column in family.columns if column.required} | {*_KEPT, *family.key}
    for row in rows:
        for name in row:
            if name not in keep and not name.startswith("max_db_km"):
                row[name] = ""
    write_table(folder, family.file.removesuffix(".csv"), rows)
    return folder


def assert_engine_agrees(evaluation) -> None:
    data = write_book(build_book(evaluation))
    assert recalculation.compare(data) == []
    assert book_formulas.blanks(data) == []


@pytest.mark.parametrize(
    ("demo", "family"),
    one_in(3, [(demo, family) for family in FAMILIES for demo in ("reservoir", "estuary")]),
    ids=lambda value: getattr(value, "name", value),
)
def test_a_family_without_figures(demo, family, tmp_path):
    catalogs = (blank_family(tmp_path / "c", family),)
    try:
        evaluation = read(DEMO / demo, catalogs)
    except InputError:
        pytest.skip("cannot be read without them")
    assert_engine_agrees(evaluation)


@pytest.mark.parametrize("demo", ["reservoir", "estuary"])
@pytest.mark.parametrize(
    ("name", "columns"), [("segments", SEGMENTS), ("sites", SITES)], ids=["segments", "sites"]
)
def test_a_table_without_figures(demo, name, columns, tmp_path):
    target = shutil.copytree(DEMO / demo, tmp_path / "d")
    rows = table(target / f"{name}.csv")
    numbers = {column.name for column in columns if column.type == NUMBER} - {*_NEEDED}
    for row in rows:
        row.update(dict.fromkeys(numbers & row.keys(), ""))
    write_table(target, name, rows)
    (target / "terrain.csv").unlink()
    assert_engine_agrees(read(target))


@pytest.mark.parametrize("limits", ["none", "one of two"])
def test_a_band_without_a_limit(limits, tmp_path):
    """Two rules cover a channel; one has no limit, or both have none."""
    target = shutil.copytree(DEMO / "estuary", tmp_path / "d")
    rows = table(CATALOGS / "bands.csv")
    for row in rows:
        row.update(dict.fromkeys((n for n in row if n.endswith(("_dbm", "_dbm_mhz", "_dbi"))), ""))
    free = [row | {"part": f"free {row['part']}"} for row in table(CATALOGS / "bands.csv")]
    (tmp_path / "c").mkdir()
    write_table(tmp_path / "c", "bands", [*rows, *(free if limits != "none" else [])])
    assert_engine_agrees(read(target, (tmp_path / "c",)))
