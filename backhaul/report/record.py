"""The evaluation as plain data, in the form that the project's contract fixes."""

from collections.abc import Iterator
from typing import Any

from backhaul import __version__
from backhaul.budgets.confirm import Confirm, confirm_first
from backhaul.budgets.energy import energy_balances, load_energies
from backhaul.budgets.methods_in_use import methods_in_use
from backhaul.budgets.terminations import strand_name, strands_needed
from backhaul.checks.groups import stand_for
from backhaul.checks.results import Results
from backhaul.design.edits import in_every_row
from backhaul.design.kinds import KINDS
from backhaul.figures.arrays import plain, plain_number
from backhaul.figures.optical_terms import DIRECTION_TERMS
from backhaul.figures.path_figures import BOTTLENECK, RECORDED
from backhaul.findings import PASS, THIN, Finding
from backhaul.path.equipment import row_key
from backhaul.path.links import COPPER, FEED, OPTICAL, RADIO, Link, LinkUse
from backhaul.report.radio_record import RadioColumns

FORMAT = 1


def record(evaluation: Results) -> dict[str, Any]:
    """The whole evaluation as data for JSON."""
    return {
        key: list(value) if isinstance(value, Iterator) else value
        for key, value in record_in_turn(evaluation).items()
    }


def record_in_turn(evaluation: Results) -> dict[str, Any]:
    """The same, with paths and findings made one by one as they are asked for."""
    columns = _Columns(evaluation)
    first = stand_for(evaluation.findings)
    return {
        "format": FORMAT,
        "tool": f"backhaul {__version__}",
        "digest": evaluation.design.digest,
        "verdict": evaluation.verdict,
        "methods": [method._asdict() for method in methods_in_use(evaluation)],
        "paths": (path_record(evaluation, columns, path) for path in evaluation.network.chains),
        "sources": source_records(evaluation),
        "energy": energy_records(evaluation),
        "cables": cable_records(evaluation),
        "findings": (
            finding_record(each, evaluation, first.get(each.id)) for each in evaluation.findings
        ),
        "confirm_first": (confirm_record(one) for one in confirm_first(evaluation)),
    }


def confirm_record(one: Confirm) -> dict[str, Any]:
    """A figure to be confirmed: what it is, how unsure, and the verdict that it may turn."""
    figure, margin = one.figure, one.margin
    return {
        "family": figure.family,
        "name": figure.name,
        "column": figure.column,
        "figure": figure.label,
        "value": float(figure.value),
        "unit": figure.unit,
        "basis": figure.basis,
        "spread": float(figure.spread),
        "settled_by": figure.ask,
        "turns": margin.label,
        "margin": float(margin.value),
        "turns_at": [float(edge) for edge in margin.edges],
        "slope": float(one.slope),
        "may_be_off_by": float(one.move),
        "spreads": float(one.reserve),
        "chance": float(one.chance),
        "other_columns": list(one.others),
    }


def finding_record(finding: Finding, of: Results, same_as: str | None = None) -> dict[str, Any]:
    """A finding as data. same_as: id of the one that is the same cause and stands for both."""
    return {
        "id": finding.id,
        "check": finding.check,
        "severity": finding.severity,
        "path": finding.path,
        "paths": list(finding.paths),
        "step": _step(finding.step),
        "where": finding.where,
        "message": finding.message,
        "remedy": finding.remedy,
        "value": finding.value,
        "limit": finding.limit,
        "unit": finding.unit,
        "source": finding.source,
        "cause": finding.cause,
        "same_cause_as": same_as,
        "accepted": finding.accepted._asdict() if finding.accepted else None,
        "edits": [
            edit.record() for edit in in_every_row(of.design, finding.edits, of.context.catalog)
        ],
    }


