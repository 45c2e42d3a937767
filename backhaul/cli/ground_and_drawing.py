"""Commands that reach further than the tables: ground from elevation files, drawings."""

from pathlib import Path
from typing import Annotated

import typer

from backhaul.cli.common import CatalogDirs, DesignPath, app, output_option, print_lines
from backhaul.report.stream import say


@app.command()
def terrain(
    design: DesignPath,
    elevation: Annotated[
        list[Path],
        typer.Option("-e", "--elevation", help="Ground: a GeoTIFF, a .hgt or a folder of them."),
    ],
    output: Annotated[
        Path | None,
        output_option("An .xlsx, a folder, or a .csv of terrain alone."),
    ] = None,
    surface_model: Annotated[
        list[Path] | None,
        typer.Option(help="Levels with trees and buildings: the difference is cover_m."),
    ] = None,
    mask: Annotated[
        list[Path] | None, typer.Option(help="Classes of land cover, or 1 where there is water.")
    ] = None,
    surface: Annotated[
        list[str] | None, typer.Option(help="What a class of the mask is, such as 80=fresh.")
    ] = None,
    crs: Annotated[
        str | None, typer.Option(help="Reference system of files that name none: EPSG:4326.")
    ] = None,
    error_m: Annotated[
        float | None,
        typer.Option(help="Vertical error (90 %) where a file states none."),
    ] = None,
    replace: Annotated[
        bool, typer.Option("--replace", help="Take the files' levels for typed rows, too.")
    ] = False,
    catalog: CatalogDirs = None,
) -> None:
    """Fill the terrain table of the hops from elevation files that you have.

    Rows that were typed stand, and are compared; -o writes the design with the profiles in the
    form that it came in. Exit status 1 where a hop has no profile.
    """
    from backhaul.api import fill_terrain
    from backhaul.catalog import load_catalog
    from backhaul.design.read import read_design
    from backhaul.elevation.surfaces import read_surfaces_option
    from backhaul.report.changed_terrain import check_place, write_terrain
    from backhaul.report.ground_lines import exit_status, ground_lines, nothing_to_add
    from backhaul.report.outputs import check_outputs

    read_here = [design, *elevation, *(surface_model or ()), *(mask or ())]
    if output is not None:
        check_place(design, output)
        if output.suffix:
            check_outputs([output], read_here, catalog or ())
    read = read_design(design, load_catalog(catalog or ()))
    filled = fill_terrain(
        read,
        elevation,
        surface_model=surface_model or (),
        mask=mask or (),
        surfaces=read_surfaces_option(surface or (), read),
        crs=crs,
        error_m=error_m,
        replace=replace,
    )
    print_lines(ground_lines(filled))
    if output is None:
        say("nothing was written; -o says where", err=True)
    elif any(profile.terrain is not None for profile in filled.profiles):
        write_terrain(design, output, read, filled)
        say(f"{output}: written", err=True)
    else:
        say(f"{output}: not written, {nothing_to_add(filled)}", err=True)
    raise typer.Exit(exit_status(filled))


@app.command()
def drawing(
    design: DesignPath,
    output: Annotated[Path, output_option("A .pdf, .svg or .png.")],
    path: Annotated[
        list[str] | None, typer.Option(help="Only this path, with its branches.")
    ] = None,
    paper: Annotated[str, typer.Option(help="a4 or a3.")] = "a3",
    catalog: CatalogDirs = None,
) -> None:
    """Draw the design by its sites, and each path as a line from left to right.

    A .pdf has a page a sheet; in a .svg or .png the sheets stand one below the other.
    """
    from backhaul.catalog import load_catalog
    from backhaul.design.read import read_design
    from backhaul.drawing.drawn_file import drawing_bytes, form_of
    from backhaul.drawing.figure import library
    from backhaul.drawing.sheets import PAPERS
    from backhaul.evaluation import STAGES, evaluate
    from backhaul.report.outputs import check_outputs
    from backhaul.report.progress import ProgressBar
    from backhaul.safe_file import write_beside_and_rename

    if paper.lower() not in PAPERS:
        raise typer.BadParameter("a4 or a3", param_hint="--paper")
    check_outputs([output], [design], catalog or ())
    form = form_of(output.name)
    library()
    with ProgressBar(2 + len(STAGES)) as progress:
        progress("reading")
        parts = load_catalog(catalog or ())
        evaluation = evaluate(read_design(design, parts), parts, progress, remedies=False)
        progress("drawing")
        data = drawing_bytes(evaluation, form, paper=paper.lower(), paths=path or ())
    write_beside_and_rename(output, lambda: data, source=design)
    say(f"{output}: {evaluation.verdict}", err=True)
    raise typer.Exit(evaluation.exit_status)
