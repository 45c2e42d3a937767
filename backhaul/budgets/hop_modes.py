"""The modes of all hops: those that both radios have, and their lines from power to outage.

A radio may have very many of them: what is computed at once and what is kept is bounded.
"""

from collections.abc import Callable, Iterator, Mapping
from typing import Any, NamedTuple

import numpy as np

from backhaul.budgets.hop_weather import snow_factors
from backhaul.budgets.hops import Hops
from backhaul.budgets.water_reflection import WaterReflection, reflection_outage
from backhaul.figures.arrays import numbers
from backhaul.figures.mode_terms import MODE_TERMS, PART_POWER, TYPED_POWER
from backhaul.figures.terms import arguments, compute, gather
from backhaul.path.ends import ModeOfDirection

#: Modes whose lines are computed at once.
MODES_AT_ONCE = 100_000


class CommonModes(NamedTuple):
    """Modes of a pair of radios on one channel, slowest first."""

    names: tuple[str, ...]
    modes: tuple[ModeOfDirection, ...]
    values: Mapping[str, np.ndarray]


def common_modes(sender: Any, receiver: Any, channel_mhz: float, catalog: Any) -> CommonModes:
    """Modes that one radio has and the other hears on a channel."""

    def of(radio: Any) -> Iterator[Any]:
        for mode in catalog.radio_modes.get(radio.part, ()):
            if mode.channel_mhz == channel_mhz:
                yield mode

    heard = {mode.mode: mode for mode in of(receiver)}
    modes = tuple(
        ModeOfDirection(sender, mode, heard[mode.mode])
        for mode in sorted(of(sender), key=lambda mode: mode.rate_mbps)
        if mode.mode in heard
    )
    return CommonModes(
        tuple(mode.sent.mode for mode in modes), modes, gather((*MODE_TERMS, PART_POWER), modes)
    )


class FlatModes(NamedTuple):
    """Modes of every direction one after the other: those that it sends and the far end hears."""

    #: direction, name, rate, power and sensitivity of each
    columns: dict[str, Any]
    #: modes of direction d stand at start[d] : start[d + 1]
    start: np.ndarray
    #: power of the strongest mode of each direction [dBm]
    strongest_dbm: np.ndarray


def flat_modes(hops: Hops, catalog: Any) -> FlatModes:
    """The modes of all directions of all hops."""
    shared: dict[tuple, CommonModes] = {}
    found, names, silent = [], [], []
    typed = gather([TYPED_POWER], hops.directions)[TYPED_POWER.key]
    widths = hops.channel_mhz.tolist()
    for way in hops.directions:
        sender, receiver, width = way.sender.radio, way.receiver.radio, widths[way.hop]
        key = (sender.part, receiver.part, width)
        if key not in shared:
            shared[key] = common_modes(sender, receiver, width, catalog)
        found.append(shared[key])
        names.extend(shared[key].names)
        silent.append(sender.tx_power_dbm)
    counts = np.array([len(modes.names) for modes in found], dtype=int)
    direction = np.repeat(np.arange(len(found), dtype=np.int32), counts)

    def flat(column: str) -> np.ndarray:
        return np.concatenate([np.zeros(0), *(modes.values[column] for modes in found)])

    power = np.fmin(flat("part_power_dbm"), typed[direction])
    strongest = np.where(counts > 0, np.nan, np.where(np.isnan(typed), numbers(silent), typed))
    np.fmax.at(strongest, direction, power)
    columns = {
        "direction": direction,
        "name": names,
        "rate_mbps": flat("rate_mbps"),
        "mode_power_dbm": power,
        "sensitivity_dbm": flat("sensitivity_dbm"),
    }
    return FlatModes(columns, np.concatenate([[0], np.cumsum(counts)]).astype(int), strongest)


