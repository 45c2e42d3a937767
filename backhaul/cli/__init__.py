"""The command line: options in, one call, print, exit status."""

import gc
import os
import sys
import warnings
from pathlib import Path
from typing import Annotated, Any

import typer

from backhaul.cli import (  # noqa: F401 - their commands are ours
    after_the_order,
    blank_and_parts,
    ground_and_drawing,
)
from backhaul.cli.common import (
    AsJson,
    CatalogDirs,
    DesignPath,
    app,
    output_option,
    print_lines,
    tell,
    terminal_width,
)
from backhaul.errors import BackhaulError, InputError, reason_of
from backhaul.exit_status import INTERRUPTED, UNUSABLE
from backhaul.report.stream import prepare_streams, say

MOST_PROBLEMS = 50
#: Rows, links and findings hold no cycles: one collection in so many new objects, not in 700.
COLLECT_AFTER = 1_000_000


@app.command()
def check(
    design: DesignPath,
    as_json: AsJson = False,
    strict: Annotated[bool, typer.Option(help="A thin margin counts as a failure.")] = False,
    everything: Annotated[
        bool, typer.Option("--all", help="List every path, finding and note.")
    ] = False,
    accepting: Annotated[
        bool,
        typer.Option("--accept-rows", help="Print rows of the table accepted for what is thin."),
    ] = False,
    catalog: CatalogDirs = None,
) -> None:
    """Check a design: every segment's verdict, the findings, and what would settle each.

    A folder that holds several designs gives one table, a line a design.
    """
    from backhaul.tables.folder import designs_in

    if design.is_dir() and (several := designs_in(design)):
        raise typer.Exit(_check_many(design, several, catalog, as_json=as_json, strict=strict))
    gc.disable()  # one design, then the end
    evaluation = _evaluate(design, catalog, remedies=not accepting)
    if accepting:
        from backhaul.report.accept_rows import accept_rows_csv

        say(accept_rows_csv(evaluation).rstrip("\n"))
    elif as_json:
        from backhaul.report.record import record_in_turn
        from backhaul.report.stream import write_json

        write_json(record_in_turn(evaluation), sys.stdout)
    else:
        _print_report(evaluation, everything)
    raise typer.Exit(_status(evaluation, strict))


@app.command()
def workbook(
    design: DesignPath,
    output: Annotated[Path, output_option("The .xlsx to write.")],
    order_csv: Annotated[
        Path | None, output_option("Write the order list as a .csv, too.", "--order-csv")
    ] = None,
    catalog: CatalogDirs = None,
) -> None:
    """Check a design and write its workbook, for procurement and the installers."""
    from backhaul.book import book
    from backhaul.evaluation import STAGES
    from backhaul.report.outputs import check_ending, check_outputs
    from backhaul.report.progress import ProgressBar

    outputs = [output] if order_csv is None else [output, order_csv]
    check_outputs(outputs, [design], catalog or ())
    check_ending(output, "the output is a workbook", ".xlsx")
    if order_csv is not None:
        check_ending(order_csv, "the order list is a table", ".csv")
    with ProgressBar(1 + len(STAGES) + len(book.STAGES)) as progress:
        evaluation = _evaluated(design, catalog, progress)
        book.write_workbook(evaluation, output, source=design, progress=progress)
    if order_csv is not None:
        from backhaul.report.order_csv import write_order_csv

        write_order_csv(evaluation, order_csv, source=design)
    say(f"{output}: {evaluation.verdict}", err=True)
    raise typer.Exit(evaluation.exit_status)


@app.command("map")
def map_(
    design: DesignPath,
    output: Annotated[Path, output_option("The .geojson to write.")],
    catalog: CatalogDirs = None,
) -> None:
    """Write sites, hops and runs as GeoJSON, with verdicts, for any map program."""
    from backhaul.report.geojson import geojson_text
    from backhaul.report.outputs import check_ending, check_outputs
    from backhaul.safe_file import write_beside_and_rename

    check_outputs([output], [design], catalog or ())
    check_ending(output, "the map is GeoJSON", ".geojson", ".json")
    evaluation = _evaluate(design, catalog, remedies=False)
    write_beside_and_rename(output, lambda: geojson_text(evaluation).encode(), source=design)
    say(f"{output}: {evaluation.verdict}", err=True)
    raise typer.Exit(evaluation.exit_status)


@app.command()
def settle(
    design: DesignPath,
    output: Annotated[
        Path | None,
        output_option("Write the changed design: an .xlsx or a folder."),
    ] = None,
    as_json: AsJson = False,
    strict: Annotated[bool, typer.Option(help="Settle what is thin, too.")] = False,
    may_change: Annotated[
        str | None,
        typer.Option(help="'existing': rows whose `by` is filled may be changed, too."),
    ] = None,
    catalog: CatalogDirs = None,
) -> None:
    """Search the cheapest changes with which the whole design passes, and prove them."""
    from backhaul.api import settle as settled_design
    from backhaul.catalog import load_catalog
    from backhaul.design.read import read_design
    from backhaul.report.changed_design import refuse_changed, write_changed
    from backhaul.report.outputs import check_outputs
    from backhaul.report.progress import ProgressBar
    from backhaul.report.settlement import settlement_lines, settlement_record

    if may_change not in (None, "existing"):
        raise typer.BadParameter("only 'existing'", param_hint="--may-change")
    if output is not None:
        refuse_changed(design, output)
        check_outputs([output] if output.suffix else [], [design], catalog or ())
    parts_in_use = load_catalog(catalog or ())
    read = read_design(design, parts_in_use)
    with ProgressBar(1) as progress:
        settled = settled_design(
            read,
            parts_in_use,
            strict=strict,
            may_change_existing=may_change == "existing",
            progress=progress,
        )
    tell(
        lambda: ((line, "") for line in settlement_lines(settled)),
        lambda: settlement_record(settled),
        as_json=as_json,
    )
    if output is not None:
        write_changed(design, output, read, settled.design, settled.edits)
        say(f"{output}: written", err=True)
    raise typer.Exit(INTERRUPTED if settled.interrupted else _status(settled.after, strict))


