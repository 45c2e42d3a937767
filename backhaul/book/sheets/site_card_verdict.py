"""Whether the design may be built at a site: one sentence at the head of its card, live."""

from backhaul.book.formula_cells import one_of
from backhaul.book.sheets.site_card import Card
from backhaul.book.status import FOUND_ALARM
from backhaul.findings import FAIL, PASS, worst
from backhaul.spreadsheet.cells import Calc, Text
from backhaul.spreadsheet.grid import Sheet

#: What a card of a failing design says.
FAILS_HERE = "Design fails here: do not build."
FAILS_ELSEWHERE = "Design fails, on paths that do not pass here: do not build before it is settled."
DO_NOT_USE = "Figures were typed since: run backhaul again before this card is used."
SETTLED = "No check of the design fails on the paths through this site."
#: More verdicts than these are counted part by part: a formula takes 8,192 characters.
_MOST_TESTS = 100


def _any_fails(card: Card, helpers: Sheet, found: list[tuple[str, str]]) -> str:
    """Formula text of whether one of these paths fails; of many, counted beside the print area."""
    if len(found) <= _MOST_TESTS:
        return one_of(f'{{{key}}}="{FAIL}"' for key, _ in found)
    prefix = card.key(f"fails.{helpers.helper_row}")
    rows = []
    for first in range(0, len(found), _MOST_TESTS):
        some = found[first : first + _MOST_TESTS]
        count = "+".join(f'({{{key}}}="{FAIL}")' for key, _ in some)
        now = sum(word == FAIL for _, word in some)
        rows.append((Calc(f"{prefix}.{len(rows)}", count, now, format="0"),))
    helpers.helper(f"Paths that fail, {card.title}", ("paths",), rows)
    return f"SUM({{{prefix}.0}}:{{{prefix}.{len(rows) - 1}}})>0"


def say_verdict(card: Card, helpers: Sheet) -> None:
    """Whether the design may be built here: live over the verdicts of its paths."""
    plan, here = card.plan, {path for row in rows_here(card) for path in row.path}
    verdicts = plan.path_verdicts or {
        path: ("", word) for path, word in plan.evaluation.path_verdicts.items()
    }
    own = [verdicts[path] for path in verdicts if path in here]
    others = [verdicts[path] for path in verdicts if path not in here]
    word = worst((*(word for _, word in own),)) if own else PASS
    elsewhere = any(word == FAIL for _, word in others)
    text = FAILS_HERE if word == FAIL else FAILS_ELSEWHERE if elsewhere else SETTLED
    key = card.key("design")
    if not plan.path_verdicts:
        said = Text(text, "card stop" if text != SETTLED else "card strong", card.sheet.width, key)
        card.sheet.row(said)
        return
    formula = f'IF({{{FOUND_ALARM}}}="","{SETTLED}","{DO_NOT_USE}")'
    for found, said_text in ((others, FAILS_ELSEWHERE), (own, FAILS_HERE)):
        if found:
            formula = f'IF({_any_fails(card, helpers, found)},"{said_text}",{formula})'
    card.sheet.row(
        Calc(
            key,
            formula,
            text,
            style="card stop" if text != SETTLED else "card strong",
            span=card.sheet.width,
        )
    )


def rows_here(card: Card) -> list:
    """Rows of the design that stand, begin or end at the site."""
    places = card.evaluation.network.places
    return [
        row
        for row in card.evaluation.design.segments
        if card.name in places.get(row.id, (row.site, row.to_site))
    ]
