"""Georeferenced rasters in any projection, by the library rasterio (the extra `terrain`)."""

import re
import warnings
from pathlib import Path
from typing import Any

import numpy as np

from backhaul.elevation.raster import VOID, Raster
from backhaul.errors import InputError, Problem

_VERTICAL = re.compile(r'VERT_?(?:CS|CRS)\["([^"]+)"')
_VERTICAL_UNIT = re.compile(
    r'VERT_?(?:CS|CRS)\[.*?(?:LENGTH)?UNIT\["[^"]*",\s*([0-9.eE+-]+)', re.DOTALL
)
_ACCURACY = re.compile(r"accuracy|le90|rmse", re.IGNORECASE)
#: A figure that is no share ("LE90", "90 %").
_FIGURE = re.compile(r"(?<![\w.])\d+(?:\.\d+)?(?![\d.]|\s*(?:%|percent))")
_FOOT_M, _US_FOOT_M = 0.3048, 1200 / 3937
_UNITS_M = {"": 1.0, "m": 1.0, "metre": 1.0, "meter": 1.0, "metres": 1.0, "meters": 1.0}
_UNITS_M |= {"ft": _FOOT_M, "foot": _FOOT_M, "feet": _FOOT_M, "us survey foot": _US_FOOT_M}
_UNITS_M |= {"ftus": _US_FOOT_M, "us-ft": _US_FOOT_M}
#: Turned by less than this against its axes, a raster counts as upright [cells over its width].
_TURNED = 0.01
#: Blocks of files that the library keeps, whatever the memory of the machine [MB].
_CACHE_MB = 64
_INSTALL = "pip install 'backhaul[terrain]'"


def library(path: Path) -> Any:
    """rasterio. Raises InputError where it is not installed."""
    try:
        import rasterio
    except ImportError:
        raise InputError(
            [Problem(str(path), "a raster", "the library that reads it", _INSTALL)]
        ) from None
    return rasterio


def open_geotiff(path: Path, *, crs: str | None = None, levels: bool = True) -> Raster:
    """A raster; only what is asked for is read. Raises InputError where it cannot be used.

    crs: reference system of a file that names none. levels: it holds levels, not classes.
    """
    rasterio = library(path)

    def bad(found: str, needed: str, remedy: str = "") -> InputError:
        return InputError([Problem(str(path), found, needed, remedy)])

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of a file without a reference; told below
        try:
            source = rasterio.open(path, driver="GTiff")  # others may lead to other files
        except rasterio.errors.RasterioError:
            raise bad("no raster", "a GeoTIFF or a .hgt tile") from None
    turn = source.transform
    if "complex" in source.dtypes[0]:
        raise bad("complex numbers", "levels or classes")
    if source.count != 1 and levels:
        raise bad(f"{source.count} bands, a picture", "one band of levels")
    if turn.is_identity or not (turn.a and turn.e):
        raise bad("no georeference", "a raster that says where it lies", "export it as GeoTIFF")
    if abs(turn.b * source.width) + abs(turn.d * source.height) > _TURNED * abs(turn.a):
        raise bad("a raster turned against its axes", "rows that run east", "warp it upright")
    wkt, reference = _reference(rasterio, source, crs, bad)
    scale, shift = (source.scales[0] or 1.0), (source.offsets[0] or 0.0)
    unit_m = _unit_m(source, wkt, bad) if levels else 1.0
    empty = source.nodata

    def read(rows: slice, columns: slice) -> np.ndarray:
        window = ((rows.start, rows.stop), (columns.start, columns.stop))
        try:
            with rasterio.Env(GDAL_CACHEMAX=_CACHE_MB):
                found = source.read(1, window=window, masked=True)
        except rasterio.errors.RasterioError as fault:
            raise bad(f"cells that cannot be read ({fault})", "a whole file") from None
        values = found.astype(float).filled(np.nan)
        if empty is None and levels:
            values[values == VOID] = np.nan
        return (values * scale + shift) * unit_m

    vertical = _VERTICAL.search(wkt)
    return Raster(
        name=path.name,
        crs=wkt,
        in_degrees=reference.is_geographic,
        left=turn.c,
        top=turn.f,
        step_x=turn.a,
        step_y=turn.e,
        width=source.width,
        height=source.height,
        datum=vertical[1] if vertical else "",
        error_m=_stated_error_m(source),
        read=read,
        doubt=_doubt(source, wkt, reference) if levels else "",
    )


def _reference(rasterio, source, crs: str | None, bad) -> tuple[str, Any]:
    """The reference system of x and y, as text and as the library holds it."""
    reference = source.crs
    if reference is None and crs:
        try:
            reference = rasterio.crs.CRS.from_user_input(crs)
        except rasterio.errors.CRSError:
            raise InputError(
                [Problem("--crs", f"'{crs}'", "a reference system, such as EPSG:4326")]
            ) from None
    if reference is None:
        looks = source.bounds
        degrees = max(map(abs, looks)) <= 360
        raise bad(
            "degrees without a datum" if degrees else "no reference system",
            "a raster that names the reference system of its coordinates",
            "say it with --crs, such as --crs EPSG:4326",
        )
    wkt = reference.to_wkt()
    if not (reference.is_geographic or reference.is_projected):
        raise bad("a local grid without a place on earth", "a geographic or projected system")
    if re.search(r'\bDATUM\["(unknown|unspecified|not specified)', wkt, re.IGNORECASE):
        what = "degrees" if reference.is_geographic else "a projection"
        raise bad(
            f"{what} without a datum", "a raster that names its datum", "assign its datum first"
        )
    return wkt, reference


def _unit_m(source, wkt: str, bad) -> float:
    """Metres of one unit of level."""
    if named := (source.units[0] or "").strip().lower():
        if named not in _UNITS_M:
            raise bad(f"levels in '{named}'", "levels in metres or feet")
        return _UNITS_M[named]
    unit = _VERTICAL_UNIT.search(wkt)
    return float(unit[1]) if unit else 1.0


def _doubt(source, wkt: str, reference: Any) -> str:
    """Where both may be feet and only the one says so."""
    if reference.is_geographic or (source.units[0] or "").strip() or _VERTICAL_UNIT.search(wkt):
        return ""
    unit, factor = reference.linear_units_factor
    if factor == 1.0:
        return ""
    return f"its coordinates are in {unit}, and no unit of its levels is stated: taken as metres"


def _stated_error_m(source) -> float | None:
    """Vertical error that the file states in its metadata [m]."""
    for tags in (source.tags(), source.tags(1)):
        for name, text in tags.items():
            is_vertical = "horizontal" not in name.lower() and _ACCURACY.search(name)
            if is_vertical and (figure := _FIGURE.search(text)):
                return float(figure[0])
    return None
