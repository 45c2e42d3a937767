"""Extras of a design by their words: which are cabinets or masts."""

import re

#: Extras that are cabinets or masts take no spares (rules of the project); what is only fixed to
#: one does. An extra is free text, so its words decide.
_STRUCTURES = re.compile(r"\b(?:cabinet|enclosure|mast|tower|pole|foundation)s?\b")
_FIXINGS = re.compile(r"\b(?:mount|bracket|clamp|strap|band|bolt|lock|gland|plate|arm|kit)")
_AFTER_NAME = re.compile(r"\b(?:with|for|on|to|in|of)\b|[,;:]")


def is_structure(part: str, description: str) -> bool:
    """A cabinet or mast by its name, else by what its description begins with.

    >>> is_structure("mast-8m", "tubular mast with foot plate"), is_structure("pole-mount", "")
    (True, False)
    >>> is_structure("x-17", "bracket for a mast")
    False
    """
    for text in (part, _AFTER_NAME.split(description)[0]):
        words = re.sub(r"[_-]", " ", text.lower())
        if _STRUCTURES.search(words):
            return not _FIXINGS.search(words)
    return False
