"""How far offers for wired parts may differ from ours, all at once, before a verdict worsens.

Loads may take more and conductors may be thinner, as far as the lines that join them bear it
together: every system of lines has one share of the widest change, found by halving, and a part
takes the smallest share of the systems that it stands in. All limits at their edge at once are
computed as one design, so that they hold together.
"""

from collections import defaultdict
from typing import Any, NamedTuple

import numpy as np

from backhaul.budgets.power import PowerBudget, power_budget, power_sources
from backhaul.budgets.power_solver import Factors
from backhaul.design.kinds import KINDS
from backhaul.figures.power_judgements import (
    FEED_JUDGEMENTS,
    POE_JUDGEMENTS,
    poe_source_word,
    supply_word,
)
from backhaul.figures.power_terms import AC, STATED
from backhaul.findings import FAIL, PASS, THIN

#: Widest change that is looked at: three times the watts, five times the resistance.
MOST_WATTS, MOST_OHM = 3.0, 5.0
#: Halvings: the share is found to 1/64.
_HALVINGS = 6
#: Above so many lines ours are the limits: a district is not worth the time.
MOST_LINES = 2000
_RANK = {PASS: 0, THIN: 1, FAIL: 2}


class WiredSlack(NamedTuple):
    """Factors on what each part takes and on the resistance of each cable, and what comes of it."""

    factors: Factors
    budget: PowerBudget
    sources: tuple[Any, ...]

    def watts(self, part: str) -> float:
        return self.factors.watts.get(part, 1.0)

    def ohm(self, part: str) -> float:
        return self.factors.ohm.get(part, 1.0)


def wired_slack(evaluation: Any) -> WiredSlack:
    """The slack of a design's wired parts; kept with the evaluation."""
    kept = evaluation.__dict__.get("wired_slack")
    if kept is None:
        kept = evaluation.__dict__["wired_slack"] = _find(evaluation)
    return kept


def _find(evaluation: Any) -> WiredSlack:
    now = evaluation.power
    if not now.lines or len(now.lines) > MOST_LINES:
        return WiredSlack(Factors({}, {}), now, evaluation.context.sources)
    systems = _systems(now)
    parts = [_parts_of([now.lines[n] for n in numbers]) for numbers in systems]
    before = _words(now, evaluation)
    # what fails as designed has no slack
    fails = [bool((before[:, numbers] == _RANK[FAIL]).any()) for numbers in systems]
    low, high = np.zeros(len(systems)), np.where(fails, 0.0, 1.0)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        holds = _holds(
            systems, before, _words(_with(evaluation, _factors(parts, middle)), evaluation)
        )
        low, high = np.where(holds, middle, low), np.where(holds, high, middle)
    factors = _factors(parts, low)
    budget = _with(evaluation, factors)
    return WiredSlack(factors, budget, power_sources(budget, evaluation.network))


def _with(evaluation: Any, factors: Factors) -> PowerBudget:
    return power_budget(evaluation.network, evaluation.catalog, evaluation.design, factors)


def _systems(budget: PowerBudget) -> list[list[int]]:
    """Lines that hang together: by what they feed, and by the source that they share."""
    leader: dict[Any, Any] = {}

    def find(key):
        while leader.setdefault(key, key) != key:
            key = leader[key]
        return key

    for line in budget.lines:
        first = find(line.source.equipment.key)
        for equipment in line.equipment:
            leader[find(equipment.key)] = first
    groups: dict[Any, list[int]] = defaultdict(list)
    for number, line in enumerate(budget.lines):
        groups[find(line.source.equipment.key)].append(number)
    return [[*numbers] for numbers in groups.values()]


class _Parts(NamedTuple):
    watts: set[str]
    ohm: set[str]


def _parts_of(lines: list[Any]) -> _Parts:
    """Parts that take power, and cables, of some lines."""
    return _Parts(
        {equipment.part for line in lines for equipment in line.equipment},
        {row.part.part for line in lines for row in line.rows if KINDS[row.row.kind].is_run},
    )


def _factors(parts: list[_Parts], shares) -> Factors:
    """Factors by part: the smallest share of the systems that it stands in."""
    watts: dict[str, float] = {}
    ohm: dict[str, float] = {}
    for of_system, share in zip(parts, shares.tolist(), strict=True):
        for part in of_system.watts:
            watts[part] = min(watts.get(part, MOST_WATTS), 1 + share * (MOST_WATTS - 1))
        for part in of_system.ohm:
            ohm[part] = min(ohm.get(part, MOST_OHM), 1 + share * (MOST_OHM - 1))
    return Factors(watts, ohm)


def _words(budget: PowerBudget, evaluation: Any) -> np.ndarray:
    """Rank of every word of every line, by judgement and line; the source's is the last."""
    values = budget.values
    is_poe = np.array([line.is_poe for line in budget.lines])
    ranks = []
    for judgements, chosen in ((POE_JUDGEMENTS, is_poe), (FEED_JUDGEMENTS, ~is_poe)):
        for judgement in judgements:
            words = [_RANK[word] for word in judgement.words(values).tolist()]
            ranks.append(np.where(chosen, words, 0))
    of_source = np.zeros(len(budget.lines), dtype=int)
    number = {id(line): n for n, line in enumerate(budget.lines)}
    for source in power_sources(budget, evaluation.network):
        word = _source_word(source, evaluation.design.project)
        for line in source.lines:
            n = number[id(line)]
            of_source[n] = max(of_source[n], _RANK[word])
    return np.array([*ranks, of_source])


def _source_word(source: Any, project: Any) -> str:
    if source.limit_w is None or source.used_w != source.used_w:
        return PASS
    if source.is_poe:
        return str(
            poe_source_word(used_w=source.used_w, class_w=source.class_w, limit_w=source.limit_w)
        )
    return str(
        supply_word(
            used_w=source.used_w,
            limit_w=source.limit_w,
            reserve_percent=project.supply_reserve_percent,
        )
    )


def _holds(systems: list[list[int]], before: np.ndarray, after: np.ndarray) -> np.ndarray:
    """Systems in which nothing is judged worse than before."""
    return np.array([bool((after[:, lines] <= before[:, lines]).all()) for lines in systems])


def most_volts(line: Any) -> float:
    """Highest voltage that offers for a source and for what it feeds agree on [V].

    What a source gives and what loads and protectors stand meet half way where there is room; of
    mains and PoE the standard's.
    """
    highest = line.values["highest_v"]
    if line.is_poe or line.current == AC:
        return highest
    stood = [
        figures["stands_v"]
        for figures in line.load_values
        if figures["stands_basis"] == STATED and figures["stands_v"] == figures["stands_v"]
    ]
    stood += [
        row.part.max_volts
        for row in line.rows
        if KINDS[row.row.kind].protects and row.part.max_volts is not None
    ]
    least = min(stood, default=highest)
    return highest + max(least - highest, 0.0) / 2
