"""Budget of light: every optical link in both directions, worst, best and statistical case."""

from collections.abc import Mapping
from typing import Any, NamedTuple

import numpy as np

from backhaul.design.kinds import KINDS
from backhaul.design.model import Project
from backhaul.design.settings import HEALTHY_MARGIN_DB, REPAIR_ALLOWANCE_DB, REPAIR_RUN_M
from backhaul.figures.arrays import number, numbers
from backhaul.figures.optical_terms import (
    DIRECTION_TERMS,
    JOINT_TERMS,
    RUN_TERMS,
    Joint,
    Run,
    edge_nm,
)
from backhaul.figures.terms import compute, gather
from backhaul.path.links import Link
from backhaul.physics import optics
from backhaul.units import M_PER_KM

POWER, CHANNEL = "power", "channel"


class OpticalBudget(NamedTuple):
    """Arrays over directions (two a link: 2i from its near end, 2i + 1 from its far end)."""

    links: tuple[Link, ...]
    values: Mapping[str, np.ndarray]
    runs: Mapping[str, Any]
    joints: Mapping[str, Any]
    length_m: np.ndarray
    #: fiber classes and modes met by each link
    classes: tuple[tuple[str, ...], ...]
    modes: tuple[tuple[str, ...], ...]


def optical_budget(links: tuple[Link, ...], catalog: Any, project: Project) -> OpticalBudget:
    """Compute the budget of all optical links of a design."""
    fibers, joint_parts, optic_parts = catalog.fibers, catalog.joints, catalog.optics
    classes, modes, lengths, splices, long_single = [], [], [], [], []
    runs, joints, ends = [], [], []
    for index, link in enumerate(links):
        a, b = optic_parts[link.rows[0].part], optic_parts[link.rows[-1].part]
        ends.append((a, b))
        link_classes, link_modes, length, splice_count, is_long = [], [], 0.0, 0, False
        for row in link.rows[1:-1]:
            kind = KINDS[row.kind]
            if kind.is_run:
                part = fibers[row.part]
                link_classes.append(part.fiber_class)
                link_modes.append(part.mode)
                length += number(row.length_m)
                is_long |= part.mode == "single" and (row.length_m or 0.0) > REPAIR_RUN_M
                runs.append((index, row, part))
            else:
                part = joint_parts[row.part]
                joints.append((index, row, part))
                if kind.divides_run:
                    splice_count += 1 if row.count is None else row.count
        classes.append(tuple(dict.fromkeys(link_classes)))
        modes.append(tuple(dict.fromkeys(link_modes)))
        lengths.append(length)
        splices.append(splice_count)
        long_single.append(is_long)
    both = [(a, b) for a, b in ends] + [(b, a) for a, b in ends]
    order = np.arange(2 * len(links)).reshape(2, -1).T.ravel()
    sender = [both[i][0] for i in order]
    receiver = [both[i][1] for i in order]
    run_values = _runs(runs, sender, np.array(splices, dtype=float), np.array(lengths) / M_PER_KM)
    joint_values = _joints(joints)
    inputs = _direction_givens(sender, receiver, classes, catalog, project)
    inputs["repair_allowance_db"] = _repair_allowance(long_single, project)
    for key, item_key in _TOTALS.items():
        inputs[key] = _total(run_values, item_key, 2 * len(links)) + _total(
            joint_values, item_key, 2 * len(links)
        )
    inputs["dispersion_ps_nm"] = _total(run_values, "dispersion_ps_nm", 2 * len(links))
    overlap = inputs["window_overlap"]
    for key in ("launch_min_dbm", "launch_max_dbm"):
        inputs[f"stated_{key}"] = inputs[key]
        inputs[key] = np.where(overlap == optics.OVERLAP_NONE, np.nan, inputs[key])
    blocked = (overlap == optics.OVERLAP_NONE) & (inputs["margin_basis"] == CHANNEL)
    inputs["channel_limit_db"] = np.where(blocked, np.nan, inputs["channel_limit_db"])
    values = compute(DIRECTION_TERMS, inputs)
    values["attenuator_db"] = _attenuator(values)
    return OpticalBudget(
        links, values, run_values, joint_values, np.array(lengths), tuple(classes), tuple(modes)
    )


def _attenuator(values: Mapping[str, Any]) -> np.ndarray:
    """0 where none is needed, NaN where none helps or where it cannot be known."""
    no_limit = np.isnan(values["overload_dbm"]) & ~np.isnan(values["received_max_dbm"])
    none_needed = no_limit | (values["attenuation_needed_db"] <= 0)
    helps = np.asarray(values["attenuator_helps"], dtype=bool)
    helps = helps & ~np.isnan(values["attenuation_needed_db"])
    return np.where(none_needed, 0.0, np.where(helps, values["attenuator_size_db"], np.nan))


_TOTALS = {
    "loss_max_db": "loss_max_db",
    "loss_min_db": "loss_min_db",
    "mean_db": "loss_mean_db",
    "variance_db2": "variance_db2",
}


def _both_ways(link: list[int]) -> np.ndarray:
    """Directions of rows: all in the forward, then all in the backward direction."""
    index = np.array(link, dtype=int)
    return np.concatenate([2 * index, 2 * index + 1])


