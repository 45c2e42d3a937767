"""A raster of levels: where its cells lie, and how a window of them is read."""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

#: What stands for "no level" in 16-bit rasters, by common practice.
VOID = -32768
#: Levels outside are no ground: the limits of `ground_m`.
LOWEST_M, HIGHEST_M = -500.0, 9000.0
#: Cells of two files count as of one grid where they lie so close to each other [cells].
_ALIGNED = 0.01
#: Metres of one degree of latitude, for the size of a cell only [m].
M_PER_DEGREE = 111_195.0


class Raster(NamedTuple):
    """One file. Cells run from its left upper corner; step_y is negative where rows run southwards."""

    name: str
    #: reference system of its x and y, as rasterio takes it
    crs: str
    in_degrees: bool
    left: float
    top: float
    step_x: float
    step_y: float
    width: int
    height: int
    #: vertical reference, "" where the file names none
    datum: str
    #: vertical error that the file states [m]
    error_m: float | None
    #: levels of rows and columns, NaN where there is none
    read: Callable[[slice, slice], np.ndarray]
    #: what of it is taken as it may not be meant
    doubt: str = ""

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Left, lower, right and upper edge, in its own reference system."""
        ys = sorted((self.top, self.top + self.height * self.step_y))
        return self.left, ys[0], self.left + self.width * self.step_x, ys[1]

    @property
    def extent(self) -> str:
        """Where it lies, in words."""
        left, lower, right, upper = self.bounds
        if self.in_degrees:
            return f"latitudes {lower:.2f} to {upper:.2f}, longitudes {left:.2f} to {right:.2f}"
        return f"x {left:.0f} to {right:.0f}, y {lower:.0f} to {upper:.0f} of its projection"

    def is_on_grid_of(self, other: "Raster") -> bool:
        """Whether the cells of both are cells of one grid."""
        if self.crs != other.crs:
            return False
        for one, two, step, its in (
            (self.left, other.left, self.step_x, other.step_x),
            (self.top, other.top, self.step_y, other.step_y),
        ):
            shift = (one - two) / step
            drift = (step - its) * max(self.width, self.height) / step
            if abs(drift) > _ALIGNED or abs(shift - round(shift)) > _ALIGNED:
                return False
        return True
