"""The figures of all lines of power: arrays over the lines, their rows and their loads.

Two figures go round: the voltage of a source that passes on what arrives, and the share of a run
that several lines use. They are carried round until they stand still; where they do not, there is
no solution.
"""

from collections.abc import Iterator
from typing import Any, NamedTuple

import numpy as np

from backhaul.budgets.power_lines import (
    PowerLine,
    shared_rows,
)
from backhaul.figures.arrays import numbers
from backhaul.figures.power_load_terms import LOAD_TERMS, STANDS_TERMS, Load
from backhaul.figures.power_terms import AC, DC, LINE_TERMS, PASSED_ON, ROW_TERMS
from backhaul.figures.terms import compute, gather
from backhaul.path.equipment import Equipment
from backhaul.physics.poe import POE_CLASSES

#: Rounds of carrying voltages down and shares round; near collapse they creep.
_ROUNDS = 200
#: Voltages and shares stand still within this.
_STILL = 1e-10
_NAN = float("nan")
#: Without these nothing of a line is known.
BASE = ("load_w", "source_v", "loop_ohm", "seen_ohm")
#: Figures of a line that it has only where it can carry its load.
SOLVED = tuple(term.key for term in LINE_TERMS if term.needs == "solvable")


class Factors(NamedTuple):
    """What offers change: on the watts of a part, on the resistance of a cable, by part."""

    watts: dict[str, float]
    ohm: dict[str, float]


