"""Tiles of one degree named by their south-west corner (.hgt): 1″ or 3″, read without a library."""

import re
from collections.abc import Callable
from pathlib import Path

import numpy as np

from backhaul.elevation.packed import SAMPLE as _SAMPLE
from backhaul.elevation.packed import packed_tile, unpacked
from backhaul.elevation.raster import VOID, Raster
from backhaul.errors import InputError, Problem

#: Samples a side by bytes of the file: 2 bytes each, both edges of the degree among them.
_SIDES = {2 * side * side: side for side in (3601, 1201)}
_NAME = re.compile(r"^([NS])(\d{2})([EW])(\d{3})", re.IGNORECASE)
#: The levels of the format stand above the geoid EGM96 (as its public collections state it).
_DATUM = "EGM96, as is usual in .hgt"
WGS84 = "EPSG:4326"


def open_hgt(path: Path) -> Raster:
    """A tile; only what is asked for is read. Raises InputError where it is none."""
    return _tile(path, path.name, path.stat().st_size, _mapped)


def open_zipped_hgt(path: Path) -> Raster:
    """The one tile of a zip file. Raises InputError where there is none, or another number.

    It inflates when levels of it are asked for, and never to more than a tile has.
    """
    member = packed_tile(path)
    return _tile(path, Path(member.filename).name, member.file_size, unpacked)


def _mapped(path: Path, side: int) -> np.ndarray:
    return np.memmap(path, dtype=_SAMPLE, mode="r", shape=(side, side))


def _tile(path: Path, name: str, size: int, levels_of: Callable[[Path, int], np.ndarray]) -> Raster:
    named = _NAME.match(name)
    side = _SIDES.get(size)
    if named is None or side is None:
        found = "a name without its corner" if named is None else f"{size} bytes"
        found += f" in {name}" if name != path.name else ""
        needed = (
            "the south-west corner as the name, such as N51W021.hgt"
            if named is None
            else "a tile of 1201 or of 3601 samples a side, 16 bits each"
        )
        raise InputError([Problem(str(path), found, needed)])
    south, latitude, east, longitude = named.groups()
    bottom = int(latitude) * (-1 if south.upper() == "S" else 1)
    left = int(longitude) * (-1 if east.upper() == "W" else 1)
    step = 1 / (side - 1)

    def read(rows: slice, columns: slice) -> np.ndarray:
        values = np.asarray(levels_of(path, side)[rows, columns], dtype=float)
        values[values == VOID] = np.nan
        return values

    return Raster(
        name=path.name,
        crs=WGS84,
        in_degrees=True,
        left=left - step / 2,
        top=bottom + 1 + step / 2,
        step_x=step,
        step_y=-step,
        width=side,
        height=side,
        datum=_DATUM,
        error_m=None,
        read=read,
    )
