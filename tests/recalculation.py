"""Does a second program compute from our formulas the values that we stored beside them?

Two engines: LibreOffice (headless, about two seconds) and formualizer (in memory, for every
run). A program may trust the stored values and prove nothing, so each comparison runs on a
poisoned copy: every stored value is replaced by a wrong one, and an engine that does not
calculate leaves it standing, which is a mismatch.
"""

import functools
import os
import re
import shutil
import subprocess
import tempfile
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import NamedTuple
from zipfile import ZIP_STORED, ZipFile

from book_formulas import CELL
from openpyxl.utils.cell import coordinate_to_tuple
from raw_cells import RawCell, raw_cells

Values = dict[str, dict[str, object]]

_WRONG_NUMBER = "-987654.25"
_SECONDS = 240
# The profile setting that makes LibreOffice calculate what it loads: 0 = always.
_PROFILE = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<oor:items xmlns:oor="http://openoffice.org/2001/registry">'
    '<item oor:path="/org.openoffice.Office.Calc/Formula/Load">'
    '<prop oor:name="OOXMLRecalcMode" oor:op="fuse"><value>0</value></prop></item></oor:items>'
)
_BLANK = RawCell(None)
_TYPE = re.compile(r'\bt="(\w+)"')


class Mismatch(NamedTuple):
    """A formula cell whose stored value a second program does not confirm."""

    sheet: str
    address: str
    formula: str
    stored: object
    computed: object


def _change_sheets(data: bytes, change: Callable[[re.Match], str]) -> bytes:
    out = BytesIO()
    with ZipFile(BytesIO(data)) as source, ZipFile(out, "w", ZIP_STORED) as target:
        for name in source.namelist():
            part = source.read(name)
            if name.startswith("xl/worksheets/sheet"):
                part = CELL.sub(change, part.decode()).encode()
            target.writestr(name, part)
    return out.getvalue()


def without_caches(data: bytes) -> bytes:
    """The workbook as openpyxl would have left it: no value beside any formula."""
    return _change_sheets(data, lambda cell: f"<c{_TYPE.sub('', cell[1])}>{cell[2]}</c>")


def poison(data: bytes) -> bytes:
    """The workbook with a wrong value of the right type beside every formula."""

    def spoil(cell: re.Match) -> str:
        kind = _TYPE.search(cell[1])
        if kind is None:
            wrong = _WRONG_NUMBER
        elif kind[1] == "b":
            wrong = "0" if cell[3] == "1" else "1"
        else:
            wrong = "poisoned"
        return f"<c{cell[1]}>{cell[2]}<v>{wrong}</v></c>"

    return _change_sheets(data, spoil)


def stored_values(data: bytes) -> Values:
    """The value beside every formula, as it stands in the file."""
    return {
        sheet: {address: cell.value for address, cell in cells.items() if cell.formula is not None}
        for sheet, cells in raw_cells(data).items()
    }


def has_office() -> bool:
    """Is LibreOffice here?"""
    return shutil.which("soffice") is not None


def office_is_required() -> bool:
    """On a build server a missing LibreOffice is a failure, not a reason to skip."""
    return os.environ.get("CI", "").lower() in {"1", "true"}


@functools.cache
def _profile() -> tempfile.TemporaryDirectory:
    folder = tempfile.TemporaryDirectory(prefix="office-profile-", ignore_cleanup_errors=True)
    user = Path(folder.name) / "user"
    user.mkdir()
    (user / "registrymodifications.xcu").write_text(_PROFILE)
    return folder


def convert(data: bytes, kind: str) -> bytes:
    """The workbook calculated and saved by LibreOffice as `xlsx`, `pdf`, …"""
    with tempfile.TemporaryDirectory() as folder:
        source = Path(folder) / "book.xlsx"
        source.write_bytes(data)
        out = Path(folder) / "out"
        profile = Path(_profile().name).as_uri()
        command = [
            "soffice",
            f"-env:UserInstallation={profile}",
            "--headless",
            "--convert-to",
            kind,
            "--outdir",
            str(out),
            str(source),
        ]
        done = subprocess.run(command, capture_output=True, timeout=_SECONDS, check=False)
        target = out / f"book.{kind}"
        if not target.exists():
            raise RuntimeError(f"soffice wrote nothing: {done.stderr.decode(errors='replace')}")
        return target.read_bytes()


