"""Commands for the time after the order: revisions, readings from the sites."""

from collections.abc import Callable
from pathlib import Path
from typing import Annotated, Any

import typer

from backhaul.cli.common import (
    AsJson,
    CatalogDirs,
    DesignPath,
    app,
    output_option,
    tell,
    terminal_width,
)
from backhaul.report.stream import say


@app.command()
def compare(
    old: Annotated[Path, typer.Argument(help="The revision before, in any form of a design.")],
    new: Annotated[Path, typer.Argument(help="The revision after it.")],
    output: Annotated[
        Path | None,
        output_option("Write a change notice: an .xlsx for the buyer."),
    ] = None,
    as_json: AsJson = False,
    everything: Annotated[
        bool, typer.Option("--all", help="List every row, note and figure.")
    ] = False,
    catalog: CatalogDirs = None,
) -> None:
    """Tell what changed between two revisions: rows, verdicts, margins, order, cards to print again.

    Exit status 0 where nothing got worse, 1 where something did.
    """
    from backhaul.api import compare as compared_designs
    from backhaul.catalog import load_catalog
    from backhaul.design.read import read_design
    from backhaul.report.comparison import comparison_lines, comparison_record
    from backhaul.report.outputs import check_ending, check_outputs
    from backhaul.report.progress import ProgressBar

    if output is not None:
        check_outputs([output], [old, new], catalog or ())
        check_ending(output, "a change notice is a workbook", ".xlsx")
    parts = load_catalog(catalog or ())
    before, after = read_both(old, new, lambda source: read_design(source, parts))
    with ProgressBar(3) as progress:
        compared = compared_designs(before, after, parts, progress=progress)
        compared.is_worse  # noqa: B018 - worked out while the bar is there
    tell(
        lambda: comparison_lines(compared, width=terminal_width(), everything=everything),
        lambda: comparison_record(compared),
        as_json=as_json,
    )
    if output is not None:
        from backhaul.book.change_notice import write_change_notice

        write_change_notice(compared, output)
        say(f"{output}: written", err=True)
    raise typer.Exit(compared.exit_status)


@app.command()
def readings(
    design: DesignPath,
    books: Annotated[
        list[Path] | None,
        typer.Argument(help="Books of filled site cards, or readings tables (.csv)."),
    ] = None,
    output: Annotated[
        Path | None,
        output_option("Write the acceptance record: an .xlsx."),
    ] = None,
    table: Annotated[
        Path | None,
        output_option("Write what was read as a readings .csv for the design.", "--table"),
    ] = None,
    as_json: AsJson = False,
    strict: Annotated[bool, typer.Option(help="A reading that is open counts, too.")] = False,
    everything: Annotated[bool, typer.Option("--all", help="List every reading.")] = False,
    catalog: CatalogDirs = None,
) -> None:
    """Tell what installers wrote on the site cards, against what was computed.

    Exit status 0 where no reading is off, 1 where one is or cannot be used.
    """
    from backhaul.api import read_readings
    from backhaul.catalog import load_catalog
    from backhaul.design.read import read_design
    from backhaul.report.outputs import check_ending, check_outputs
    from backhaul.report.readings import readings_csv, readings_lines, readings_record
    from backhaul.safe_file import write_beside_and_rename

    written = [path for path in (output, table) if path is not None]
    check_outputs(written, [design, *(books or ())], catalog or ())
    if output is not None:
        check_ending(output, "an acceptance record is a workbook", ".xlsx")
    if table is not None:
        check_ending(table, "readings are a table", ".csv")
    parts = load_catalog(catalog or ())
    acceptance = read_readings(read_design(design, parts), books or (), parts)
    tell(
        lambda: readings_lines(acceptance, width=terminal_width(), everything=everything),
        lambda: readings_record(acceptance),
        as_json=as_json,
    )
    if output is not None:
        from backhaul.book.acceptance_record import write_acceptance_record

        write_acceptance_record(acceptance, output)
    if table is not None:
        write_beside_and_rename(table, lambda: readings_csv(acceptance).encode("utf-8-sig"))
    for path in written:
        say(f"{path}: written", err=True)
    raise typer.Exit(acceptance.exit_status or int(strict and acceptance.is_open))


def read_both(old: Path, new: Path, read: Callable[[Path], Any]) -> list[Any]:
    """Both revisions; the problems of both at once, each with its file."""
    from backhaul.errors import InputError, Problem

    designs, problems = [], []
    for source in (old, new):
        try:
            designs.append(read(source))
        except InputError as error:
            problems += [
                Problem(f"{source}: {problem.where}", *problem[1:])
                if source.name not in problem.where
                else problem
                for problem in error.problems
            ]
    if problems:
        raise InputError(problems)
    return designs