def _version(value: bool) -> None:
    if value:
        from backhaul import __version__

        say(f"backhaul {__version__}")
        raise typer.Exit


@app.callback()
def _options(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version.")
    ] = False,
) -> None:
    """Budget of a whole fiber-plus-radio path: light, air, copper and supply."""


def _evaluate(design: Path, catalog_dirs: list[Path] | None, *, remedies: bool = True):
    from backhaul.evaluation import STAGES
    from backhaul.report.progress import ProgressBar

    with ProgressBar(1 + len(STAGES)) as progress:
        return _evaluated(design, catalog_dirs, progress, remedies=remedies)


def _evaluated(design: Path, catalog_dirs: list[Path] | None, progress, *, remedies: bool = True):
    from backhaul.catalog import load_catalog
    from backhaul.design.read import read_design
    from backhaul.evaluation import evaluate

    progress("reading")
    catalog = load_catalog(catalog_dirs or ())
    return evaluate(read_design(design, catalog), catalog, progress, remedies=remedies)


def _check_many(folder: Path, designs: list[Path], catalog, *, as_json: bool, strict: bool) -> int:
    from backhaul.report import many
    from backhaul.report.progress import ProgressBar
    from backhaul.tables.folder import skipped_in

    skipped = skipped_in(folder)
    outcomes = []
    with ProgressBar(len(designs)) as progress:
        for design in designs:
            progress(design.name)
            outcomes.append((design, _outcome(design, catalog)))
    tell(
        lambda: many.table(outcomes, skipped),
        lambda: many.records(outcomes, skipped),
        as_json=as_json,
    )
    return many.exit_status(outcomes, strict=strict)


def _outcome(design: Path, catalog):
    """What comes of one design of many; whatever befalls it, the others are still told."""
    from backhaul.errors import Problem
    from backhaul.progress import unwatched

    try:
        return _evaluated(design, catalog, unwatched, remedies=False)
    except InputError as error:
        return error
    except OSError as error:
        return InputError([Problem(design.name, reason_of(error), "a design that can be read")])
    except Exception as fault:
        if os.environ.get("BACKHAUL_TRACEBACK"):
            raise
        found = f"a fault of backhaul, {type(fault).__name__}: {fault}"
        return InputError([Problem(design.name, found, "a design that can be evaluated")])


def _print_report(evaluation, everything: bool) -> None:
    from backhaul.report.terminal import report

    print_lines(report(evaluation, width=terminal_width(), everything=everything))


def _status(evaluation, strict: bool) -> int:
    if strict and evaluation.verdict != "pass":
        return 1
    return evaluation.exit_status


#: Of the help: in the order of the job.
_IN_ORDER = "blank parts check settle workbook terrain drawing map compare readings".split()


def _place_in_help(command: Any) -> int:
    return _IN_ORDER.index(command.name or command.callback.__name__)


app.registered_commands.sort(key=_place_in_help)


def main() -> None:
    """Run the command line; what cannot be used ends with exit status 2 and a plain message."""
    gc.set_threshold(COLLECT_AFTER)
    if not sys.warnoptions:
        warnings.simplefilter("ignore")  # those of libraries; findings are ours to tell
    prepare_streams()
    try:
        status = _status_of_run()
        sys.stdout.flush()
    except BackhaulError as error:  # the answer could not be printed
        say(str(error), err=True)
        status = UNUSABLE
    sys.exit(status)


def _status_of_run() -> int:
    """Exit status of the command; whatever went wrong is told on standard error."""
    try:
        app()
    except SystemExit as end:
        return end.code if isinstance(end.code, int) else int(end.code is not None)
    except InputError as error:
        most = len(error.problems) if "--all" in sys.argv else MOST_PROBLEMS
        for problem in error.problems[:most]:
            say(str(problem), err=True)
        if len(error.problems) > most:
            say(f"and {len(error.problems) - most} more problems; --all tells them", err=True)
    except BackhaulError as error:
        say(str(error), err=True)
    except KeyboardInterrupt:
        say("interrupted; nothing was written", err=True)
        return INTERRUPTED
    except OSError as error:  # what somebody named: too long, not to be entered, on a bad disk
        from backhaul.tables.names import shown_place

        place = shown_place(error.filename or "a file")
        say(f"{place}: {reason_of(error)}; it cannot be used", err=True)
    except MemoryError:
        say("the memory of this machine does not suffice for the design", err=True)
    except Exception as fault:
        if os.environ.get("BACKHAUL_TRACEBACK"):
            raise
        say(
            f"this is a fault of backhaul, not of the design: {type(fault).__name__}: {fault}; "
            "set BACKHAUL_TRACEBACK=1 to see where",
            err=True,
        )
    return UNUSABLE
