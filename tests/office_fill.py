"""LibreOffice types into cells of a book and saves it, as an installer would: by its own Basic."""

import subprocess
import tempfile
from collections.abc import Iterable
from pathlib import Path

_MODULE = """<?xml version="1.0" encoding="UTF-8"?>
<!DOCTYPE script:module PUBLIC "-//OpenOffice.org//DTD OfficeDocument 1.0//EN" "module.dtd">
<script:module xmlns:script="http://openoffice.org/2000/script" script:name="Module1"
 script:language="StarBasic">
Sub Fill(folder As String)
  Dim hidden(0) As New com.sun.star.beans.PropertyValue
  Dim kind(0) As New com.sun.star.beans.PropertyValue
  hidden(0).Name = "Hidden"
  hidden(0).Value = True
  kind(0).Name = "FilterName"
  kind(0).Value = "Calc MS Excel 2007 XML"
  book = StarDesktop.loadComponentFromURL(ConvertToURL(folder &amp; "/book.xlsx"), "_blank", 0, hidden())
  number = FreeFile
  Open folder &amp; "/cells.txt" For Input As #number
  Do While Not Eof(number)
    Line Input #number, text
    parts = Split(text, Chr(9))
    If UBound(parts) = 3 Then
      cell = book.Sheets.getByName(parts(0)).getCellRangeByName(parts(1))
      If parts(2) = "n" Then
        cell.setValue(Val(parts(3)))
      Else
        cell.setString(parts(3))
      End If
    End If
  Loop
  Close #number
  book.calculateAll()
  book.storeToURL(ConvertToURL(folder &amp; "/filled.xlsx"), kind())
  book.close(True)
End Sub
</script:module>
"""
_SECONDS = 240


def filled_by_office(data: bytes, cells: Iterable[tuple[str, str, float | str]]) -> bytes:
    """The book after LibreOffice has typed into cells (sheet, address, what) and saved it."""
    with tempfile.TemporaryDirectory(prefix="office-fill-", ignore_cleanup_errors=True) as name:
        folder = Path(name)
        _office(folder, "--terminate_after_init")  # the first start lays out the profile
        module = folder / "profile" / "user" / "basic" / "Standard" / "Module1.xba"
        module.write_text(_MODULE)
        (folder / "book.xlsx").write_bytes(data)
        lines = [
            f"{sheet}\t{address}\t{'t' if isinstance(what, str) else 'n'}\t{what!s}"
            for sheet, address, what in cells
        ]
        (folder / "cells.txt").write_text("\n".join(lines) + "\n")
        done = _office(folder, "--norestore", f'macro:///Standard.Module1.Fill("{folder}")')
        filled = folder / "filled.xlsx"
        if not filled.exists():
            raise RuntimeError(f"soffice wrote nothing: {done.stderr.decode(errors='replace')}")
        return filled.read_bytes()


def _office(folder: Path, *words: str) -> subprocess.CompletedProcess:
    profile = f"-env:UserInstallation=file://{folder}/profile"
    return subprocess.run(
        ["soffice", profile, "--headless", *words],
        capture_output=True,
        timeout=_SECONDS,
        check=False,
    )
