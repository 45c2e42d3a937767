"""Tiles in zip files, as public collections hand them out; opened with care."""

import zipfile
from functools import lru_cache
from pathlib import Path

import numpy as np

from backhaul.errors import InputError, Problem

SAMPLE = ">i2"
HGT = ".hgt"
#: Files in one zip; tiles come alone or with a remark.
_MOST_FILES = 100
#: Unpacked tiles that are kept: a hop crosses two, at a corner four. A 1″ tile has 26 MB.
_KEPT = 4
_NEEDED = "a zip file with one .hgt tile in it"


def packed_tile(path: Path) -> zipfile.ZipInfo:
    """The one tile of a zip file. Raises InputError where it has none, or cannot be used."""
    try:
        with zipfile.ZipFile(path) as packed:
            files = packed.infolist()
    except (zipfile.BadZipFile, zipfile.LargeZipFile, ValueError, NotImplementedError):
        raise InputError([Problem(str(path), "no zip file", _NEEDED)]) from None
    if len(files) > _MOST_FILES:
        raise InputError([Problem(str(path), f"a zip file of {len(files):,} files", _NEEDED)])
    tiles = [each for each in files if each.filename.lower().endswith(HGT) and _is_own(each)]
    if len(tiles) != 1:
        found = f"{len(tiles) or 'no'} .hgt tile{'s' if len(tiles) != 1 else ''} in it"
        remedy = "unpack it and give the folder" if tiles else ""
        raise InputError([Problem(str(path), found, _NEEDED, remedy)])
    (tile,) = tiles
    if tile.flag_bits & 1:
        raise InputError([Problem(str(path), "a zip file with a password", "one without")])
    if tile.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        raise InputError([Problem(str(path), "packed in a way that is not usual", _NEEDED)])
    return tile


def _is_own(file: zipfile.ZipInfo) -> bool:
    """Whether a file is none of those that a desktop puts beside each."""
    name = Path(file.filename).name
    return not name.startswith(".") and "__MACOSX" not in file.filename


@lru_cache(maxsize=_KEPT)
def unpacked(path: Path, side: int) -> np.ndarray:
    """The levels of a packed tile; no more is inflated than a tile of that side has."""
    tile, size = packed_tile(path), np.dtype(SAMPLE).itemsize * side * side
    try:
        with zipfile.ZipFile(path) as packed, packed.open(tile) as file:
            data = file.read(size + 1)
    except (zipfile.BadZipFile, EOFError, OSError, ValueError) as error:
        reason = str(error).lower() or "cannot be unpacked"
        raise InputError([Problem(str(path), reason, _NEEDED)]) from None
    if len(data) != size:
        found = f"{'more' if len(data) > size else 'fewer'} bytes than it states"
        raise InputError([Problem(str(path), found, _NEEDED)])
    return np.frombuffer(data, dtype=SAMPLE).reshape(side, side)
