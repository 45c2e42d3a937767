"""Margins, levels, rates and voltages of two revisions beside each other: those that moved."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

from backhaul.checks.results import Results
from backhaul.figures.arrays import number
from backhaul.figures.path_figures import AVAILABILITY, LATENCY, RATE, PathFigure
from backhaul.path.links import COPPER, FEED, OPTICAL, RADIO, Link
from backhaul.revisions.thresholds import is_noticed
from backhaul.units import PERCENT

#: Change of the share of the year that is told [%]: a digit of what is printed.
_AVAILABILITY_DUST = 1e-4


class Moved(NamedTuple):
    """A figure that moved. place: path, link and way; None: it cannot be had.

    is_better_high: whether more of it is better, None where neither is.
    """

    path: str
    place: str
    label: str
    unit: str
    before: float | None
    after: float | None
    is_better_high: bool | None

    @property
    def is_worse(self) -> bool:
        """Whether it moved to the worse side, or is no longer known."""
        if self.is_better_high is None or self.before is None:
            return False
        if self.after is None:
            return True
        return (self.after < self.before) is self.is_better_high

    @property
    def is_better(self) -> bool:
        """Whether it moved to the better side, or is known for the first time."""
        if self.is_better_high is None or self.after is None:
            return False
        return self.before is None or (self.after > self.before) is self.is_better_high


class _Figure(NamedTuple):
    place: str
    label: str
    unit: str
    is_better_high: bool | None
    value: float | None


def moved_figures(
    old: Results, new: Results, rows: Mapping[int, int], paths: Mapping[str, str]
) -> list[Moved]:
    """Figures that moved by more than 0.1 dB or 1 %, of paths and links that both revisions have.

    rows: id of a row in the old revision -> of the one at its place in the new; paths: names.
    """
    found = [moved for before, after in paths.items() for moved in _path(old, new, before, after)]
    for kind, one, other, is_turned in link_pairs(old, new, rows):
        figures = list(_OF_LINK[kind](old, one))
        others = list(_OF_LINK[kind](new, other))
        if is_turned:
            figures = [*figures[len(figures) // 2 :], *figures[: len(figures) // 2]]
        for before, after in zip(figures, others, strict=True):
            if is_noticed(before.value, after.value, after.unit):
                found.append(_moved(other.paths[0], after, before))
    return sorted(found, key=lambda moved: not moved.is_worse)


def _moved(path: str, after: _Figure, before: _Figure) -> Moved:
    return Moved(
        path, after.place, after.label, after.unit, before.value, after.value, after.is_better_high
    )


def _path(old: Results, new: Results, before: str, after: str) -> Iterator[Moved]:
    one, other = old.performance.paths[before], new.performance.paths[after]
    for figure, is_better_high in (*((rate, True) for rate in RATE.values()), (LATENCY, False)):
        was, now = figure.of(one), figure.of(other)
        if is_noticed(was, now, figure.unit):
            yield _of_path(after, figure, was, now, is_better_high)
    was, now = AVAILABILITY.of(one), AVAILABILITY.of(other)
    before_percent, after_percent = (
        None if share is None else PERCENT - share for share in (was, now)
    )
    is_moved = is_noticed(before_percent, after_percent, AVAILABILITY.unit)
    if is_moved and (None in (was, now) or abs(was - now) >= _AVAILABILITY_DUST):
        yield _of_path(after, AVAILABILITY, was, now, True)


def _of_path(path: str, figure: PathFigure, was, now, is_better_high: bool) -> Moved:
    return Moved(path, "", figure.label, figure.unit, was, now, is_better_high)


def link_pairs(
    old: Results, new: Results, rows: Mapping[int, int]
) -> Iterator[tuple[str, Link, Link, bool]]:
    """Links that run over rows which belong together: kind, old, new, whether it is turned round."""
    for kind, links in old.network.links.items():
        over: dict[int, list[int]] = defaultdict(list)
        others = new.network.links[kind]
        for other in others:
            for row in other.row_ids:
                over[row].append(other.index)
        scores: dict[tuple[int, int], int] = defaultdict(int)
        for link in links:
            for row in link.row_ids:
                for index in over.get(rows.get(row, -1), ()):
                    scores[(link.index, index)] += 1
        taken: tuple[set[int], set[int]] = set(), set()
        for (one, two), _ in sorted(scores.items(), key=lambda s: (-s[1], min(s[0]), max(s[0]))):
            if one not in taken[0] and two not in taken[1]:
                taken[0].add(one)
                taken[1].add(two)
                yield kind, links[one], others[two], _is_turned(links[one], others[two], rows)


def _is_turned(one: Link, other: Link, rows: Mapping[int, int]) -> bool:
    """Whether the first end of a link is now its far end."""
    if one.kind == RADIO:
        row, its = one.rows[0], other.rows[0]
        return row.site != its.site and row.site == its.to_site
    first = rows.get(one.rows[0].id)
    ends = (other.rows[0].id, other.rows[-1].id)
    return len(other.rows) > 1 and first == ends[1] != ends[0]


def _place(link: Link, row: Any = None) -> str:
    head = row or link.run
    if head.label:
        return head.label
    if link.first_step == link.last_step:
        return f"step {link.first_step:g}"
    return f"steps {link.first_step:g} to {link.last_step:g}"


def _optical(results: Results, link: Link) -> Iterator[_Figure]:
    values = results.optical.values
    for direction in results.optical.of(link):
        nm = direction.sender.tx_nominal_nm
        words = f"{_steps(link)}, {_from(results, direction.sender_row)}"
        place = f"{words}, {nm:g} nm" if nm is not None else words
        for key, label in (("margin_db", "margin"), ("overload_margin_db", "overload margin")):
            yield _Figure(place, label, "dB", True, _known(values[key][direction.place]))


def _steps(link: Link) -> str:
    return f"steps {link.first_step:g} to {link.last_step:g}"


def _from(results: Results, row: Any) -> str:
    site = results.network.places[row.id][0]
    return f"from {site}" if site else f"from step {row.step:g}"


def _radio(results: Results, link: Link) -> Iterator[_Figure]:
    """What arrives, the margin of the mode in use and its rate; both ways alike in number."""
    modes, hops, values = results.radio.modes, results.performance.hops, results.radio.values
    row = link.rows[0]
    for way, sender in enumerate((row.site, row.to_site)):
        place = 2 * link.index + way
        mode = int(hops.mode[place])
        words = (
            f"{_place(link, row)} from {sender}" if sender else f"{_place(link, row)}, way {way}"
        )
        margin = _known(modes["margin_db"][mode]) if mode >= 0 else None
        rate = _known(hops.user_rate_mbps[place])
        yield _Figure(words, "level received", "dBm", None, _known(values["received_dbm"][place]))
        yield _Figure(words, "margin of the mode in use", "dB", True, margin)
        yield _Figure(words, "user rate", "Mb/s", True, rate)
        loss = _known(values["reflection_loss_db"][place])
        yield _Figure(words, "loss by the mirror of water", "dB", False, loss)


def _copper(results: Results, link: Link) -> Iterator[_Figure]:
    yield _Figure(_place(link), "rate", "Mb/s", True, _known(results.copper.rate_mbps[link.index]))
    yield from _feed(results, link)


def _feed(results: Results, link: Link) -> Iterator[_Figure]:
    line = results.power.by_link.get(link.key)
    values = line.values if line is not None else {}
    for key, label, unit, is_better_high in (
        ("load_v", "voltage at the load", "V", True),
        ("load_w", "load", "W", None),
    ):
        yield _Figure(_place(link), label, unit, is_better_high, _known(values.get(key)))


def _known(value: Any) -> float | None:
    figure = number(value)
    return None if figure != figure else float(figure)


_OF_LINK = {OPTICAL: _optical, RADIO: _radio, COPPER: _copper, FEED: _feed}