class Solver:
    """Figures of all lines; arrays over the lines, their rows and their loads."""

    def __init__(self, lines, from_source, to_load, optics_w, project, factors):
        self.lines, self.from_source, self.to_load = lines, from_source, to_load
        self.loads: dict[tuple, dict[str, float]] = {}
        self.number = {id(line): n for n, line in enumerate(lines)}
        self.rows = [(n, row) for n, line in enumerate(lines) for row in line.rows]
        self.row_line = np.array([n for n, _ in self.rows], dtype=int)
        self.row_values = row_figures([row for _, row in self.rows])
        thinner = np.array([factors.ohm.get(row.part.part, 1.0) for _, row in self.rows])
        for key in ("loop_ohm", "hot_ohm"):
            self.row_values[key] = self.row_values[key] * thinner
        self.share = np.ones(len(self.rows))
        first = np.searchsorted(self.row_line, np.arange(len(lines)))
        self.shared = [
            [(n, int(first[n]) + place) for n, place in places]
            for places in shared_rows(lines).values()
        ]
        self.needs = [(n, load) for n, line in enumerate(lines) for load in line.loads]
        self.need_line = np.array([n for n, _ in self.needs], dtype=int)
        self.subjects = [
            Load(load, optics_w.get(load.equipment.key, 0.0)) for _, load in self.needs
        ]
        self.load_inputs = gather(LOAD_TERMS, self.subjects)
        self.load_inputs["own_w"] = self.load_inputs["own_w"] * np.array(
            [factors.watts.get(load.equipment.part, 1.0) for _, load in self.needs]
        )
        self.inputs = gather(LINE_TERMS, lines) | {
            "current": np.array([line.current for line in lines]),
            "highest_basis": np.array([line.highest_basis for line in lines]),
            "limit_basis": np.array([line.limit_basis for line in lines]),
            "guard": np.array([line.guard for line in lines]),
            "relied_on": np.array([line.relied_on for line in lines]),
            "power_factor": np.array([_power_factor(line) for line in lines]),
            "least_v": self._least_v(),
            "healthy_drop_percent": np.full(len(lines), float(project.feed_drop_percent)),
            "source_class": numbers(class_number(line.source.port) for line in lines),
            "load_class": numbers(
                class_number(line.load.port) if line.loads else None for line in lines
            ),
        }
        self.values: dict[str, np.ndarray] = {}
        self.dead = np.zeros(len(lines), dtype=bool)

    def run(self) -> None:
        passing = [line for line in self.lines if line.passes_on]
        moves = bool(passing or self.shared)
        self._row_sums()
        for _ in range(_ROUNDS if moves else 1):
            self._compute()
            moved = self._carry_down(passing)
            moved = self._share_out() or moved
            if not moved:
                break
        else:
            if moves:  # it creeps: no stable point
                self.dead |= self._of_groups()
                self._compute()
        self._pass_highest(passing)
        for line, values in zip(self.lines, _each(self.values), strict=True):
            line.values = values | {"passes_on": line.passes_on}
        self._note_loads()

    def _note_loads(self) -> None:
        """Figures of every load of a line, in the line's order."""
        for line in self.lines:
            line.load_values = []
        for (n, load), figures in zip(self.needs, _each(self.stands()), strict=True):
            self.lines[n].load_values.append(self.loads[load.equipment.key] | figures)

    def _least_v(self) -> np.ndarray:
        """Lowest voltage that all loads of a line start at."""
        least = np.full(len(self.lines), -np.inf)
        known = ~np.isnan(self.load_inputs["least_v"])
        np.maximum.at(least, self.need_line[known], self.load_inputs["least_v"][known])
        return np.where(np.isinf(least), np.nan, least)

    def stands(self) -> dict[str, np.ndarray]:
        """What every load of every line is given and stands."""
        given = gather(STANDS_TERMS, self.subjects) | {
            key: self.values[key][self.need_line] for key in ("highest_v", "nominal_v")
        }
        given["stands_basis"] = np.array([load.stands_basis for load in self.subjects])
        return compute(STANDS_TERMS, given)

    def _row_sums(self) -> None:
        """What the rows of every line have together, shared ones by what they carry."""
        count = len(self.lines)

        def total(column):
            return np.bincount(self.row_line, weights=column, minlength=count)

        values = self.row_values
        extra = self.share - 1
        for key in ("loop_ohm", "loop_reactance_ohm", "hot_ohm"):
            self.inputs[key] = total(values[key])
        self.inputs["seen_ohm"] = total(values["loop_ohm"] * (1 + extra))
        self.inputs["seen_reactance_ohm"] = total(values["loop_reactance_ohm"] * (1 + extra))
        for key in ("loop_reactance_ohm", "seen_reactance_ohm"):  # none on direct current
            self.inputs[key] = np.where(self.inputs["current"] == AC, self.inputs[key], 0.0)
        self.inputs["rated_a"] = self._least_of_rows(values["capacity_a"])
        self.inputs["capacity_a"] = self._least_of_rows(values["capacity_a"] / self.share)

    def _least_of_rows(self, column) -> np.ndarray:
        least = np.full(len(self.lines), np.inf)
        known = ~np.isnan(column)
        np.minimum.at(least, self.row_line[known], column[known])
        return np.where(np.isinf(least), np.nan, least)

    def _compute(self) -> None:
        count = len(self.lines)
        depths = np.array([line.depth for line in self.lines], dtype=int)
        values = {
            term.key: np.full(count, np.nan) for term in LINE_TERMS if term.key not in self.inputs
        }
        values |= {key: column.copy() for key, column in self.inputs.items()}
        values["load_w"] = np.full(count, np.nan)
        for depth in sorted(set(depths.tolist())):
            of_depth = depths == depth
            values["load_w"][of_depth] = self._load_sums(values, of_depth)[of_depth]
            given = {key: values[key][of_depth] for key in (*self.inputs, "load_w")}
            for key, column in compute(LINE_TERMS, given).items():
                values[key][of_depth] = column
            dead = of_depth & self.dead
            values["solvable"][dead] = False
            for key in SOLVED:
                values[key][dead] = np.nan
        self.values = values

    def _load_sums(self, values, of_depth) -> np.ndarray:
        """Load of every line; those of this depth hold, the figures of their loads are noted."""
        chosen = np.flatnonzero(of_depth[self.need_line])
        given = {key: column[chosen] for key, column in self.load_inputs.items()}
        given["optics_w"] = np.array([self.subjects[place].optics_w for place in chosen])
        given["passed_on_w"] = np.array(
            [self._passed_on(values, self.needs[place][1].equipment) for place in chosen]
        )
        found = compute(LOAD_TERMS, given)
        for index, place in enumerate(chosen.tolist()):
            key = self.needs[place][1].equipment.key
            self.loads[key] = {name: float(column[index]) for name, column in found.items()}
        return np.bincount(
            self.need_line[chosen], weights=found["load_w"], minlength=len(self.lines)
        )

    def _passed_on(self, values, equipment: Equipment) -> float:
        """What a thing passes on; a line without a solution is counted as nothing."""
        below = self.from_source.get(equipment.key, ())
        drawn = (values["source_w"][self.number[id(line)]] for line in below)
        return float(sum(watts for watts in drawn if watts == watts))

    def _carry_down(self, passing) -> bool:
        """Sources that pass on what arrives get the voltage that arrives."""
        moved = False
        for line in passing:
            arriving = [
                volts
                for above in self.to_load.get(line.source.equipment.key, ())
                if above.current == DC
                and (volts := self.values["load_v"][self.number[id(above)]]) == volts
            ]
            n = self.number[id(line)]
            if arriving and not abs(self.inputs["source_v"][n] - min(arriving)) < _STILL:
                self.inputs["source_v"][n] = self.inputs["nominal_v"][n] = min(arriving)
                moved = True
        return moved

    def _share_out(self) -> bool:
        """Runs that several lines use carry the sum of their currents."""
        moved = False
        for places in self.shared:
            numbers = [n for n, _ in places]
            if any(np.isnan(self.values[key][numbers]).any() for key in BASE if key != "seen_ohm"):
                rows = [row for _, row in places]
                moved = moved or not np.isnan(self.share[rows]).all()
                self.share[rows] = np.nan  # what flows there is not known
                continue
            current = self.values["current_a"][numbers]
            if np.isnan(current).any():
                for n in numbers:
                    moved = moved or not self.dead[n]
                    self.dead[n] = True
                continue
            total = current.sum()
            for (_, row), own in zip(places, current, strict=True):
                share = total / own if own > 0 else 1.0
                moved = moved or abs(share - self.share[row]) > _STILL * share
                self.share[row] = share
        if moved:
            self._row_sums()
        return moved

    def _of_groups(self) -> np.ndarray:
        """Lines that share a run or pass a voltage on."""
        found = np.array([line.passes_on for line in self.lines])
        for places in self.shared:
            found[[n for n, _ in places]] = True
        return found

    def _pass_highest(self, passing) -> None:
        """A passive source that passes on what arrives gives the highest that arrives, too."""
        highest = self.values["highest_v"]
        for line in sorted(passing, key=lambda line: -line.depth):
            above = [
                highest[self.number[id(each)]]
                for each in self.to_load.get(line.source.equipment.key, ())
                if each.current == DC
            ]
            if line.highest_basis == PASSED_ON and above:
                highest[self.number[id(line)]] = max(above)

    def rows_by_line(self) -> dict[str, list[list[float]]]:
        values = self.row_values | {"share": self.share}
        found = {key: [[] for _ in self.lines] for key in values}
        for key, column in values.items():
            for n, value in zip(self.row_line.tolist(), np.asarray(column).tolist(), strict=True):
                found[key][n].append(value)
        return found


def row_figures(rows: list[Any]) -> dict[str, np.ndarray]:
    """All figures of rows of lines."""
    given = gather(ROW_TERMS, rows) | {
        "temperature_c": np.array([row.temperature_c for row in rows], dtype=float),
        "pairs": np.array([row.pairs or _NAN for row in rows], dtype=float),
        "medium": np.array([row.medium for row in rows]),
    }
    return compute(ROW_TERMS, given)


def class_number(port: Any) -> int | None:
    """Class of IEEE 802.3 of a port, None where it has none."""
    return port.poe_class if port is not None and port.poe_class in POE_CLASSES else None


def _power_factor(line: PowerLine) -> float:
    """Of alternating current, the lowest of the loads: a little more drop than by their sum."""
    if line.current != AC:
        return 1.0
    return min((load.record.power_factor or 1.0 for load in line.loads), default=1.0)


def _each(columns: dict[str, np.ndarray]) -> Iterator[dict[str, Any]]:
    """The figures of each place of some columns, as plain values."""
    rows = zip(*(column.tolist() for column in columns.values()), strict=True)
    return (dict(zip(columns, row, strict=True)) for row in rows)
