"""Feeds that share a run: what holds for several loads behind it is said once."""

from collections.abc import Callable, Iterator
from typing import Any

from backhaul.budgets.power_lines import PowerLine
from backhaul.checks.context import Context, on_row
from backhaul.checks.dark import paths_behind_all
from backhaul.figures.power_judgements import LineJudgement
from backhaul.findings import PASS, Finding
from backhaul.path.equipment import row_key


def feeds(context: Context) -> Iterator[PowerLine]:
    """The feeds of a design."""
    return (line for line in context.power.lines if not line.is_poe)


def paths_of(lines: list[PowerLine]) -> tuple[str, ...]:
    """Paths of some feeds, each once."""
    return tuple(dict.fromkeys(path for line in lines for path in line.link.paths))


def failing(
    context: Context, judgement: LineJudgement, worst: Callable[[PowerLine], float]
) -> Iterator[list[PowerLine]]:
    """Feeds that a judgement does not let pass, by word, those that share a run together.

    worst: what is highest in the feed that is told first.
    """
    alone = list(feeds(context))
    word_of = dict(
        zip(map(id, alone), judgement.words_of([line.values for line in alone]), strict=True)
    )
    for lines in context.power.feed_groups:
        words: dict[str, list[PowerLine]] = {}
        for line in lines:
            words.setdefault(word_of[id(line)], []).append(line)
        words.pop(PASS, None)
        for alike in words.values():
            yield sorted(alike, key=lambda line: -_known(worst(line)))


def _known(value: float) -> float:
    return value if value == value else float("-inf")


def on_feeds(
    context: Context, check: str, severity: str, lines: list[PowerLine], column: str, message: str,
    **details: Any,
) -> Finding:  # fmt: skip
    """A finding on a feed, or once on the run that several share, with how many there are more."""
    row, first = lines[0].run, lines[0]
    if len(lines) > 1:
        rest = [{row_key(place.row) for place in line.rows} for line in lines[1:]]
        shared = [
            place.row for place in first.rows if all(row_key(place.row) in keys for keys in rest)
        ]
        row = shared[-1] if shared else row
        behind = f" behind {row.label}" if shared else ""
        message += f"; likewise {len(lines) - 1} more{behind}"
    details.setdefault("paths", paths_behind_all(context, lines))
    found = on_row(check, severity, row, column, message, **details)
    rows = (row.id, *(line.run.id for line in lines))
    return found._replace(rows=tuple(dict.fromkeys(rows)))
