"""Budget of light: every optical link in both directions, worst, best and statistical case."""

from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

import numpy as np

from backhaul.budgets.as_built import AsBuilt, with_built
from backhaul.budgets.attenuators import attenuators_to_fit
from backhaul.budgets.cable_sections import sections_of
from backhaul.budgets.optical_pairs import is_same_class, reach_rows
from backhaul.design.kinds import KINDS
from backhaul.design.model import Project
from backhaul.design.settings import REPAIR_RUN_M
from backhaul.figures.arrays import number, numbers
from backhaul.figures.optical_directions import FORM_P, Direction
from backhaul.figures.optical_items import JOINT_TERMS, RUN_TERMS, Joint, Run, edge_nm
from backhaul.figures.optical_terms import (
    BOTH,
    CHANNEL,
    DIRECTION_TERMS,
    DISPERSION_LIMITS,
    MARGIN,
    POWER,
)
from backhaul.figures.terms import compute, gather
from backhaul.findings import FAIL
from backhaul.path.links import Link
from backhaul.physics import optics
from backhaul.units import M_PER_KM


class OpticalBudget(NamedTuple):
    """Arrays over `directions`, two a link: from its near end, then from its far end."""

    links: tuple[Link, ...]
    directions: tuple[Direction, ...]
    values: Mapping[str, np.ndarray]
    runs: Mapping[str, Any]
    joints: Mapping[str, Any]
    length_m: np.ndarray
    #: mid-span splices of each link and one more
    sections: np.ndarray
    #: fiber classes and modes met by each link
    classes: tuple[tuple[str, ...], ...]
    modes: tuple[tuple[str, ...], ...]

    def of(self, link: Link) -> tuple[Direction, Direction]:
        """Both directions of a link."""
        return self.directions[2 * link.index], self.directions[2 * link.index + 1]

    def is_dark(self, link: Link) -> bool:
        """Whether a link has too little light in one direction: then it carries nothing."""
        ways = slice(2 * link.index, 2 * link.index + 2)
        judged = {key: self.values[key][ways] for key in MARGIN.of.values()}
        margins = self.values["standing_margin_db"][ways]
        return FAIL in MARGIN.words({**judged, "margin_db": margins}).tolist()


def optical_budget(
    links: tuple[Link, ...], catalog: Any, project: Project, built: AsBuilt | None = None
) -> OpticalBudget:
    """Compute the budget of all optical links of a design; built: what readings say of them."""
    glass = [list(_glass(link, catalog)) for link in links]
    classes = tuple(tuple(dict.fromkeys(part.fiber_class for _, part in g)) for g in glass)
    modes = tuple(tuple(dict.fromkeys(part.mode for _, part in g)) for g in glass)
    lengths = np.array([sum(number(row.length_m) for row, _ in g) for g in glass], dtype=float)
    sections = numbers(sections_of(link, catalog) for link in links)
    directions = tuple(
        direction
        for link, met, of_link in zip(links, classes, glass, strict=True)
        for direction in _directions(link, met, of_link, catalog, project)
    )
    runs = _runs(directions, glass, lengths / M_PER_KM, sections)
    joints = _joints(directions, catalog)
    inputs = _inputs(directions, runs, joints)
    stated = {key: inputs[key] for key in ("launch_min_dbm", "launch_max_dbm")}
    blind = inputs["window_overlap"] == optics.OVERLAP_NONE
    for key in (*stated, "channel_limit_db"):
        inputs[key] = np.where(blind, np.nan, inputs[key])
    inputs["limited_by"] = _limited_by(inputs)
    values = compute(DIRECTION_TERMS, inputs)
    values["margin_basis"] = _basis(values)
    with_built(values, built)
    values |= {f"stated_{key}": figures for key, figures in stated.items()}
    values["attenuator_db"] = attenuators_to_fit(links, modes, values, catalog)
    return OpticalBudget(links, directions, values, runs, joints, lengths, sections, classes, modes)


def _glass(link: Link, catalog: Any) -> Iterator[tuple[Any, Any]]:
    """Runs of a link with their parts."""
    for row in link.rows[1:-1]:
        if KINDS[row.kind].is_run:
            yield row, catalog.fibers[row.part]


