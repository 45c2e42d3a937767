"""The command line: options in, one call, print, exit status."""

import sys
from pathlib import Path
from typing import Annotated

import typer

app = typer.Typer(
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,  # plain help starts in a third of the time
    context_settings={"help_option_names": ["-h", "--help"]},
    help="Budget of a whole fiber-plus-radio path: light, air, copper and supply.",
)

MOST_PROBLEMS = 50
COLOURS = {"fail": "red", "thin": "yellow", "pass": "green"}

DesignPath = Annotated[
    Path, typer.Argument(help="A design: an .xlsx, a folder of .csv files, or a segments .csv.")
]
CatalogDirs = Annotated[
    list[Path] | None,
    typer.Option("--catalog", help="A folder of your own catalogue files, laid over ours."),
]


@app.command()
def check(
    design: DesignPath,
    as_json: Annotated[bool, typer.Option("--json", help="Print everything as JSON.")] = False,
    strict: Annotated[bool, typer.Option(help="A thin margin counts as a failure.")] = False,
    everything: Annotated[
        bool, typer.Option("--all", help="List every path, finding and note.")
    ] = False,
    catalog: CatalogDirs = None,
) -> None:
    """Check a design: every segment's verdict, the findings, and what would settle each."""
    evaluation = _evaluate(design, catalog)
    if as_json:
        from backhaul.report.record import record
        from backhaul.report.stream import write_json

        write_json(record(evaluation), sys.stdout)
    else:
        _print_report(evaluation, everything)
    raise typer.Exit(_status(evaluation, strict))


@app.command()
def workbook(
    design: DesignPath,
    output: Annotated[Path, typer.Option("-o", "--output", help="The .xlsx to write.")],
    catalog: CatalogDirs = None,
) -> None:
    """Check a design and write its workbook, for procurement and the installers."""
    from backhaul.workbook.book import write_workbook

    evaluation = _evaluate(design, catalog)
    write_workbook(evaluation, output, source=design)
    typer.echo(f"{output}: {evaluation.verdict}", err=True)
    raise typer.Exit(evaluation.exit_status)


@app.command("map")
def map_(
    design: DesignPath,
    output: Annotated[Path, typer.Option("-o", "--output", help="The .geojson to write.")],
    catalog: CatalogDirs = None,
) -> None:
    """Write sites, hops and runs as GeoJSON, with verdicts, for any map program."""
    from backhaul.report.geojson import geojson_text
    from backhaul.safe_file import write_beside_and_rename

    evaluation = _evaluate(design, catalog)
    write_beside_and_rename(output, lambda: geojson_text(evaluation).encode(), source=design)
    typer.echo(f"{output}: {evaluation.verdict}", err=True)
    raise typer.Exit(evaluation.exit_status)


@app.command()
def blank(
    output: Annotated[Path, typer.Argument(help="The .xlsx to write.")],
    example: Annotated[bool, typer.Option(help="Fill in an example.")] = False,
    catalog: CatalogDirs = None,
) -> None:
    """Write an empty design to fill in, with drop-downs from the catalogues."""
    from backhaul.catalog import load_catalog
    from backhaul.design.blank import write_blank

    write_blank(output, load_catalog(catalog or ()), example=example)
    typer.echo(f"{output}: written", err=True)


@app.command()
def parts(
    kind: Annotated[str | None, typer.Argument(help="Family or kind, such as optics.")] = None,
    contains: Annotated[str | None, typer.Option("--with", help="Only parts with this text.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print as JSON.")] = False,
    catalog: CatalogDirs = None,
) -> None:
    """List what the catalogues hold."""
    from backhaul.catalog import load_catalog
    from backhaul.report.parts import print_parts

    print_parts(load_catalog(catalog or ()), kind, contains=contains, as_json=as_json)


def _version(value: bool) -> None:
    if value:
        from backhaul import __version__

        typer.echo(f"backhaul {__version__}")
        raise typer.Exit


@app.callback()
def _options(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version.")
    ] = False,
) -> None:
    """Budget of a whole fiber-plus-radio path: light, air, copper and supply."""


def _evaluate(design: Path, catalog_dirs: list[Path] | None):
    from backhaul.catalog import load_catalog
    from backhaul.design.read import read_design
    from backhaul.evaluate import evaluate

    catalog = load_catalog(catalog_dirs or ())
    return evaluate(read_design(design, catalog), catalog)


def _print_report(evaluation, everything: bool) -> None:
    import shutil

    from backhaul.report.terminal import report

    width = shutil.get_terminal_size((100, 24)).columns
    for text, severity in report(evaluation, width=width, everything=everything):
        colour = COLOURS.get(severity)
        typer.echo(typer.style(text, fg=colour) if colour else text)


def _status(evaluation, strict: bool) -> int:
    if strict and evaluation.verdict != "pass":
        return 1
    return evaluation.exit_status


def main() -> None:
    """Run the command line; what cannot be used ends with exit status 2 and a plain message."""
    from backhaul.errors import BackhaulError, InputError

    try:
        app()
    except InputError as error:
        for problem in error.problems[:MOST_PROBLEMS]:
            typer.echo(str(problem), err=True)
        if len(error.problems) > MOST_PROBLEMS:
            typer.echo(f"and {len(error.problems) - MOST_PROBLEMS} more problems", err=True)
        sys.exit(2)
    except BackhaulError as error:
        typer.echo(str(error), err=True)
        sys.exit(2)
    except BrokenPipeError:
        sys.exit(1)
