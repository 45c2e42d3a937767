"""Names of a design in the keys of cells, where braces mark keys."""

_NO_BRACES = str.maketrans("{}", "()")


def safe(name: object) -> str:
    """A name that can stand in a key.

    >>> safe("P{1}")
    'P(1)'
    """
    return str(name).translate(_NO_BRACES)