def path_record(evaluation: Results, columns: "_Columns", path: str) -> dict[str, Any]:
    served = evaluation.performance.paths[path]
    verdicts = evaluation.verdicts_in[path]
    row = evaluation.design.paths.get(path)
    return {
        "path": path,
        "title": row.title if row else None,
        "verdict": evaluation.path_verdicts[path],
        **{figure.key: figure.recorded(served) for figure in RECORDED},
        BOTTLENECK.key: _step(served.bottleneck_step),
        "backup_paths": list(served.backup_paths),
        "branch_of": evaluation.branches.parent.get(path),
        "segments": [
            {
                "step": _step(segment.step),
                "kind": segment.kind,
                "verdict": verdicts.get(segment.id, PASS),
            }
            for segment in evaluation.network.chains[path].rows
        ],
        "links": [_link_record(evaluation, columns, use) for use in evaluation.network.uses[path]],
    }


def _link_record(evaluation: Results, columns: "_Columns", use: LinkUse) -> dict[str, Any]:
    record = {
        "kind": use.link.kind,
        "first_step": _step(use.first_step),
        "last_step": _step(use.last_step),
        "verdict": evaluation.use_verdict(use),
    }
    record.update(_BODIES[use.link.kind](evaluation, columns, use))
    return record


def _optical(evaluation, columns, use: LinkUse) -> dict[str, Any]:
    index = use.link.index
    steps = (use.first_step, use.last_step)
    directions: list[dict[str, Any]] = []
    for way in (1, 0) if use.is_reversed else (0, 1):
        values = columns.optical(2 * index + way)
        first, last = steps if not directions else steps[::-1]
        directions.append({"from_step": _step(first), "to_step": _step(last), **values})
    return {"length_m": plain_number(evaluation.optical.length_m[index]), "directions": directions}


def _radio(evaluation, columns, use: LinkUse) -> dict[str, Any]:
    index = use.link.index
    row = use.link.rows[0]
    body = columns.radio.hop(index, is_reversed=use.is_reversed)
    body["directions"] = [
        columns.radio.direction(2 * index + way, row.site if way == 0 else row.to_site)
        for way in ((1, 0) if use.is_reversed else (0, 1))
    ]
    return body


def _copper(evaluation, columns, use: LinkUse) -> dict[str, Any]:
    index = use.link.index
    line = evaluation.power.by_link.get(use.link.key)
    source = load = None
    values: dict[str, Any] = {}
    if line is not None:
        values = line.values
        source, load = use.first_step, use.last_step
        if line.is_reversed != use.is_reversed:
            source, load = load, source
    return {
        "length_m": plain_number(evaluation.copper.length_m[index]),
        "rate_mbps": plain_number(evaluation.copper.rate_mbps[index]),
        "reach_limit_m": plain_number(evaluation.copper.limit_m[index]),
        "source_step": _step(source),
        "load_step": _step(load),
        "source_w": plain_number(values.get("source_w")),
        "load_w": plain_number(values.get("load_w")),
        "load_v": plain_number(values.get("load_v")),
        "current_a": plain_number(values.get("current_a")),
        "line_loss_w": plain_number(values.get("line_loss_w")),
        "loop_ohm": plain_number(values.get("loop_ohm")),
    }


def _feed(evaluation, columns, use: LinkUse) -> dict[str, Any]:
    line = evaluation.power.by_link[use.link.key]
    keys = (
        "load_w",
        "load_v",
        "drop_percent",
        "current_a",
        "line_loss_w",
        "loop_ohm",
        "short_circuit_a",
        "source_w",
    )
    runs = [row.length_m for row in use.link.rows if KINDS[row.kind].is_run]
    return {
        "length_m": None if None in runs else sum(runs),
        **{key: plain_number(line.values.get(key)) for key in keys},
    }


_BODIES = {OPTICAL: _optical, RADIO: _radio, COPPER: _copper, FEED: _feed}


