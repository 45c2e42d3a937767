"""Which elevation files a run reads, by their names."""

from collections.abc import Iterable
from pathlib import Path

from backhaul.elevation.geotiff import open_geotiff
from backhaul.elevation.hgt import open_hgt, open_zipped_hgt
from backhaul.elevation.mosaic import Mosaic
from backhaul.elevation.packed import HGT
from backhaul.elevation.raster import Raster
from backhaul.errors import InputError, Problem, reason_of

ZIP = ".zip"
_ENDINGS = (HGT, HGT + ZIP, ".tif", ".tiff")


def open_files(paths: Iterable[Path], *, crs: str | None = None, levels: bool = True) -> Mosaic:
    """All files, and those in folders, as one. Raises InputError with every problem at once.

    crs: reference system of the files that name none. levels: they hold levels, not classes.
    """
    opened: list[Raster] = []
    problems: list[Problem] = []
    for path in _spread(paths, problems):
        try:
            opened.append(_opened(path, crs, levels=levels))
        except InputError as error:
            problems.extend(error.problems)
        except OSError as error:
            reason = reason_of(error)
            problems.append(Problem(str(path), reason, "a GeoTIFF or a .hgt tile"))
    if problems:
        raise InputError(problems)
    return Mosaic(opened)


def _opened(path: Path, crs: str | None, *, levels: bool) -> Raster:
    if not path.exists():
        raise InputError([Problem(str(path), "no such file", "a GeoTIFF or a .hgt tile")])
    if not path.is_file():
        raise InputError([Problem(str(path), "no regular file", "a GeoTIFF or a .hgt tile")])
    if path.suffix.lower() == HGT:
        return open_hgt(path)
    if path.suffix.lower() == ZIP:
        return open_zipped_hgt(path)
    return open_geotiff(path, crs=crs, levels=levels)


def _spread(paths: Iterable[Path], problems: list[Problem]) -> list[Path]:
    """The files, with those of folders in the place of the folder."""
    found: list[Path] = []
    for path in paths:
        if not path.is_dir():
            found.append(path)
            continue
        inside = sorted(each for each in path.iterdir() if each.name.lower().endswith(_ENDINGS))
        if not inside:
            problems.append(Problem(str(path), "a folder without one", "GeoTIFF or .hgt files"))
        found.extend(inside)
    return found
