"""A file that a user hands over: looked at before it is opened, and never read without an end."""

import os
import stat
from pathlib import Path


class TooLarge(Exception):
    """A file of more bytes than anybody would write by hand."""


def read_capped(path: Path, most: int) -> bytes:
    """All bytes of a regular file of at most `most` bytes.

    A pipe or a device would be waited for without an end. Raises OSError, TooLarge.
    """
    if not stat.S_ISREG(path.stat().st_mode):
        raise OSError(0, "no regular file")
    handle = os.open(path, os.O_RDONLY | getattr(os, "O_BINARY", 0) | getattr(os, "O_NONBLOCK", 0))
    with os.fdopen(handle, "rb") as stream:
        data = stream.read(most + 1)
    if len(data) > most:
        raise TooLarge
    return data
