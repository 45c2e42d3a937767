"""Rasters side by side as one: bilinear between the cells, across the borders of files."""

import warnings
from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np

from backhaul.elevation.raster import HIGHEST_M, LOWEST_M, M_PER_DEGREE, Raster
from backhaul.physics.geometry import geodesic
from backhaul.units import M_PER_KM

#: Cells that are held at a time, and for each place; a longer stretch is read in pieces.
_MOST_CELLS, _CELLS_A_PLACE, _FEW_CELLS = 1 << 20, 400, 10_000
WGS84 = "EPSG:4326"


class Samples(NamedTuple):
    """Levels at places: NaN where there is none; `raster` is the file's number, -1 outside all."""

    value: np.ndarray
    raster: np.ndarray

    @property
    def is_outside(self) -> np.ndarray:
        return self.raster < 0


class Mosaic:
    """Several files. Those of one grid are one surface; of several grids, the first that has a
    level at a place gives it."""

    def __init__(self, rasters: Sequence[Raster]):
        self.rasters = tuple(rasters)
        self._grids: list[list[int]] = []
        for number, raster in enumerate(self.rasters):
            for grid in self._grids:
                if raster.is_on_grid_of(self.rasters[grid[0]]):
                    grid.append(number)
                    break
            else:
                self._grids.append([number])

    @property
    def names(self) -> tuple[str, ...]:
        """Of the files, by number."""
        return tuple(raster.name for raster in self.rasters)

    def steps_m(self, latitude: np.ndarray, longitude: np.ndarray) -> np.ndarray:
        """The shorter side of a cell of each raster, on the ground at each place [m].

        A row a place. A projection may count in feet, and stretch: it is asked by its own cells.
        """
        steps = np.zeros((len(latitude), len(self.rasters)))
        for grid in self._grids:
            first = self.rasters[grid[0]]
            steps[:, grid] = _cell_m(first, latitude, longitude)[:, None]
        return steps

    def covering(self, latitude: np.ndarray, longitude: np.ndarray) -> np.ndarray:
        """Number of the first file that each place lies in, -1 outside all; nothing is read."""
        found = np.full(len(latitude), -1)
        for grid in self._grids:
            row, column = self._cells(grid, latitude, longitude)
            inside = _GridOfFiles([(n, self.rasters[n]) for n in grid]).file_at(row, column)
            found = np.where(found < 0, inside, found)
        return found

    def _cells(self, grid: list[int], latitude, longitude) -> tuple[np.ndarray, np.ndarray]:
        """Rows and columns of places in a grid, whole at the centres of cells."""
        first = self.rasters[grid[0]]
        x, y = _placed(first, latitude, longitude)
        if first.in_degrees:  # counted from 0 to 360, or on beyond 180
            left = min(min(self.rasters[n].bounds[::2]) for n in grid)
            x = left + np.remainder(x - left, 360.0)
        return (y - first.top) / first.step_y - 0.5, (x - first.left) / first.step_x - 0.5

    def levels(self, latitude: np.ndarray, longitude: np.ndarray) -> Samples:
        """Levels at places, bilinear between the centres of the cells [m]."""
        return self._sampled(latitude, longitude, _bilinear, levels=True)

    def classes(self, latitude: np.ndarray, longitude: np.ndarray) -> Samples:
        """Values of the cells that the places lie in."""
        return self._sampled(latitude, longitude, _nearest, levels=False)

    def _sampled(self, latitude, longitude, pick: Callable, *, levels: bool) -> Samples:
        value = np.full(len(latitude), np.nan)
        raster = np.full(len(latitude), -1)
        for grid in self._grids:
            open_ = np.flatnonzero(np.isnan(value))
            if not len(open_):
                break
            row, column = self._cells(grid, latitude[open_], longitude[open_])
            files = _GridOfFiles([(n, self.rasters[n]) for n in grid], levels=levels)
            inside = files.file_at(row, column)
            here = inside >= 0
            value[open_[here]] = pick(files, row[here], column[here])
            new = here & (raster[open_] < 0) | here & ~np.isnan(value[open_])
            raster[open_[new]] = inside[new]
        return Samples(value, raster)


def _placed(raster: Raster, latitude, longitude) -> tuple[np.ndarray, np.ndarray]:
    """Places in the reference system of a raster; what it cannot hold is infinite."""
    if raster.crs == WGS84:
        return longitude, latitude
    import rasterio.warp

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        x, y = rasterio.warp.transform(WGS84, raster.crs, longitude, latitude)[:2]
    return np.asarray(x), np.asarray(y)


