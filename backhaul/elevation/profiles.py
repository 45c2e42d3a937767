"""Profiles of hops from elevation files: levels, cover and surface at the step of the raster."""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any, NamedTuple

import numpy as np

from backhaul.design.columns import LAND, TERRAIN
from backhaul.design.model import Design, Terrain
from backhaul.elevation.doubts import doubtful, of_cover, of_doubts, of_seams, of_stripes
from backhaul.elevation.hops import Hop, hops_of
from backhaul.elevation.mosaic import Mosaic, Samples
from backhaul.elevation.remarks import Remark, of_ends, of_stretches, of_typed, unplaced
from backhaul.elevation.surfaces import meanings
from backhaul.errors import InputError, Problem
from backhaul.findings import FAIL, NOTE, THIN
from backhaul.path.terrain import ASSUMED_ERROR_M, ERROR_ASSUMED
from backhaul.physics.sampling import GAP_SHARE, LARGEST_GAP_KM
from backhaul.tables.faults import needs
from backhaul.units import M_PER_KM

#: Places at which a hop is asked which raster lies under it.
_SCOUTS = 17
_ERROR = next(column for column in TERRAIN if column.name == "error_m")
#: Rows that one hop gets at most; of a finer raster the highest of each stretch.
MOST_ROWS = 2000
#: So many steps between two files are a void between them.
_CRACK = 2


class Files(NamedTuple):
    """What profiles are taken from."""

    ground: Mosaic
    #: levels of what stands on the ground: trees, buildings
    top: Mosaic | None = None
    #: classes of what covers the ground, and the surface that each means, as typed
    mask: Mosaic | None = None
    surfaces: Mapping[int, str] = {}
    #: vertical error where a file states none [m]
    error_m: float | None = None


class Profile(NamedTuple):
    """What became of one hop: its rows, None where it keeps its own or has none."""

    hop: Hop
    terrain: Terrain | None
    step_m: float | None
    remarks: tuple[Remark, ...]
    #: rows were typed and stand
    is_kept: bool = False


class Filled(NamedTuple):
    """A design whose hops have profiles from files."""

    design: Design
    profiles: tuple[Profile, ...]
    #: names of files that lie under no hop
    unused: tuple[str, ...] = ()

    @property
    def remarks(self) -> tuple[Remark, ...]:
        """All that is to be said, each once."""
        return tuple(dict.fromkeys(r for one in self.profiles for r in one.remarks))


def fill_terrain(design: Design, files: Files, *, replace: bool = False) -> Filled:
    """Profiles of every hop with coordinates, from files.

    Rows that were typed stand and are compared with the files, unless `replace`; rows that came
    from a file are taken anew. The digest stays that of what was read. Raises InputError for an
    error that the column of it may not hold.
    """
    if files.error_m is not None and not _ERROR.holds(files.error_m):
        raise InputError([Problem("--error-m", f"{files.error_m:g}", needs(_ERROR))])
    hops = hops_of(design)
    placed = [hop for hop in hops if hop.length_m > 0]
    found = dict(zip((hop.key for hop in placed), _sampled(placed, files, design), strict=True))
    unused = _unused(placed, found, files)
    profiles = []
    idle = list(_idle_classes(files, found.values()))
    terrain = dict(design.terrain)
    for hop in hops:
        if hop.key not in found:
            profiles.append(Profile(hop, None, None, (unplaced(hop),)))
            continue
        profile = _profile(hop, found[hop.key], files, design, replace=replace)
        profile = profile._replace(remarks=(*profile.remarks, *idle))
        if profile.terrain is not None:
            for path in hop.row.path:
                terrain.pop((path, hop.row.step), None)
            terrain[hop.key] = profile.terrain
        profiles.append(profile)
    return Filled(design._replace(terrain=terrain), tuple(profiles), unused)


def _idle_classes(files: Files, lines: Iterable["_Line"]) -> Iterator[Remark]:
    """That no class which is named a water lies under a hop."""
    there = {str(name) for line in lines for name in np.unique(line.surface.astype(str))}
    named = {number: name for number, name in files.surfaces.items() if name != LAND}
    if files.mask is not None and named and there.isdisjoint(named.values()):
        classes = ", ".join(map(str, named))
        yield Remark(NOTE, "--surface", f"no hop runs over class {classes} of the mask")


def _unused(hops: list[Hop], found: Mapping[tuple, "_Line"], files: Files) -> tuple[str, ...]:
    """Names of the files under no hop. Raises InputError where all are such."""
    used = {int(n) for line in found.values() for n in np.unique(line.ground.raster)}
    idle = [raster for n, raster in enumerate(files.ground.rasters) if n not in used]
    if hops and len(idle) == len(files.ground.rasters):
        hop = hops[0]
        first, last = hop.ends
        needed = (
            f"a file under a hop: {hop.title} runs from {first[0]:.4f}, {first[1]:.4f} to "
            f"{last[0]:.4f}, {last[1]:.4f} ({' and '.join(hop.tiles)})"
        )
        raise InputError([Problem(one.name, one.extent, needed) for one in idle])
    return tuple(raster.name for raster in idle)


