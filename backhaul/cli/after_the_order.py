"""Commands for the time after the order: what changed between revisions."""

import sys
from collections.abc import Callable
from pathlib import Path
from typing import Annotated, Any

import typer

from backhaul.cli.common import AsJson, CatalogDirs, app, print_lines, terminal_width
from backhaul.report.stream import say


@app.command()
def compare(
    old: Annotated[Path, typer.Argument(help="The revision before, in any form of a design.")],
    new: Annotated[Path, typer.Argument(help="The revision after it.")],
    output: Annotated[
        Path | None,
        typer.Option("-o", "--output", help="Write a change notice: an .xlsx for the buyer."),
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
    from backhaul.design.outputs import check_outputs
    from backhaul.design.read import read_design
    from backhaul.report.comparison import comparison_lines, comparison_record
    from backhaul.report.progress import ProgressBar

    if output is not None:
        check_outputs([output], [old, new], catalog or ())
    parts = load_catalog(catalog or ())
    before, after = read_both(old, new, lambda source: read_design(source, parts))
    with ProgressBar(3) as progress:
        compared = compared_designs(before, after, parts, progress=progress)
        compared.is_worse  # noqa: B018 - worked out while the bar is there
    if as_json:
        from backhaul.report.stream import write_json

        write_json(comparison_record(compared), sys.stdout)
    else:
        print_lines(comparison_lines(compared, width=terminal_width(), everything=everything))
    if output is not None:
        from backhaul.book.change_notice import write_change_notice

        write_change_notice(compared, output)
        say(f"{output}: written", err=True)
    raise typer.Exit(compared.exit_status)


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
