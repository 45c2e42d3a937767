"""A written workbook as openpyxl reads it, fast enough for many tests."""

import functools
import re
from io import BytesIO
from zipfile import ZipFile

_MERGED = re.compile(rb"<mergeCells\b.*?</mergeCells>", re.DOTALL)


def load(data: bytes, *, values: bool = False) -> object:
    return _loaded(data, values)


@functools.lru_cache(maxsize=8)
def _loaded(data: bytes, values: bool) -> object:
    import openpyxl

    return openpyxl.load_workbook(BytesIO(without_merged(data)), data_only=values)


def without_merged(data: bytes) -> bytes:
    """The workbook without merged cells: openpyxl takes most of its time to draw their borders."""
    out = BytesIO()
    with ZipFile(BytesIO(data)) as source, ZipFile(out, "w") as target:
        for name in source.namelist():
            part = source.read(name)
            if name.startswith("xl/worksheets/sheet"):
                part = _MERGED.sub(b"", part)
            target.writestr(name, part)
    return out.getvalue()