class _Line(NamedTuple):
    """What the files hold along one hop; distances along the geodesic."""

    distance_m: np.ndarray
    ground: Samples
    top_m: np.ndarray | None
    surface: np.ndarray
    #: places that the mask does not reach
    unmasked: np.ndarray
    step_m: float | None


def _sampled(hops: list[Hop], files: Files, design: Design) -> list[_Line]:
    """All hops in one go: places are put into a raster's own system many at a time."""
    steps = _steps(hops, files)
    shares = [
        np.linspace(0.0, 1.0, max(int(np.ceil(hop.length_m / step)), 1) + 1)
        for hop, step in zip(
            hops, (step or hop.length_m / _SCOUTS for hop, step in zip(hops, steps))
        )
    ]
    places = [hop.places(share) for hop, share in zip(hops, shares, strict=True)]
    if not places:
        return []
    latitude, longitude = (np.concatenate(column) for column in zip(*places, strict=True))
    ground = files.ground.levels(latitude, longitude)
    top = None if files.top is None else files.top.levels(latitude, longitude).value
    classes = None if files.mask is None else files.mask.classes(latitude, longitude).value
    surface = np.full(len(latitude), LAND, dtype=object)
    if classes is not None:
        for number, name in meanings(files.surfaces, classes, design).items():
            surface[classes == number] = name
    lines, start = [], 0
    for hop, share, step in zip(hops, shares, steps, strict=True):
        own = slice(start, start + len(share))
        start = own.stop
        lines.append(
            _Line(
                share * hop.length_m,
                Samples(ground.value[own], ground.raster[own]),
                None if top is None else top[own],
                surface[own],
                np.zeros(len(share), bool) if classes is None else np.isnan(classes[own]),
                step,
            )
        )
    return lines


def _steps(hops: list[Hop], files: Files) -> list[float | None]:
    """Step of the finest raster under each hop [m], None where none lies there."""
    share = np.linspace(0.0, 1.0, _SCOUTS)
    places = [hop.places(share) for hop in hops]
    if not places:
        return []
    latitude, longitude = (np.concatenate(column) for column in zip(*places, strict=True))
    used = files.ground.covering(latitude, longitude).reshape(-1, _SCOUTS)
    middles = np.arange(len(hops)) * _SCOUTS + _SCOUTS // 2
    steps = files.ground.steps_m(latitude[middles], longitude[middles])
    return [
        min((float(of[n]) for n in np.unique(own).tolist() if n >= 0), default=None)
        for own, of in zip(used, steps, strict=True)
    ]


def _profile(hop: Hop, line: _Line, files: Files, design: Design, *, replace: bool) -> Profile:
    """Rows of one hop, or why it has none."""
    typed = hop.terrain(design)
    is_kept = typed is not None and not replace and not typed.sources
    is_land = line.surface == LAND
    level = np.where(is_land, line.ground.value, np.nan)
    doubts = doubtful(level)
    level = np.where(doubts.stripe, np.nan, level)
    is_outside = line.ground.is_outside & is_land & ~_crack(line.ground.is_outside)
    outside = f"outside all files ({' and '.join(hop.tiles)})"
    remarks = [
        *of_stretches(
            hop,
            line.distance_m,
            is_outside,
            outside,
            NOTE if is_kept else FAIL,
        ),
        *of_stretches(hop, line.distance_m, line.unmasked, "outside the mask: taken as land", NOTE),
        *_of_files(files.ground, line),
        *of_doubts(hop, line.distance_m, doubts),
        *(
            ()
            if line.top_m is None or is_kept
            else of_cover(hop, line.distance_m, level, line.top_m)
        ),
        *of_seams(hop, line.distance_m, level, line.ground.raster, files.ground.names),
        *of_ends(hop, level),
    ]
    if typed is not None and is_kept:
        remarks += of_typed(hop, typed, line.distance_m, level)
        return Profile(hop, None, line.step_m, tuple(remarks), is_kept=True)
    void = np.isnan(level) & is_land & ~is_outside & ~doubts.stripe
    if not is_outside.any():
        level, more = _ends_known(hop, level, is_land)
        remarks += more
    broad = _broad_gaps(line.distance_m, np.isnan(level) & is_land)
    said = "no level in the file" + ("" if broad else "; straight between")
    remarks += of_stretches(hop, line.distance_m, void, said, FAIL if broad else NOTE)
    remarks += of_stripes(hop, line.distance_m, doubts.stripe, FAIL if broad else THIN)
    if broad or is_outside.any() or any(remark.severity == FAIL for remark in remarks):
        return Profile(hop, None, line.step_m, tuple(remarks))
    made = _rows(line, level, is_land, files, hop.scale(design))
    return Profile(hop, made, line.step_m, tuple(remarks))


