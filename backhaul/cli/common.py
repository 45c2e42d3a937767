"""What all commands share: the program, options that several have, reading and printing."""

import sys
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Annotated, Any

import typer

from backhaul.report.stream import say

app = typer.Typer(
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,  # plain help starts in a third of the time
    context_settings={"help_option_names": ["-h", "--help"]},
    help="Budget of a whole fiber-plus-radio path: light, air, copper and supply.",
)


def output_place(text: str) -> Path:
    """Where an output goes; what cannot be the name of a file is refused."""
    from backhaul.report.outputs import place_of

    return place_of(text)


def output_option(told: str, *names: str) -> Any:
    """An option that names what is written; the names of all outputs are looked at alike."""
    names = names or ("-o", "--output")
    return typer.Option(*names, parser=output_place, metavar="<path>", help=told)


COLOURS = {"fail": "red", "thin": "yellow", "pass": "green"}

DesignPath = Annotated[
    Path, typer.Argument(help="A design: an .xlsx, a folder of .csv files, or a segments .csv.")
]
CatalogDirs = Annotated[
    list[Path] | None,
    typer.Option("--catalog", help="A folder of your own catalogue files, laid over ours."),
]
AsJson = Annotated[bool, typer.Option("--json", help="Print everything as JSON.")]


def print_lines(lines: Iterable[tuple[str, str]]) -> None:
    """Lines with the severity that colours each."""
    for text, severity in lines:
        say(text, colour=COLOURS.get(severity))


def tell(
    lines: Callable[[], Iterable[tuple[str, str]]], record: Callable[[], Any], *, as_json: bool
) -> None:
    """Print what came of a command: as JSON, or line by line."""
    if as_json:
        from backhaul.report.stream import write_json

        write_json(record(), sys.stdout)
    else:
        print_lines(lines())


def terminal_width() -> int:
    """Columns of the window that is printed to."""
    import shutil

    return shutil.get_terminal_size((100, 24)).columns
