"""Several designs at once: one table, a line a design, the worst first."""

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from backhaul.checks.groups import causes
from backhaul.checks.results import Results
from backhaul.errors import InputError
from backhaul.findings import FAIL, PASS, THIN
from backhaul.report.lines import Line, place_of
from backhaul.report.terminal import MARKS

UNUSABLE = "unusable"
_ORDER = {UNUSABLE: 0, FAIL: 1, THIN: 2, PASS: 3}

Outcome = tuple[Path, Results | InputError]


def verdict_of(result: Results | InputError) -> str:
    """Verdict of a design, or that it cannot be used."""
    return UNUSABLE if isinstance(result, InputError) else result.verdict


#: So many names of what is no design are told.
_MOST_SKIPPED = 12


def table(outcomes: list[Outcome], skipped: Sequence[str] = ()) -> Iterator[Line]:
    """The table of a folder of designs, and below it what else the folder holds."""
    ranked = sorted(outcomes, key=lambda outcome: _ORDER[verdict_of(outcome[1])])
    width = max((len(path.name) for path, _ in outcomes), default=0)
    yield f"{'design':<{width}}  verdict   paths  fail  thin  first open point", ""
    for path, result in ranked:
        verdict = verdict_of(result)
        if isinstance(result, InputError):
            first = str(result.problems[0])
            yield (f"{path.name:<{width}}  {verdict:<8}  {'':>5}  {'':>4}  {'':>4}  {first}", FAIL)
            continue
        groups = causes(result.findings)
        counts = [sum(group.count for group in groups if group.severity == s) for s in (FAIL, THIN)]
        head = groups[0].head if groups else None
        first = f"{head.check} {place_of(head)}: {head.message}" if head else ""
        yield (
            (
                f"{path.name:<{width}}  {MARKS[verdict]:<8}  {len(result.network.chains):>5}  "
                f"{counts[0]:>4}  {counts[1]:>4}  {first}"
            ),
            verdict,
        )
    if skipped:
        more = len(skipped) - _MOST_SKIPPED
        rest = f" and {more} more" if more > 0 else ""
        yield f"not designs, skipped: {', '.join(skipped[:_MOST_SKIPPED])}{rest}", ""


def records(outcomes: list[Outcome], skipped: Sequence[str] = ()) -> dict[str, Any]:
    """The same as data: the record of each design, or its problems; what was skipped."""
    from backhaul.report.record import record

    return {
        "format": 1,
        "designs": [
            {"design": path.name, "problems": [problem._asdict() for problem in result.problems]}
            if isinstance(result, InputError)
            else {"design": path.name, **record(result)}
            for path, result in outcomes
        ],
        "skipped": list(skipped),
    }


def exit_status(outcomes: list[Outcome], *, strict: bool) -> int:
    """The worst of the designs: 2 unusable, 1 something fails (with `strict`: or is thin)."""
    verdicts = {verdict_of(result) for _, result in outcomes}
    if UNUSABLE in verdicts:
        return 2
    return 1 if FAIL in verdicts or (strict and THIN in verdicts) else 0
