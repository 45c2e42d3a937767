"""Commands before there is a design: an empty one to fill in, what the catalogues hold."""

from pathlib import Path
from typing import Annotated

import typer

from backhaul.cli.common import CatalogDirs, app, output_option, output_place
from backhaul.report.stream import say


@app.command()
def blank(
    output: Annotated[Path, typer.Argument(parser=output_place, help="The .xlsx to write.")],
    example: Annotated[bool, typer.Option(help="Fill in an example.")] = False,
    force: Annotated[bool, typer.Option("--force", help="Replace a file that is there.")] = False,
    units: Annotated[str, typer.Option(help="metric, or US for columns in feet.")] = "metric",
    catalog: CatalogDirs = None,
) -> None:
    """Write an empty design to fill in, with drop-downs from the catalogues."""
    from backhaul.catalog import load_catalog
    from backhaul.design.blank import write_blank
    from backhaul.design.settings import UNITS
    from backhaul.errors import OutputError
    from backhaul.report.outputs import check_ending, check_outputs

    known = {each.lower(): each for each in UNITS}
    if units.lower() not in known:
        raise typer.BadParameter("metric or US", param_hint="--units")
    check_outputs([output], (), catalog or (), force=True)
    check_ending(output, "a blank design is a workbook", ".xlsx")
    if output.exists() and not force:
        raise OutputError(f"{output}: there is a file by that name; --force replaces it")
    write_blank(output, load_catalog(catalog or ()), example=example, units=known[units.lower()])
    say(f"{output}: written", err=True)


@app.command()
def parts(
    kind: Annotated[
        str | None,
        typer.Argument(
            help="Family or kind, such as optics; with --as-csv a part.", metavar="NAME"
        ),
    ] = None,
    contains: Annotated[
        str | None, typer.Option("--with", help="Only parts with this text.")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print as JSON.")] = False,
    as_csv: Annotated[
        bool, typer.Option("--as-csv", help="Print a part as rows of catalogue files.")
    ] = False,
    output: Annotated[Path | None, output_option("With --as-csv: a folder for the files.")] = None,
    unsure: Annotated[
        bool, typer.Option("--unsure", help="List what is from memory and to be confirmed.")
    ] = False,
    catalog: CatalogDirs = None,
) -> None:
    """List what the catalogues hold; with --catalog, what own parts change."""
    from backhaul.report.parts import show_parts

    show_parts(
        kind, catalog or (), contains, as_json=as_json, as_csv=as_csv, unsure=unsure, output=output
    )