def _cell_m(raster: Raster, latitude: np.ndarray, longitude: np.ndarray) -> np.ndarray:
    """The shorter side of a cell at places [m]."""
    if raster.crs == WGS84:
        narrow = abs(raster.step_x) * np.cos(np.radians(latitude))
        return M_PER_DEGREE * np.minimum(narrow, abs(raster.step_y))
    x, y = _placed(raster, latitude, longitude)
    sides = []
    for across, along in ((raster.step_x, 0.0), (0.0, raster.step_y)):
        north, east = _on_earth(raster, x + across, y + along)
        is_there = np.isfinite(north) & np.isfinite(east)
        side = geodesic(
            latitude1=latitude,
            longitude1=longitude,
            latitude2=np.where(is_there, north, latitude),
            longitude2=np.where(is_there, east, longitude),
        )
        sides.append(np.where(is_there, side.distance_km * M_PER_KM, np.inf))
    return np.minimum(*sides)


def _on_earth(raster: Raster, x: np.ndarray, y: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Latitudes and longitudes of places in the reference system of a raster."""
    import rasterio.warp

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        longitude, latitude = rasterio.warp.transform(raster.crs, WGS84, x, y)[:2]
    return np.asarray(latitude), np.asarray(longitude)


class _GridOfFiles:
    """Files of one grid: cells by row and column, counted from the first file's corner."""

    def __init__(self, files: Sequence[tuple[int, Raster]], *, levels: bool = True):
        first = files[0][1]
        self.levels = levels
        self.files = [
            (
                number,
                raster,
                round((raster.top - first.top) / first.step_y),
                round((raster.left - first.left) / first.step_x),
            )
            for number, raster in files
        ]

    def file_at(self, row, column) -> np.ndarray:
        """Number of the file whose cell a place lies in, -1 outside all."""
        found = np.full(len(row), -1)
        for number, raster, top, left in reversed(self.files):
            inside = (row >= top - 0.5) & (row <= top + raster.height - 0.5)
            inside &= (column >= left - 0.5) & (column <= left + raster.width - 0.5)
            found[inside] = number
        return found

    def window(self, top: int, bottom: int, left: int, right: int) -> np.ndarray:
        """Cells of rows top to bottom and columns left to right, both with their ends.

        NaN is a void, infinite what lies outside all files.
        """
        cells = np.full((bottom - top + 1, right - left + 1), np.inf)
        for _, raster, above, before in self.files:
            rows = slice(max(top - above, 0), min(bottom + 1 - above, raster.height))
            columns = slice(max(left - before, 0), min(right + 1 - before, raster.width))
            if rows.start >= rows.stop or columns.start >= columns.stop:
                continue
            found = raster.read(rows, columns)
            if self.levels:
                found[(found < LOWEST_M) | (found > HIGHEST_M)] = np.nan
            into = cells[
                rows.start + above - top : rows.stop + above - top,
                columns.start + before - left : columns.stop + before - left,
            ]
            np.copyto(into, found, where=~np.isfinite(into))
        return cells


def _bilinear(files: _GridOfFiles, row: np.ndarray, column: np.ndarray) -> np.ndarray:
    """Between the four cells around each place; NaN where one that counts is a void.

    In the outer half of a border cell only cells that are there count.
    """
    return _in_pieces(_between, files, row, column)


def _nearest(files: _GridOfFiles, row: np.ndarray, column: np.ndarray) -> np.ndarray:
    return _in_pieces(_of_cell, files, row, column)


def _in_pieces(pick: Callable, files: _GridOfFiles, row, column) -> np.ndarray:
    """What `pick` finds, the places halved until their window is small."""
    if not len(row):
        return np.zeros(0)
    top, left = int(np.floor(row.min())), int(np.floor(column.min()))
    bottom, right = int(np.floor(row.max())) + 1, int(np.floor(column.max())) + 1
    most = min(_MOST_CELLS, _FEW_CELLS + _CELLS_A_PLACE * len(row))
    if (bottom - top + 1) * (right - left + 1) > most and len(row) > 1:
        half = len(row) // 2
        parts = (slice(half), slice(half, None))
        return np.concatenate([_in_pieces(pick, files, row[p], column[p]) for p in parts])
    return pick(files.window(top, bottom, left, right), row - top, column - left)


def _between(cells: np.ndarray, row: np.ndarray, column: np.ndarray) -> np.ndarray:
    down, right = np.floor(row).astype(int), np.floor(column).astype(int)
    total, shares = np.zeros(len(row)), np.zeros(len(row))
    for by_row in (0, 1):
        for by_column in (0, 1):
            share = np.abs(1 - by_row - (row - down)) * np.abs(1 - by_column - (column - right))
            level = cells[down + by_row, right + by_column]
            counts = (share > _COUNTS) & ~np.isinf(level)
            total += np.where(counts, share, 0.0) * np.where(counts, level, 0.0)
            shares += np.where(counts, share, 0.0)
    return total / shares


def _of_cell(cells: np.ndarray, row: np.ndarray, column: np.ndarray) -> np.ndarray:
    return cells[np.floor(row + 0.5).astype(int), np.floor(column + 0.5).astype(int)]


#: A neighbour that counts for less is not asked: a place on a row of cells needs no other row.
_COUNTS = 1e-9
