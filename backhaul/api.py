"""The interface for Python: read a design, change it, evaluate it, write its workbook."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from backhaul.catalog import Catalog
from backhaul.catalog import load_catalog as _load_catalog
from backhaul.design.model import Design
from backhaul.design.read import read_design as _read_design
from backhaul.evaluation import Evaluation, Evaluator
from backhaul.evaluation import evaluate as _evaluate
from backhaul.progress import unwatched
from backhaul.remedies.settling import Settlement
from backhaul.remedies.settling import settle as _settle

if TYPE_CHECKING:
    from backhaul.as_built.acceptance import Acceptance
    from backhaul.elevation.profiles import Filled
    from backhaul.revisions.comparison import Comparison


def load_catalog(folders: Sequence[Path | str] = ()) -> Catalog:
    """The catalogues, with folders of your own laid over them."""
    return _load_catalog([Path(folder) for folder in folders])


@lru_cache(maxsize=1)
def _ours() -> Catalog:
    return load_catalog()


def read_design(source: Path | str, catalog: Catalog | None = None) -> Design:
    """Read a design: an .xlsx, a folder of .csv files, or a segments .csv.

    Raises InputError with all problems at once.
    """
    return _read_design(Path(source), catalog or _ours())


def evaluate(design: Design, catalog: Catalog | None = None) -> Evaluation:
    """Budget and check a design. Raises InputError where its rows cannot be put together."""
    return _evaluate(design, catalog or _ours())


def write_workbook(evaluation: Evaluation, path: Path | str) -> None:
    """Write the workbook; an existing file is replaced only by a whole one."""
    from backhaul.book.book import write_workbook as write

    write(evaluation, Path(path))


def fill_terrain(
    design: Design,
    elevation: Iterable[Path | str],
    *,
    surface_model: Iterable[Path | str] = (),
    mask: Iterable[Path | str] = (),
    surfaces: Mapping[int, str] | None = None,
    crs: str | None = None,
    error_m: float | None = None,
    replace: bool = False,
) -> "Filled":
    """Profiles of every hop with coordinates, from elevation files: `.design` has them.

    elevation: GeoTIFF, .hgt, zipped .hgt, or folders of them [m]. surface_model: levels with trees
    and buildings [m], for `cover_m`. mask: classes of land cover; surfaces: what a class of it is
    (land, sea, fresh, a name of `waters`). crs: of files that name none, such as EPSG:4326. error_m:
    vertical error (90 %) where a file states none, 0 to 500 m. replace: take the files' levels for
    typed rows, too. Raises InputError with every file that cannot be used, or lies under no hop.

    >>> import tempfile
    >>> import numpy as np
    >>> flat = np.full((1201, 1201), 180, dtype=">i2")  # from its north-west corner
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     tile = Path(folder, "N51W021.hgt")
    ...     _ = tile.write_bytes(flat.tobytes())
    ...     filled = fill_terrain(read_design("demo/reservoir"), [tile], replace=True)
    >>> {float(level) for level in filled.profiles[0].terrain.ground_m}
    {180.0}
    """
    from backhaul.elevation.files import open_files
    from backhaul.elevation.profiles import Files
    from backhaul.elevation.profiles import fill_terrain as fill

    top, classes = [Path(each) for each in surface_model], [Path(each) for each in mask]
    files = Files(
        open_files(map(Path, elevation), crs=crs),
        open_files(top, crs=crs) if top else None,
        open_files(classes, crs=crs, levels=False) if classes else None,
        surfaces or {},
        error_m,
    )
    return fill(design, files, replace=replace)


def draw(
    evaluation: Evaluation, path: Path | str, *, paper: str = "a3", paths: Sequence[str] = ()
) -> None:
    """Draw the design by its sites, and each path as a line: .pdf, .svg or .png.

    paper: a4 or a3. paths: only these, with their branches. Raises OutputError for another ending or
    without the drawing library, InputError for a path that is not there. An existing file is
    replaced only by a whole one.

    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     picture = Path(folder, "reservoir.svg")
    ...     draw(evaluate(read_design("demo/reservoir")), picture, paper="a4")
    ...     "<svg" in picture.read_text(encoding="utf-8")
    True
    """
    from backhaul.drawing.drawn_file import drawing_bytes, form_of
    from backhaul.safe_file import write_beside_and_rename

    path = Path(path)
    data = drawing_bytes(evaluation, form_of(path.name), paper=paper.lower(), paths=paths)
    write_beside_and_rename(path, lambda: data)


def settle(
    design: Design,
    catalog: Catalog | None = None,
    *,
    strict: bool = False,
    may_change_existing: bool = False,
    progress: Callable[[str, int], None] = unwatched,
) -> Settlement:
    """The cheapest set of changes with which the whole design passes, proved by evaluating it.

    Gives the edits, the changed design, its evaluation before and after, and what stays unsettled.
    """
    return _settle(
        design,
        Evaluator(catalog or _ours()),
        strict=strict,
        may_change_existing=may_change_existing,
        progress=progress,
    )


def compare(
    old: Design,
    new: Design,
    catalog: Catalog | None = None,
    *,
    progress: Callable[[str], None] = unwatched,
) -> "Comparison":
    """What changed from one revision of a design to the next: rows, verdicts, findings, figures,
    order list, site cards. Things are matched by name and label, then by their place.

    Raises InputError where the rows of one of them cannot be put together.

    >>> design = read_design("demo/reservoir")
    >>> higher = design.changed("tower", 15, height_m=9.0)
    >>> [(c.column, c.before, c.after) for c in compare(design, higher).changes]
    [('height_m', 7.0, 9.0)]
    >>> compare(design, design).is_empty
    True
    """
    from backhaul.revisions.comparison import Comparison

    evaluator = Evaluator(catalog or _ours())
    progress("old revision")
    before = evaluator(old)
    progress("new revision")
    after = evaluator(new)
    progress("comparing")
    return Comparison(before, after)


def read_readings(
    design: Design, books: Iterable[Path | str] = (), catalog: Catalog | None = None
) -> "Acceptance":
    """What was written on site cards, and in the design's own `readings`, against the design.

    books: workbooks of filled cards, or `readings` tables as .csv. Readings are found by their
    printed key. Raises InputError where a file cannot be read or is of another design.
    """
    from backhaul.as_built.acceptance import accept

    designed = _evaluate(design._replace(readings=()), catalog or _ours(), seek=False)
    return accept(designed, map(Path, books), design.readings)