#: Engines that leave a file behind, beside the one in memory.
ENGINES: dict[str, Callable[[bytes], bytes]] = {"office": lambda data: convert(data, "xlsx")}


class InMemory:
    """A workbook in the memory of formualizer, which is typed into and recalculated at once."""

    def __init__(self, data: bytes):
        import formualizer

        self._cells = raw_cells(data)
        self._engine = formualizer.load_workbook_bytes(data)
        self._formulas = [
            (sheet, address)
            for sheet, cells in self._cells.items()
            for address, cell in cells.items()
            if cell.formula is not None
        ]
        self._places = [(sheet, *coordinate_to_tuple(at)) for sheet, at in self._formulas]

    def values(self) -> Values:
        """Every formula cell as it computes it."""
        self._engine.evaluate_all()
        found: Values = {sheet: {} for sheet in self._cells}
        computed = self._engine.evaluate_cells(self._places)
        for (sheet, address), value in zip(self._formulas, computed, strict=True):
            found[sheet][address] = _as_in_a_file(value)
        return found

    def typed(self, values: dict[tuple[str, str], object]) -> Values:
        """Every formula cell with figures typed over others, which are as before afterwards."""
        for (sheet, address), value in values.items():
            before = self._cells[sheet].get(address, _BLANK)
            assert before.formula is None, f"{sheet}!{address} holds a formula"
            self._engine.set_value(sheet, *coordinate_to_tuple(address), value)
        found = self.values()
        for sheet, address in values:
            before = self._cells[sheet].get(address, _BLANK)
            self._engine.set_value(sheet, *coordinate_to_tuple(address), before.value)
        return found


_ERRORS = {"Div": "#DIV/0!", "Na": "#N/A", "Name": "#NAME?", "Null": "#NULL!", "Num": "#NUM!"}


def _as_in_a_file(value: object) -> object:
    """A computed value as it would be read from a file."""
    if isinstance(value, dict):
        return _ERRORS.get(value["kind"], f"#{value['kind'].upper()}!")
    if isinstance(value, float) and value.is_integer():
        return int(value)
    return None if value == "" else value


def recalculate(book: bytes | Path, engine: str = "office") -> Values:
    """Every formula cell as an engine computes it from a copy without stored values."""
    data = book if isinstance(book, bytes) else book.read_bytes()
    return _computed(without_caches(data), data, engine)


def _computed(changed: bytes, original: bytes, engine: str) -> Values:
    if engine == "formualizer":
        return InMemory(changed).values()
    values = raw_cells(ENGINES[engine](changed))
    return {
        sheet: {address: values[sheet].get(address, _BLANK).value for address in formulas}
        for sheet, formulas in stored_values(original).items()
    }


def compare(data: bytes, tolerance: float = 1e-9, engine: str = "formualizer") -> list[Mismatch]:
    """The formula cells of a poisoned copy that an engine does not bring back to our values."""
    computed = _computed(poison(data), data, engine)
    return [
        Mismatch(sheet, address, cell.formula, cell.value, computed[sheet][address])
        for sheet, cells in raw_cells(data).items()
        for address, cell in cells.items()
        if cell.formula is not None and not _agree(cell.value, computed[sheet][address], tolerance)
    ]


def _agree(ours: object, theirs: object, tolerance: float) -> bool:
    numbers = isinstance(ours, int | float) and isinstance(theirs, int | float)
    if numbers and not isinstance(ours, bool) and not isinstance(theirs, bool):
        return abs(ours - theirs) <= tolerance * max(1.0, abs(ours))
    if ours in (None, "") and theirs in (None, ""):
        return True
    if isinstance(ours, bool) and isinstance(theirs, int | float):
        return ours == theirs  # LibreOffice writes TRUE as 1 where the format is not logical
    return type(ours) is type(theirs) and ours == theirs