class Modes(Mapping[str, Any]):
    """Columns of all modes. What few ask for is computed when somebody does, all of it at once."""

    def __init__(self, kept: dict[str, Any], compute_rest: Callable[[], Mapping[str, Any]]):
        self._columns, self._compute_rest = kept, compute_rest

    def __getitem__(self, key: str) -> Any:
        if key not in self._columns and key in _REST:
            self._columns |= self._compute_rest()
        return self._columns[key]

    def __iter__(self) -> Iterator[str]:
        return iter(dict.fromkeys((*self._columns, *_REST)))

    def __len__(self) -> int:
        return len(self._columns.keys() | set(_REST))


def with_outages(
    hops: Hops,
    values: Mapping[str, np.ndarray],
    flat: FlatModes,
    reflection: WaterReflection,
) -> tuple[Modes, np.ndarray]:
    """All lines of all modes, and the fade by rain and snow of each hop [dB].

    values: of all directions; what the lines of a mode take from there is not kept a mode.
    """

    def of(part: Mapping[str, Any], start: np.ndarray):
        return _outages(hops, values, part, start, reflection)

    kept, snow = _in_batches(of, flat.columns, flat.start, len(hops.links), _KEPT)
    columns = flat.columns | kept

    def rest() -> dict[str, np.ndarray]:
        return _in_batches(of, columns, flat.start, len(hops.links), _REST)[0]

    return Modes(columns, rest), snow


def _in_batches(outages, given, start, hops: int, keys) -> tuple[dict[str, np.ndarray], np.ndarray]:
    """Some lines of all modes, and the fade by rain and snow of each hop [dB]."""
    count = len(given["direction"])
    columns = {key: np.zeros(count) for key in keys}
    snow = np.full(hops, np.nan)
    for ways in batches(start, MODES_AT_ONCE):
        own = slice(int(start[ways.start]), int(start[ways.stop]))
        part = {key: column[own] for key, column in given.items()}
        lines, fade = outages(part, np.clip(start, own.start, own.stop) - own.start)
        np.fmax(snow, fade, out=snow)
        for key in keys:
            if lines[key].any():  # what stays nought takes no memory
                columns[key][own] = lines[key]
    return columns, snow


def batches(start: np.ndarray, most: int) -> Iterator[slice]:
    """Directions in turn, as many as side by side have room for so many modes, or one alone.

    >>> [(ways.start, ways.stop) for ways in batches(np.array([0, 2, 5, 5, 14, 15]), 6)]
    [(0, 2), (2, 3), (3, 4), (4, 5)]
    """
    first, widest = 0, 0
    counts = np.diff(start).tolist()
    for way, count in enumerate(counts):
        widest = max(widest, count)
        if way > first and (way + 1 - first) * widest > most:
            yield slice(first, way)
            first, widest = way, count
    if counts:
        yield slice(first, len(counts))


def _outages(hops: Hops, values, modes, start, reflection):
    direction = modes["direction"]
    given = {**modes, **{key: np.asarray(values[key])[direction] for key in _BESIDE_MODES}}
    keys = [term.key for term in MODE_TERMS]
    clear = compute(MODE_TERMS[: keys.index("clear_margin_db") + 1], given)["clear_margin_db"]
    given["snow_factor"], snow = snow_factors(hops, values, clear, direction)
    if MIRRORED not in given:
        given[MIRRORED] = reflection_outage(reflection, clear, start)
    return compute(MODE_TERMS, given), snow


def _arguments_of_modes() -> tuple[str, ...]:
    """Keys of directions that the lines of a mode rest on."""
    own = {term.key for term in MODE_TERMS}
    needed: dict[str, None] = {}
    for term in MODE_TERMS:
        needed.update(dict.fromkeys([term.by] if term.by else []))
        for formula in term.formulas:
            needed.update(dict.fromkeys(arguments(formula)))
    return tuple(key for key in needed if key not in own)


MIRRORED = "reflection_outage_percent"
_GIVEN = ("rate_mbps", "mode_power_dbm", "sensitivity_dbm")
#: What verdicts rest on, and what takes long; the rest is for those who look at modes.
_KEPT = ("margin_db", "rain_outage_percent", MIRRORED, "availability_percent")
_REST = tuple(term.key for term in MODE_TERMS if term.key not in (*_GIVEN, *_KEPT))
_BESIDE_MODES = _arguments_of_modes()
