"""Names as people type them: matched without regard to case, spaces, hyphens, underscores."""

import unicodedata
from collections.abc import Iterable

SIGNS_IN_HEADS = str.maketrans({"%": "percent", "º": "", "²": "2", "³": "3"})
CLOSE_ENOUGH = 0.5  # ratio of difflib, by trying it on misspelt part names
NEAREST_SHOWN = 3
NAMES_COMPARED = 3000
COMPARED_LETTERS = 80


def squash(text: str) -> str:
    """A head, sheet or kind as it is compared.

    >>> squash("Length (m)") == squash("length_m") == squash("LENGTH [m]")
    True
    >>> squash("Fibre")
    'fiber'
    >>> squash("Availability %")
    'availabilitypercent'
    """
    wide = unicodedata.normalize("NFKC", text.translate(SIGNS_IN_HEADS)).casefold()
    return "".join(filter(str.isalnum, wide)).replace("fibre", "fiber")


def fold(text: str) -> str:
    """A part name as it is compared: case and blanks do not count, hyphens do.

    >>> fold(" 1000BASE-LX10 ")
    '1000base-lx10'
    """
    return "".join(text.casefold().split())


def plain(number: float) -> str:
    """A number that stands for a name, as a designer would write it.

    >>> plain(1.0), plain(1.5)
    ('1', '1.5')
    """
    if number == int(number) and abs(number) < 1e15:
        return str(int(number))
    return repr(number)


def nearest(name: str, known: Iterable[str]) -> list[str]:
    """The known names that look most like `name`, best first.

    >>> nearest("conector", ["connector", "splice", "radio"])
    ['connector']
    """
    from difflib import get_close_matches

    by_fold: dict[str, str] = {}
    for candidate in known:
        by_fold.setdefault(fold(candidate), candidate)
        if len(by_fold) == NAMES_COMPARED:
            break
    asked = fold(name)[:COMPARED_LETTERS]
    found = get_close_matches(asked, by_fold, n=NEAREST_SHOWN, cutoff=CLOSE_ENOUGH)
    if len(asked) > 2:
        found += [f for f in by_fold if f.startswith(asked) and f not in found]
    return [by_fold[each] for each in found[:NEAREST_SHOWN]]


def listed(names: Iterable[str], most: int = 12) -> str:
    """Names in a sentence, cut where it would run on.

    >>> listed(["V", "H", "VH"])
    'V, H or VH'
    """
    names = list(names)
    if len(names) > most:
        return ", ".join(names[:most]) + f" or one of {len(names) - most} others"
    if len(names) < 2:
        return "".join(names)
    return ", ".join(names[:-1]) + " or " + names[-1]