def _crack(is_outside: np.ndarray) -> np.ndarray:
    """Places between two files that meet but for a cell or two: a void like any other."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], is_outside, [False])).astype(int)))
    crack = np.zeros(len(is_outside), bool)
    for first, after in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        if first > 0 and after < len(is_outside) and after - first <= _CRACK:
            crack[first:after] = True
    return crack


def _of_files(ground: Mosaic, line: _Line) -> list[Remark]:
    """What is doubtful of the files under a hop."""
    under = [ground.rasters[n] for n in np.unique(line.ground.raster).tolist() if n >= 0]
    remedy = "state the unit of the levels in the file, or have them in metres"
    return [Remark(THIN, one.name, one.doubt, remedy) for one in under if one.doubt]


def _ends_known(hop: Hop, level: np.ndarray, is_land) -> tuple[np.ndarray, list[Remark]]:
    """Levels with those of the sites at ends where the file has none."""
    level, remarks = level.copy(), []
    for end, site in zip((0, -1), hop.sites, strict=True):
        if np.isnan(level[end]) and is_land[end] and site is not None and site.ground_m is not None:
            level[end] = site.ground_m
            remarks.append(Remark(NOTE, hop.title, f"ground_m of {site.site} stands at its end"))
    return level, remarks


def _broad_gaps(distance_m: np.ndarray, gap: np.ndarray) -> bool:
    """Whether a gap reaches an end, or is wider than may be bridged."""
    if gap[0] or gap[-1]:
        return True
    known = distance_m[~gap]
    allowed = min(LARGEST_GAP_KM, distance_m[-1] / M_PER_KM / GAP_SHARE) * M_PER_KM
    return bool(gap.any() and np.diff(known).max() > max(allowed, 2 * distance_m[1]))


def _rows(line: _Line, level: np.ndarray, is_land, files: Files, scale: float) -> Terrain:
    """The rows that are written: of water only where it begins."""
    cover = np.zeros(len(level))
    if line.top_m is not None:
        cover = np.where(is_land, np.nan_to_num(np.maximum(line.top_m - level, 0.0)), 0.0)
        cover[0] = 0.0  # what the site itself stands on, or is
    begins = np.append(True, line.surface[1:] != line.surface[:-1])
    ends = np.arange(len(level)) == len(level) - 1
    wanted = begins | ends | (is_land & ~np.isnan(level))
    kept = _highest(np.flatnonzero(wanted), level + cover, begins | ends)
    numbers = line.ground.raster[kept]
    rasters = files.ground.rasters
    on_file = is_land[kept] & (numbers >= 0) & ~np.isnan(line.ground.value[kept])
    return Terrain(
        np.round(line.distance_m[kept] * scale, 2),
        np.round(level[kept], 1),
        np.round(cover[kept], 1),
        line.surface[kept].astype(str),
        source=tuple(
            _source(rasters[n], files.error_m) if known else None
            for n, known in zip(numbers.tolist(), on_file.tolist(), strict=True)
        ),
        error_m=np.array(
            [
                _error_m(rasters[n], files.error_m) if known else np.nan
                for n, known in zip(numbers.tolist(), on_file.tolist(), strict=True)
            ]
        ),
    )


def _highest(places: np.ndarray, top_m: np.ndarray, must: np.ndarray) -> np.ndarray:
    """Places thinned to `MOST_ROWS`: of each stretch the highest, and all that must stay."""
    if len(places) <= MOST_ROWS:
        return places
    stretches = np.array_split(places, MOST_ROWS)
    highest = [int(one[np.argmax(np.nan_to_num(top_m[one], nan=-np.inf))]) for one in stretches]
    return np.union1d(highest, places[must[places]])


def _source(raster: Any, typed_m: float | None) -> str:
    """Name and datum of a file, and that nobody states its error."""
    named = f"{raster.name}, {raster.datum}" if raster.datum else raster.name
    return named if _stated_m(raster, typed_m) is not None else f"{named}{ERROR_ASSUMED}"


def _error_m(raster: Any, typed_m: float | None) -> float:
    """Vertical error of a file [m]: stated, typed, else assumed."""
    stated = _stated_m(raster, typed_m)
    return ASSUMED_ERROR_M if stated is None else stated


def _stated_m(raster: Any, typed_m: float | None) -> float | None:
    return typed_m if raster.error_m is None else raster.error_m
