"""Tiles of one degree named by their south-west corner (.hgt): 1″ or 3″, read without a library."""

import re
from pathlib import Path

import numpy as np

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
    named = _NAME.match(path.stem)
    side = _SIDES.get(path.stat().st_size)
    if named is None or side is None:
        found = "a name without its corner" if named is None else f"{path.stat().st_size} bytes"
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
    levels = np.memmap(path, dtype=">i2", mode="r", shape=(side, side))

    def read(rows: slice, columns: slice) -> np.ndarray:
        values = np.asarray(levels[rows, columns], dtype=float)
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
