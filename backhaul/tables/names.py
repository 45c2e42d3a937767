"""Names as people type them: matched without regard to case, spaces, hyphens, underscores."""

import re
import unicodedata
from collections.abc import Iterable

_DROPPED = str.maketrans("", "", " \t-_")
_PLAIN = re.compile(r"[\w \t-]*", re.ASCII)
_IN_WORDS = str.maketrans({"%": "percent", "+": "plus", "º": "", "²": "2", "³": "3"})
#: letters and digits; 1.5 is not 15, and 1/2 is not 12
_KEPT = re.compile(r"[^\W_]|(?<=\d)[^\w\s-](?=\d)")
CLOSE_ENOUGH = 0.5  # ratio of difflib, by trying it on misspelt part names
NEAREST_SHOWN = 3
NAMES_COMPARED = 3000
COMPARED_LETTERS = 80
SHOWN_LETTERS = 60
FEET = ("feet", "foot")


def squash(text: str) -> str:
    """A head, sheet, kind or part as it is compared.

    >>> squash("Length (m)") == squash("length_m") == squash("LENGTH [m]")
    True
    >>> squash("Fibre Class"), squash("1000BASE-LX10"), squash("Availability %")
    ('fiberclass', '1000baselx10', 'availabilitypercent')
    >>> squash("sfp+"), squash("2 x 1.5"), squash("2x15")
    ('sfpplus', '2x1.5', '2x15')
    """
    if _PLAIN.fullmatch(text):
        return text.translate(_DROPPED).lower().replace("fibre", "fiber")
    wide = unicodedata.normalize("NFKC", text.translate(_IN_WORDS)).casefold()
    return "".join(_KEPT.findall(wide)).replace("fibre", "fiber")


def plain(number: float) -> str:
    """A number that stands for a name, as a designer would write it.

    >>> plain(1.0), plain(1.5)
    ('1', '1.5')
    """
    if number == int(number) and abs(number) < 1e15:
        return str(int(number))
    return repr(number)


def nearest(name: str, known: Iterable[str], count: int = NEAREST_SHOWN) -> list[str]:
    """The known names that look most like `name`, best first.

    >>> nearest("conector", ["connector", "splice", "radio"])
    ['connector']
    >>> nearest("OS-2 12", ["om3-12", "os2-12", "cat6a-out"], count=1)
    ['os2-12']
    """
    from difflib import get_close_matches  # only when something is wrong

    spelled: dict[str, str] = {}
    for candidate in known:
        spelled.setdefault(squash(candidate), candidate)
        if len(spelled) == NAMES_COMPARED:
            break
    asked = squash(name)[:COMPARED_LETTERS]
    found = get_close_matches(asked, spelled, n=count, cutoff=CLOSE_ENOUGH)
    if len(asked) > 2:
        found += [f for f in spelled if f.startswith(asked) and f not in found]
    return [spelled[each] for each in found[:count]]


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


def shown(value: object) -> str:
    """A value as a message quotes it: short, on one line, nothing unprintable.

    >>> shown("96 m")
    "'96 m'"
    """
    text = str(value)
    if len(text) > SHOWN_LETTERS:
        text = text[: SHOWN_LETTERS - 3] + "..."
    return f"'{on_one_line(text)}'"


def shown_place(path: object) -> str:
    """A path as a message quotes it: on one line, its end where it is long.

    >>> shown_place("x" * 80 + "/sites.csv")
    '...xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx/sites.csv'
    """
    text = on_one_line(str(path))
    return text if len(text) <= SHOWN_LETTERS else "..." + text[3 - SHOWN_LETTERS :]


def on_one_line(text: str) -> str:
    r"""A text without what cannot be printed: a name holds no line of its own, and no odd bytes.

    >>> on_one_line("north\nmast: pass")
    'north mast: pass'
    """
    if text.isprintable():
        return text
    return "".join(ch if ch.isprintable() else "?" if ch > "\x7f" else " " for ch in text)