def _runs(
    runs: list[tuple[int, Any, Any]], sender: list[Any], splices: np.ndarray, glass_km: np.ndarray
) -> dict[str, Any]:
    """Figures of all rows of glass, each once a direction."""
    direction = _both_ways([link for link, *_ in runs])
    subjects = [
        Run(row, part, sender[d]) for d, (_, row, part) in zip(direction, runs * 2, strict=True)
    ]
    inputs = gather(RUN_TERMS, subjects)
    inputs |= {
        "direction": direction,
        "loss_basis": np.array(["measured" if run.is_measured else "length" for run in subjects]),
        "glass_km": glass_km[direction // 2],
        "sections": optics.cable_sections(splices=splices[direction // 2]),
    }
    return compute(RUN_TERMS, inputs) | {"subjects": subjects}


def _joints(joints: list[tuple[int, Any, Any]]) -> dict[str, Any]:
    subjects = [Joint(row, part) for _, row, part in joints * 2]
    inputs = gather(JOINT_TERMS, subjects)
    inputs["direction"] = _both_ways([link for link, *_ in joints])
    return compute(JOINT_TERMS, inputs) | {"subjects": subjects}


def _total(items: Mapping[str, Any], key: str, directions: int) -> np.ndarray:
    if key not in items:
        return np.zeros(directions)
    return np.bincount(items["direction"], weights=items[key], minlength=directions)


def _direction_givens(sender, receiver, classes, catalog, project) -> dict[str, Any]:
    def column(parts, name, blank=np.nan):
        return numbers((getattr(part, name) for part in parts), blank=blank)

    form = np.array([optic.budget_form or "P" for optic in sender])
    limit = np.array(
        [_channel_limit(optic, classes[i // 2], catalog) for i, optic in enumerate(sender)]
    )
    launch, penalty = column(sender, "launch_min_dbm"), column(receiver, "penalty_db", 0.0)
    for i, (sends, hears) in enumerate(zip(sender, receiver, strict=True)):
        own_launch, _ = on_class(sends, classes[i // 2], catalog)
        _, own_penalty = on_class(hears, classes[i // 2], catalog)
        launch[i] = launch[i] if own_launch is None else own_launch
        penalty[i] = penalty[i] if own_penalty is None else own_penalty
    healthy = np.where(form == "P", HEALTHY_MARGIN_DB["P"], HEALTHY_MARGIN_DB["C"])
    if project.optical_margin_db is not None:
        healthy = np.full(len(sender), project.optical_margin_db)
    return {
        "wavelength_nm": column(sender, "tx_nominal_nm"),
        "launch_min_dbm": launch,
        "launch_max_dbm": column(sender, "launch_max_dbm"),
        "sensitivity_dbm": column(receiver, "sensitivity_dbm"),
        "overload_dbm": column(receiver, "overload_dbm"),
        "damage_dbm": column(receiver, "damage_dbm"),
        "penalty_db": np.where(form == "P", penalty, 0.0),
        "max_dispersion_ps_nm": np.fmin(
            column(sender, "max_dispersion_ps_nm"), column(receiver, "max_dispersion_ps_nm")
        ),
        "budget_form": form,
        "channel_limit_db": limit,
        "margin_basis": np.where((form == "C") & ~np.isnan(limit), CHANNEL, POWER),
        "healthy_margin_db": healthy,
        "wanted_overload_margin_db": np.full(len(sender), project.overload_margin_db),
        "window_overlap": np.asarray(
            optics.window_overlap(
                tx_min_nm=numbers(edge_nm(optic, "tx_min_nm") for optic in sender),
                tx_max_nm=numbers(edge_nm(optic, "tx_max_nm") for optic in sender),
                rx_min_nm=column(receiver, "rx_min_nm"),
                rx_max_nm=column(receiver, "rx_max_nm"),
            )
        ),
    }


def on_class(
    optic: Any, classes: tuple[str, ...], catalog: Any
) -> tuple[float | None, float | None]:
    """Launch and penalty that the standard gives an optic on the fibers of a link, the worst.

    None where they are the optic's own.
    """
    rows = [row for name in classes if (row := catalog.optic_reach.get((optic.part, name)))]
    launches = [row.launch_min_dbm for row in rows if row.launch_min_dbm is not None]
    penalties = [row.penalty_db for row in rows if row.penalty_db is not None]
    return min(launches, default=None), max(penalties, default=None)


def _channel_limit(optic: Any, classes: tuple[str, ...], catalog: Any) -> float:
    """Tightest published channel limit of an optic on the fibers of a link [dB], else NaN."""
    limits = [
        reach.channel_loss_max_db
        for name in classes
        if (reach := catalog.optic_reach.get((optic.part, name))) is not None
        and reach.channel_loss_max_db is not None
    ]
    return min(limits, default=np.nan)


def _repair_allowance(long_single: list[bool], project: Project) -> np.ndarray:
    if project.repair_allowance_db is not None:
        return np.full(2 * len(long_single), project.repair_allowance_db)
    return np.repeat(np.where(np.array(long_single, dtype=bool), REPAIR_ALLOWANCE_DB, 0.0), 2)


def link_length_km(budget: OpticalBudget) -> np.ndarray:
    """Length of glass of each link [km]."""
    return budget.length_m / M_PER_KM
