"""Designs as files in every form, and a small catalogue that the reader can look up in."""

import csv
import io
from pathlib import Path
from types import SimpleNamespace

import pytest

from backhaul.design.read import read_design
from backhaul.errors import InputError
from backhaul.tables.names import squash

SEGMENT_HEADS = (
    "path",
    "step",
    "kind",
    "site",
    "to_site",
    "part",
    "length_m",
    "count",
    "strand",
    "label",
    "note",
)
#: reservoir: works to crest by fiber, crest to valve tower by radio (invented, for the tests)
SEGMENTS = [
    {"path": "crest", "step": 1, "kind": "device", "site": "Works", "part": "switch-8"},
    {"path": "crest", "step": 2, "kind": "optic", "site": "Works", "part": "1000base-lx10"},
    {
        "path": "crest",
        "step": 3,
        "kind": "fiber",
        "site": "Works",
        "to_site": "Crest",
        "part": "os2-12",
        "length_m": 1200.5,
        "strand": "1/2",
        "label": "F1",
    },
    {"path": "crest", "step": 4, "kind": "splice", "part": "fusion", "count": 2},
    {"path": "crest", "step": 5, "kind": "optic", "site": "Crest", "part": "1000base-lx10"},
    {"path": "crest", "step": 6, "kind": "device", "site": "Crest", "part": "switch-8"},
    {
        "path": "crest",
        "step": 7,
        "kind": "radio",
        "site": "Crest",
        "to_site": "Tower",
        "part": "radio-60",
        "height_m": 6,
        "to_height_m": 9.5,
        "label": "H1",
    },
]


class SmallCatalog:
    """Parts of every family, found as the real catalogue finds them."""

    def __init__(self):
        def parts(*names, **facts):
            return {name: SimpleNamespace(part=name, **facts) for name in names}

        self.fibers = parts("os2-12", "os2-24", "om3-12")
        self.joints = (
            parts("lc-upc", "sc-apc", kind="connector")
            | parts("fusion", kind="splice")
            | parts("5db-lc", kind="attenuator")
        )
        self.optics = parts("1000base-lx10", "1000base-bx10-d", "1000base-bx10-u")
        self.devices = parts("switch-8", "camera")
        self.radios = parts("radio-60", "radio-5")
        self.antennas = parts("dish-30", "dish-60")
        self.coppers = parts("cat6a-out", "cat5e")
        self.feeds = parts("2.5mm2")
        self.protectors = parts("protector-copper-1g")
        self.bands = (SimpleNamespace(region="US"), SimpleNamespace(region="CEPT"))

    def find(self, family, part):
        parts = getattr(self, family)
        return {squash(name): record for name, record in parts.items()}.get(squash(part))


@pytest.fixture(scope="session")
def catalog():
    return SmallCatalog()


def heads_of(rows: list[dict]) -> list[str]:
    return list(dict.fromkeys(name for row in rows for name in row))


def csv_text(rows: list[dict], separator: str = ",") -> str:
    """Rows as the text of a CSV."""
    out = io.StringIO()
    writer = csv.writer(out, delimiter=separator, lineterminator="\n")
    heads = heads_of(rows)
    writer.writerow(heads)
    for row in rows:
        writer.writerow([row.get(name, "") for name in heads])
    return out.getvalue()


def write_folder(folder: Path, tables: dict[str, list[dict]]) -> Path:
    folder.mkdir(exist_ok=True)
    for name, rows in tables.items():
        (folder / f"{name}.csv").write_text(csv_text(rows), encoding="utf-8")
    return folder


def write_book(path: Path, tables: dict[str, list[dict]], change=None) -> Path:
    """Tables as sheets; `change` may alter the workbook before it is saved."""
    import openpyxl

    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in tables.items():
        sheet = book.create_sheet(name)
        heads = heads_of(rows)
        sheet.append(heads)
        for row in rows:
            sheet.append([row.get(head) for head in heads])
    if change:
        change(book)
    book.save(path)
    return path


@pytest.fixture
def problems_of(catalog):
    """All problems of a source, one a line."""

    def problems(source: Path) -> str:
        with pytest.raises(InputError) as caught:
            read_design(source, catalog)
        return str(caught.value)

    return problems


@pytest.fixture(scope="session")
def forms():
    """The ways to write a design, and the rows of one that reads without a problem."""
    return SimpleNamespace(
        segments=SEGMENTS, csv_text=csv_text, folder=write_folder, book=write_book
    )


def pytest_configure(config):
    config.addinivalue_line("markers", "office: needs LibreOffice (soffice) on the machine")
