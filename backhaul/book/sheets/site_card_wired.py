"""Site cards, wired: voltages at the loads, lengths of copper channels and of cables."""

from typing import Any

import numpy as np

from backhaul.book.sheets.shared import is_known
from backhaul.book.sheets.site_card import Card, Reading
from backhaul.book.sheets.wired_plan import line_prefix
from backhaul.budgets.cable_runs import Run
from backhaul.budgets.orders import needed_length_m, run_loops, run_needed_m
from backhaul.budgets.power_lines import PowerLine
from backhaul.design.kinds import COPPER, KINDS
from backhaul.figures.power_terms import AC
from backhaul.spreadsheet.cells import Calc, SheetCell
from backhaul.spreadsheet.formula import Cell
from backhaul.wording import each_once


def least_volts(*, load_v, least_v):
    """Lowest acceptable voltage [V]: as computed, and no less than the load starts at.

    >>> print(least_volts(load_v=47.2, least_v=42.5))
    47.2
    """
    return np.maximum(load_v, least_v)


def read_volts(card: Card) -> None:
    """Voltage at each load of a line that ends here."""
    for line, loads in card.here.lines:
        prefix = line_prefix(card.plan, line.link)
        nominal = "load_v" if line.is_poe else "nominal_load_v"
        expected = card.figure(
            line.link,
            f"{prefix}.{nominal}",
            card.key(f"{prefix}.expected"),
            line.values[nominal],
            1,
        )
        names = each_once([load.label or load.part for load in loads])
        if line.is_poe:
            what, how = "PoE voltage", "PoE tester in line at the load, the load at work"
            instrument = "PoE tester"
        else:
            instrument = "multimeter"
            what, how = "Feed voltage", "Multimeter at the terminals, the load at work"
            if line.values["current"] == AC:
                how += "; by a licensed electrician"
        card.read(
            Reading(
                prefix,
                f"{what} at {names}",
                f"{how}. Expected: {'source at its lowest' if line.is_poe else 'source at nominal'}; "
                "lowest: computed at the warmest, and where the load starts; highest: what the source "
                "gives at the most",
                expected,
                _lowest(card, line, prefix),
                _highest(card, line, prefix),
                "V",
                instrument=instrument,
            )
        )


def _lowest(card: Card, line: PowerLine, prefix: str) -> SheetCell:
    key = card.key(f"{prefix}.lowest")
    value, least = float(line.values["load_v"]), line.values["least_v"]
    if not is_known(value) or not is_known(least) or len(line.loads) > 1:
        return card.figure(line.link, f"{prefix}.load_v", key, value, 1)
    return card.computed(
        line.link,
        least_volts,
        key,
        {"load_v": f"{prefix}.load_v", "least_v": f"{prefix}.least_v"},
        {"load_v": value, "least_v": float(least)},
        1,
    )


def _highest(card: Card, line: PowerLine, prefix: str) -> SheetCell | None:
    """The highest that the source gives: at no load, all of it arrives."""
    value = line.values["highest_v"]
    if not is_known(value):
        return None
    key = card.key(f"{prefix}.highest")
    return card.figure(line.link, f"{prefix}.highest_v", key, float(value), 1)


def read_lengths(card: Card) -> None:
    """Length of copper channels and of cables that begin here; cords and assemblies left out."""
    for link in card.here.channels:
        _read_channel(card, link)
    for run in card.here.runs:
        if not run.is_made and KINDS[run.row.kind].medium != COPPER:
            _read_run(card, run)


def _read_channel(card: Card, link: Any) -> None:
    budget, prefix = card.evaluation.copper, f"copper.{link.index}"
    cells = [
        card.figure(
            link,
            f"{prefix}.{name}",
            card.key(f"{prefix}.{name}"),
            float(getattr(budget, name)[link.index]),
            1,
        )
        for name in ("length_m", "limit_m")
    ]
    coppers = card.evaluation.catalog.coppers
    grade = (
        each_once(
            [
                coppers[row.part].category
                for row in link.rows
                if KINDS[row.kind].is_run and row.part in coppers
            ]
        )
        or "its category"
    )
    card.read(
        Reading(
            prefix,
            f"Copper channel, {link.paths[0]} {link.first_step:g}–{link.last_step:g}",
            f"Cable tester set to {grade}, channel with cords (TIA-1152-A, IEC 61935-1): type the "
            "length once it passes. Highest: reach at the temperature",
            cells[0],
            None,
            cells[1],
            "m",
            instrument=f"cable tester ({grade})",
        )
    )


def _read_run(card: Card, run: Run) -> None:
    inputs, project = card.plan.inputs, card.evaluation.design.project
    given = inputs.row(run.row, "length_m", "length", "m")
    if given is None:
        return
    name, outdoors = f"run{run.row.id}", card.evaluation.context.is_outdoor(run.row)
    slack = inputs.project(card.evaluation, "cable_slack_percent", "slack of a run", "%")
    loop = inputs.project(card.evaluation, "loop_m", "slack loop at each end outdoors", "m")
    text = run_needed_m(
        length_m=Cell.ref(given),
        slack_percent=Cell.ref(slack),
        loop_m=Cell.ref(loop),
        loops=run_loops(run.row, run.record, is_outdoor=outdoors),
    ).text
    value = needed_length_m(run.row, run.record, project, is_outdoor=outdoors)
    how = "Marks on the sheath"
    if run.is_fiber:
        how += ", or reflectometer: glass is 1 to 5 % longer than the sheath (common practice)"
    card.read(
        Reading(
            name,
            f"Length of {run.name}",
            f"{how}. Highest: with slack and loops; beyond, put the length into the design",
            Calc(
                card.key(f"{name}.expected"), f"{{{given}}}", float(run.row.length_m), format="0.0"
            ),
            None,
            Calc(card.key(f"{name}.highest"), text, float(value), format="0.0"),
            "m",
        )
    )