def _directions(link: Link, classes, glass, catalog: Any, project: Project) -> Iterator[Direction]:
    ends = [catalog.optics[row.part] for row in (link.rows[0], link.rows[-1])]
    on = [reach_rows(optic, classes, catalog) for optic in ends]
    alike = is_same_class(*ends, *on)
    long_run = any(
        part.mode == "single" and (row.length_m or 0.0) > REPAIR_RUN_M for row, part in glass
    )
    for way in (0, 1):
        yield Direction(
            link, way, ends[way], ends[1 - way], on[way], on[1 - way], alike, long_run, project
        )


def _runs(directions, glass, glass_km: np.ndarray, sections: np.ndarray) -> dict[str, Any]:
    """Figures of all rows of glass, each once a direction."""
    subjects, places = [], []
    for direction in directions:
        for row, part in glass[direction.link.index]:
            subjects.append(Run(row, part, direction.sender))
            places.append(direction.place)
    place = np.array(places, dtype=int)
    inputs = gather(RUN_TERMS, subjects) | {
        "direction": place,
        "loss_basis": np.array(["measured" if run.is_measured else "length" for run in subjects]),
        "glass_km": glass_km[place // 2],
        "sections": sections[place // 2],
    }
    return compute(RUN_TERMS, inputs) | {"subjects": subjects}


def _joints(directions, catalog: Any) -> dict[str, Any]:
    """Figures of all mated pairs, splices and attenuators, each once a direction."""
    subjects, places = [], []
    for direction in directions:
        for row in direction.link.rows[1:-1]:
            if not KINDS[row.kind].is_run:
                subjects.append(Joint(row, catalog.joints[row.part]))
                places.append(direction.place)
    inputs = gather(JOINT_TERMS, subjects) | {"direction": np.array(places, dtype=int)}
    return compute(JOINT_TERMS, inputs) | {"subjects": subjects}


def _inputs(directions, runs, joints) -> dict[str, Any]:
    """What the ends of a direction give, and the sums over what lies between."""
    inputs = gather(DIRECTION_TERMS, directions)
    for term in DIRECTION_TERMS:
        if getattr(term, "total", ""):
            inputs[term.key] = sum(
                _total(items, term.total, len(directions)) for items in (runs, joints)
            )
    limits = [gather([limit], directions)[limit.key] for limit in DISPERSION_LIMITS]
    inputs["max_dispersion_ps_nm"] = np.fmin(*limits)
    inputs["budget_form"] = np.array([direction.form for direction in directions])
    inputs["window_overlap"] = np.asarray(
        optics.window_overlap(
            tx_min_nm=numbers(edge_nm(d.sender, "tx_min_nm") for d in directions),
            tx_max_nm=numbers(edge_nm(d.sender, "tx_max_nm") for d in directions),
            rx_min_nm=numbers(d.receiver.rx_min_nm for d in directions),
            rx_max_nm=numbers(d.receiver.rx_max_nm for d in directions),
        )
    )
    return inputs


def _total(items: Mapping[str, Any], key: str, directions: int) -> np.ndarray:
    if key not in items:
        return np.zeros(directions)
    return np.bincount(items["direction"], weights=items[key], minlength=directions)


def _limited_by(inputs: Mapping[str, Any]) -> np.ndarray:
    """Which limits a direction is judged by: form C by its channel limit alone, where it has one.

    Where a power is not known the channel limit stands alone, too.
    """
    has_channel = ~np.isnan(inputs["channel_limit_db"])
    powers = ("launch_min_dbm", "sensitivity_dbm", "penalty_db")
    has_power = ~np.isnan([inputs[key] for key in powers]).any(axis=0)
    by_both = has_channel & has_power & (inputs["budget_form"] == FORM_P)
    return np.where(by_both, BOTH, np.where(has_channel, CHANNEL, POWER))


def _basis(values: Mapping[str, Any]) -> np.ndarray:
    """Which of the two limits is the tighter, of equal ones the published channel limit."""
    by_channel = values["channel_margin_db"] <= values["power_margin_db"]
    both = np.where(by_channel, CHANNEL, POWER)
    return np.where(values["limited_by"] == BOTH, both, values["limited_by"])
