"""From readings to figures of the budgets: losses as measured, fixed losses of hops as levels tell."""

from collections import defaultdict
from collections.abc import Iterable
from typing import Any

import numpy as np

from backhaul.as_built.acceptance import Acceptance
from backhaul.as_built.judged import OFF, Judged
from backhaul.budgets.as_built import AsBuilt, built_loss_max_db, built_loss_min_db
from backhaul.budgets.readings_light import fiber_mode
from backhaul.budgets.readings_radio import heard_way
from backhaul.budgets.site_index import Terminal
from backhaul.budgets.site_reading import LEVEL, LOSS
from backhaul.checks.results import Results
from backhaul.figures.reading_formulas import END_PAIRS, LOSS_UNCERTAINTY_DB
from backhaul.path.links import OPTICAL, RADIO
from backhaul.physics.optics import REFERENCE_PAIR_MAX_DB

#: Optics of one link send on one wavelength where they are no further apart [nm].
_ONE_WAVELENGTH_NM = 15.0


def corrections(acceptance: Acceptance) -> AsBuilt:
    """What follows for the budgets from readings of a design."""
    results = acceptance.results
    losses, levels = defaultdict(list), defaultdict(list)
    for each in acceptance.judged:
        if each.taken is None or isinstance(each.value, bool | str):
            continue
        if each.reading.kind == LOSS and not each.why.startswith("below"):
            losses[2 * each.reading.subject.index + 1 - each.reading.end].append(each)
        elif each.reading.kind == LEVEL:
            way = heard_way(Terminal(each.reading.subject, each.reading.end))
            levels[way].append(each)
    highest, lowest = _losses(results, losses)
    return AsBuilt(
        highest,
        lowest,
        _fixed_losses(results, levels),
        results,
        taken=len(acceptance.taken),
        off=acceptance.counts[OFF],
        unused=len(acceptance.not_used),
    )


def _losses(results: Results, losses: dict[int, list[Judged]]) -> tuple[np.ndarray, np.ndarray]:
    """Losses of optical directions; one reading stands for both where the wavelength is one."""
    values = results.optical.values
    count = 2 * len(results.network.links[OPTICAL])
    highest, lowest = np.full(count, np.nan), np.full(count, np.nan)
    for direction in results.optical.directions:
        own = losses.get(direction.place)
        if own is None and _is_one_wavelength(direction):
            own = losses.get(direction.opposite)
        if not own:
            continue
        place = direction.place
        reading = max(float(each.value) for each in own)  # type: ignore[arg-type]
        expected = float(values["mean_db"][place])
        mode = fiber_mode(results, direction.link)
        highest[place] = built_loss_max_db(
            reading_db=reading,
            expected_db=expected,
            loss_max_db=float(values["loss_max_db"][place]),
        )
        lowest[place] = built_loss_min_db(
            reading_db=reading,
            expected_db=expected,
            loss_min_db=float(values["loss_min_db"][place]),
            end_pairs_db=END_PAIRS * REFERENCE_PAIR_MAX_DB[mode] + LOSS_UNCERTAINTY_DB[mode],
        )
    return highest, lowest


def _is_one_wavelength(direction: Any) -> bool:
    waves = (direction.sender.tx_nominal_nm, direction.receiver.tx_nominal_nm)
    return None not in waves and abs(waves[0] - waves[1]) <= _ONE_WAVELENGTH_NM


def _fixed_losses(results: Results, levels: dict[int, list[Judged]]) -> dict[int, float]:
    """Fixed loss of each hop whose level was read, by the ids of its rows: no less than nothing.

    Both ways share the fixed losses; the way that lacks more tells. Levels of one way at several
    waters are taken at their mean.
    """
    found: dict[int, float] = {}
    for link in results.network.links[RADIO]:
        ways = [levels.get(2 * link.index + way) for way in (0, 1)]
        short = [np.mean([_short_db(each) for each in read]) for read in ways if read]
        short = [each for each in short if each == each]
        if not short:
            continue
        typed = link.rows[0].extra_loss_db or 0.0
        fixed = max(typed + float(max(short)), 0.0)
        if fixed != typed:
            found.update((row, fixed) for row in link.row_ids)
    return found


def _short_db(judged: Judged) -> float:
    """By how much a level falls short [dB]; over water, of what the mirror leaves open that day."""
    reading, value = judged.reading, float(judged.value)  # type: ignore[arg-type]
    if not reading.needs_water:
        return judged.limits.expected - value
    if reading.band is None or judged.taken is None or judged.taken.water_level_m is None:
        return float("nan")
    place = reading.band.slice_at(judged.taken.water_level_m)
    if place is None:
        return float("nan")
    flat = reading.limits.expected
    low = flat + float(reading.band.lowest_db[place])
    high = flat + float(reading.band.highest_db[place])
    return low - value if value < low else high - value if value > high else 0.0


def rows_as_built(rows: Iterable[Any], built: AsBuilt) -> tuple[Any, ...]:
    """Rows of a design with the fixed losses of its hops as the levels tell them."""
    return tuple(
        row._replace(extra_loss_db=built.fixed_loss_db[row.id])
        if row.id in built.fixed_loss_db
        else row
        for row in rows
    )