class _Columns:
    """Columns of the budgets as plain lists, converted once."""

    _OPTICAL = (
        *(figure.key for figure in DIRECTION_TERMS),
        *("margin_basis", "attenuator_db"),
        *("built_loss_db", "remaining_margin_db", "remaining_overload_margin_db"),
    )

    _STATED = {
        "launch_min_dbm": "stated_launch_min_dbm",
        "launch_max_dbm": "stated_launch_max_dbm",
    }

    def __init__(self, evaluation: Results):
        self.evaluation = evaluation
        values = evaluation.optical.values
        # launch powers are the part's, whether its light is heard or not
        self._optical = list(
            zip(*(plain(values[self._STATED.get(key, key)]) for key in self._OPTICAL), strict=True)
        )
        self.radio = RadioColumns(evaluation)

    def optical(self, direction: int) -> dict[str, Any]:
        return dict(zip(self._OPTICAL, self._optical[direction], strict=True))


def source_records(evaluation: Results) -> list[dict[str, Any]]:
    return [
        {
            "label": source.equipment.label,
            "site": source.equipment.site,
            "part": source.equipment.part,
            "limit_w": plain_number(source.limit_w),
            "used_w": plain_number(source.used_w),
            "class_w": plain_number(source.class_w),
        }
        for source in evaluation.context.sources
    ]


#: Figures of an energy balance, as they are called there.
_OF_ENERGY = (
    "load_w",
    "duty_percent",
    "day_wh",
    "night_percent",
    "night_wh",
    "day_depth_percent",
    "use_percent",
    "autonomy_days",
    "wanted_days",
    "battery_needed_wh",
    "sun_hours",
    "solar_w",
    "panel_needed_w",
)


def energy_records(evaluation: Results) -> list[dict[str, Any]]:
    """Sources that live on a battery or panels: what a day takes, what they carry and bring."""
    context = evaluation.context
    return [
        {
            "label": found.equipment.label,
            "site": found.equipment.site,
            "part": found.equipment.part,
            "battery_wh": plain_number(found.equipment.record.battery_wh),
            **{key: plain_number(getattr(found, key)) for key in _OF_ENERGY},
            "loads": [
                {
                    "label": each.draw.equipment.label,
                    "site": each.draw.equipment.site,
                    "part": each.draw.equipment.part,
                    "load_w": plain_number(each.load_w),
                    "duty_percent": plain_number(each.draw.duty_percent),
                    "day_wh": plain_number(each.day_wh),
                    "night_wh": plain_number(each.night_wh),
                }
                for each in load_energies(found, context.power, context.design)
            ],
            "charged_by": "mains" if found.is_on_mains else "panels",
            "missing": list(found.missing),
            "verdict": THIN if found.missing else PASS if found.is_on_mains else found.word,
        }
        for found in energy_balances(context.sources, context.design, context.power)
    ]


def cable_records(evaluation: Results) -> list[dict[str, Any]]:
    """Labelled cables with their strands and those in use."""
    used: dict[tuple, set[str]] = {}
    cables: dict[tuple, Any] = {}
    for link in evaluation.network.links[OPTICAL]:
        needed = strands_needed(link, evaluation.catalog)
        for row in fiber_rows(link, evaluation):
            if not row.label:
                continue
            key = row_key(row)
            cables.setdefault(key, row)
            names = tuple(map(strand_name, row.strand or ())) or tuple(
                f"{link.index}.{n}" for n in range(needed)
            )
            used.setdefault(key, set()).update(names)
    return [
        {
            "label": row.label,
            "strands": evaluation.catalog.fibers[row.part].strands,
            "used": len(used[key]),
        }
        for key, row in cables.items()
    ]


def fiber_rows(link: Link, evaluation: Results) -> Iterator[Any]:
    """Rows of glass on an optical link."""
    return (row for row in link.rows if row.part in evaluation.catalog.fibers)


def _step(step: float | None) -> float | int | None:
    """Whole steps as whole numbers."""
    if step is None:
        return None
    return int(step) if step == int(step) else step
