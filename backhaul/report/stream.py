"""What goes to the standard streams: in any code page, without control signs, or not at all."""

import codecs
import io
import json
import os
import sys
from collections.abc import Iterator, Mapping
from typing import Any, NoReturn, TextIO

import typer

from backhaul.errors import OutputError, reason_of
from backhaul.exit_status import CLOSED_PIPE

#: Signs of reports and how they are written where a code page has none of them.
_PLAIN = {
    "→": "->",
    "←": "<-",
    "↔": "<->",
    "≥": ">=",
    "≤": "<=",
    "≈": "~",
    "×": "x",
    "·": "-",
    "–": "-",
    "—": "-",
    "−": "-",
    "’": "'",
    "‘": "'",
    "“": '"',
    "”": '"',
    "…": "...",
    "²": "2",
    "³": "3",
    "µ": "u",
    "μ": "u",
    "Ω": "ohm",
    "°": " deg ",
    "½": "1/2",
    "✓": "ok",
    "✗": "x",
    "█": "#",
    "•": "-",
    "§": "section ",
}


def _written_plainly(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    signs = error.object[error.start : error.end]
    plain = "".join(_PLAIN.get(sign, "?") for sign in signs)
    return plain, error.end


codecs.register_error("backhaul.plain", _written_plainly)


class _Stream(io.TextIOWrapper):
    """Standard output whose reader may have gone, or whose place may be full."""

    def write(self, text: str) -> int:
        try:
            return super().write(text)
        except OSError as error:
            self._fail(error)

    def flush(self) -> None:
        try:
            super().flush()
        except OSError as error:
            self._fail(error)

    def _fail(self, error: OSError) -> NoReturn:
        _to_nowhere(self)
        if isinstance(error, BrokenPipeError):
            raise SystemExit(CLOSED_PIPE) from None
        reason = reason_of(error)
        raise OutputError(f"standard output: {reason}; what was printed is not whole") from None


class _Messages(io.TextIOWrapper):
    """Standard error: nobody may be listening, and the answer stands all the same."""

    def write(self, text: str) -> int:
        try:
            return super().write(text)
        except OSError:
            _to_nowhere(self)
            return len(text)

    def flush(self) -> None:
        try:
            super().flush()
        except OSError:
            _to_nowhere(self)


class _Missing(io.TextIOBase):
    """Standard output that was closed before the start: what is printed is lost, and said so."""

    def write(self, text: str) -> int:
        if text:
            raise OutputError("standard output: it is closed, and the answer was to go there")
        return 0


def _to_nowhere(stream: io.TextIOWrapper) -> None:
    """What is still held back must not fail again when the process ends."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, stream.fileno())
    os.close(nowhere)


def prepare_streams() -> None:
    """Make the standard streams fit for what is printed; once, at the start."""
    has_output = sys.stdout is not None
    handle = os.open(os.devnull, os.O_RDWR)
    while handle < 3:  # a file that is opened later must not take the number of a closed stream
        handle = os.open(os.devnull, os.O_RDWR)
    os.close(handle)
    if not has_output:
        sys.stdout = _Missing()
    elif isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout = _as(_Stream, sys.stdout)
    if isinstance(sys.stderr, io.TextIOWrapper):
        sys.stderr = _as(_Messages, sys.stderr)


def _as(kind: type, stream: io.TextIOWrapper) -> io.TextIOWrapper:
    if os.name == "nt" and stream.isatty():  # a console takes all signs by itself
        return stream
    return kind(
        stream.detach(),
        encoding=stream.encoding,
        errors="backhaul.plain",
        line_buffering=stream.line_buffering,
    )


def clean(text: object) -> str:
    r"""A text that does nothing to a terminal: control and direction signs are left out.

    >>> clean("a\x1b]0;title\x07b\u202ec")
    'a]0;titlebc'
    """
    text = str(text)
    if text.isprintable():
        return text
    return "".join(sign for sign in text if sign.isprintable() or sign in "\n ")


def say(text: object, *, colour: str | None = None, err: bool = False) -> None:
    """Print a line; in a colour where somebody sees it."""
    line, stream = clean(text), sys.stderr if err else sys.stdout
    if stream is None:
        return
    if stream.isatty():
        typer.echo(typer.style(line, fg=colour) if colour else line, err=err)
    else:  # in the code page that it has, whatever the library thinks of that
        stream.write(line + "\n")


def write_json(data: Mapping[str, Any], stream: TextIO) -> None:
    """Write a record as JSON, one item of its lists a line; a list may still be an iterator.

    Path by path, so that a district does not stand twice in memory; ASCII, for any code page.
    """
    encode = json.JSONEncoder(allow_nan=False, check_circular=False).encode
    stream.write("{")
    for place, (key, value) in enumerate(data.items()):
        stream.write(f"{',' if place else ''}\n{encode(key)}: ")
        if isinstance(value, (list, Iterator)):
            stream.write("[")
            for index, item in enumerate(value):
                stream.write(",\n" if index else "\n")
                stream.write(encode(item))
            stream.write("\n]")
        else:
            stream.write(encode(value))
    stream.write("\n}\n")
