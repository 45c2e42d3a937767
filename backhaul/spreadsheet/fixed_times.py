"""A workbook of openpyxl as bytes that say nothing of the moment: the same twice."""

import re
from io import BytesIO
from typing import Any
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

_EARLIEST = (1980, 1, 1, 0, 0, 0)  # the earliest that a zip can say
_STAMP = re.compile(rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ")
_FIXED_STAMP = b"1980-01-01T00:00:00Z"
_CORE = "docProps/core.xml"


def same_bytes(book: Any) -> bytes:
    """Save a workbook without the time of day in it."""
    saved, out = BytesIO(), BytesIO()
    book.save(saved)
    with ZipFile(saved) as source, ZipFile(out, "w", ZIP_DEFLATED) as target:
        for name in source.namelist():
            content = source.read(name)
            if name == _CORE:
                content = _STAMP.sub(_FIXED_STAMP, content)
            info = ZipInfo(name, _EARLIEST)
            info.compress_type = ZIP_DEFLATED
            target.writestr(info, content)
    return out.getvalue()
