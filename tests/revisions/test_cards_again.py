"""Cards to print again are those on which something that is printed changed: held against the cards."""

import random
import re

import pytest
from revision_designs import CATALOG, STEPS, read, shuffled, tables

from backhaul.book.plan import Plan
from backhaul.evaluation import evaluate
from backhaul.revisions.comparison import Comparison

#: What only tells the revision, or numbers that follow from steps alone.
_REVISION = re.compile(r"design digest \w+|revision \w+")


def printed(evaluation) -> dict[str, list]:
    """What stands on each card of the workbook, cell by cell."""
    from backhaul.book import book

    sheets = {sheet.name: sheet for sheet in book._sheets(Plan(evaluation), lambda stage: None)}
    cards: dict[str, list] = {}
    site = None
    for row in sheets["Site cards"].rows:
        words = [
            (getattr(cell, "text", None) or getattr(cell, "value", None) or cell)
            if not isinstance(cell, str)
            else cell
            for cell in row.cells
        ]
        if words and isinstance(words[0], str) and words[0].startswith("Site card: "):
            site = words[0].removeprefix("Site card: ")
        if site is not None:
            cards.setdefault(site, []).extend(
                f"{word:.2f}" if isinstance(word, float) else _REVISION.sub("", str(word))
                for word in words
            )
    return {site: sorted(words) for site, words in cards.items()}  # in whatever order


@pytest.mark.parametrize("seed", range(20))
def test_cards_that_differ_are_printed_again_and_no_others(tmp_path, seed):
    rng = random.Random(seed)
    other = tables()
    steps = [step for step in STEPS if step is not shuffled]  # it only orders words otherwise
    step = steps[seed % len(steps)]
    other = step(other, rng)
    before, after = (
        evaluate(read(tmp_path, name, each), CATALOG, seek=False)
        for name, each in (("old", tables()), ("new", other))
    )
    found = Comparison(before, after)
    back = {now: was for was, now in found.sites.items()}
    cards = printed(before), printed(after)
    differing = {
        site
        for site, card in cards[1].items()
        if card != cards[0].get(back.get(site, site)) and site in after.design.sites
    }
    told = {card.site for card in found.cards if card.what != "void"}
    assert differing <= told, f"{step.__name__}: not told {differing - told}"
    assert len(told - differing) <= 1, f"{step.__name__}: told for nothing {told - differing}"
