"""Can it be ordered: the answer on top of At a glance, and where the book itself does not stand."""

from collections import Counter

from backhaul.book.keys import safe
from backhaul.book.plan import Plan
from backhaul.book.sheets.open_points import accepted_of
from backhaul.book.status import RUN_AGAIN
from backhaul.checks.groups import causes
from backhaul.findings import FAIL, PASS, THIN, worst
from backhaul.spreadsheet.cells import Calc, Text, Verdict
from backhaul.spreadsheet.grid import Sheet

ANSWERS = {PASS: "yes", THIN: "with care", FAIL: "not yet"}
SENTENCES = {
    PASS: "Nothing fails, no margin is thin: the list can be ordered, of parts that meet Requirements.",
    THIN: "Nothing fails, but something is thin: order once Open points has been read and accepted.",
    FAIL: "Something fails: settle what stands first on Open points before anything is bought.",
}
#: In place of the words for pass where somebody answers for what is thin.
ACCEPTED_SENTENCE = "Nothing fails; somebody answers for what is thin: the list can be ordered."
#: Where the book itself does not stand, in the order of weight: count, answer, words and place.
NOT_STANDING = (
    ("status.wrong", ANSWERS[FAIL], "Not yet: a typed cell cannot be used", "status.wrong_at"),
    ("errors.count", ANSWERS[FAIL], "Not yet: the book holds an error", "errors.at"),
    (
        "status.stale",
        RUN_AGAIN,
        "A typed figure reaches further than this book can follow. Run backhaul again with it",
        "status.stale_at",
    ),
)


def write_answer(plan: Plan, sheet: Sheet) -> None:
    parts = dict(plan.path_verdicts.values())
    loose = worst(finding.verdict for finding in plan.evaluation.findings if not finding.paths)
    word = worst([*parts.values(), loose])
    verdict = _worst_of_paths(list(plan.path_verdicts)) if parts else f'"{word}"'
    if loose != PASS and parts:
        verdict = f'IF({verdict}="{FAIL}","{FAIL}","{loose}")' if loose == THIN else f'"{loose}"'
    verdict = f'IF({{status.stale}}>0,"{RUN_AGAIN}",{verdict})'
    accepted = accepted_of(plan.evaluation)
    sentences = SENTENCES | ({PASS: ACCEPTED_SENTENCE} if accepted else {})
    sheet.blank()
    sheet.row(
        Text("Can it be ordered?", "lead", 2),
        Verdict(
            ANSWERS[word],
            formula=_standing(_choose("{glance.verdict}", ANSWERS), said=False),
            key="glance.answer",
            style="verdict big",
            span=2,
        ),
        Calc(
            "glance.sentence",
            _standing(_choose("{glance.verdict}", sentences), said=True),
            sentences[word],
            style="calc lead",
            span=5,
        ),
        height=34,
    )
    counts: Counter[str] = Counter()
    for group in causes(plan.evaluation.findings):
        counts[group.severity] += group.count
    words = f"{counts[FAIL]} fail, {counts[THIN]} thin (works, with less reserve than is wanted)"
    words += f", {len(accepted)} accepted" if accepted else ""
    sheet.row(
        Text("Verdict of the whole design", "text", 2),
        Verdict(word, formula=verdict, key="glance.verdict", span=2),
        _as_written(f"At the last run: {words}."),
    )


def _as_written(words: str) -> Calc:
    """The count of findings, and that the answer is that of other figures where some are typed."""
    formula = (
        f'"{words}"&IF({{status.changed}}>0," Figures typed since: "&{{status.changed}}&".","")'
    )
    return Calc("glance.written", formula, words, style="calc text", span=5)


def _worst_of_paths(paths: list[str]) -> str:
    """Over the verdicts of the table below: a range, since a district has too many to name.

    The paths that say pass or thin are counted: whatever else stands there, an error too, fails.
    """
    column = f"{{glance.{safe(paths[0])}}}:{{glance.{safe(paths[-1])}}}"
    passes, thin = (f'COUNTIF({column},"{word}")' for word in (PASS, THIN))
    return f'IF({passes}={len(paths)},"{PASS}",IF({passes}+{thin}={len(paths)},"{THIN}","{FAIL}"))'


def _choose(cell: str, words: dict[str, str]) -> str:
    """Words for a verdict; for what is none, an error too, those for fail."""
    return (
        f'IF(ISERROR({cell}),"{words[FAIL]}",'
        f'IF({cell}="{PASS}","{words[PASS]}",IF({cell}="{THIN}","{words[THIN]}","{words[FAIL]}")))'
    )


def _standing(text: str, *, said: bool) -> str:
    """The answer, or what it says, where the book stands; else why it does not, and where."""
    for count, answer, words, place in reversed(NOT_STANDING):
        instead = f'"{words}: "&{{{place}}}&"."' if said else f'"{answer}"'
        text = f"IF({{{count}}}>0,{instead},{text})"
    return text
