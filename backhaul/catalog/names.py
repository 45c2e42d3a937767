"""Names match without regard to case, spaces, hyphens, underscores; `fibre` is `fiber`."""

from collections.abc import Iterable

_DROPPED = str.maketrans("", "", " \t\u00a0-_")


def normal(name: str) -> str:
    """What two spellings of one name have in common.

    >>> normal("Fibre Class") == normal("fiber_class")
    True
    >>> normal("1000BASE-LX10")
    '1000baselx10'
    """
    return name.translate(_DROPPED).lower().replace("fibre", "fiber")


def nearest(name: str, names: Iterable[str], count: int = 3) -> tuple[str, ...]:
    """The names most like the one that was not found, best first.

    >>> nearest("OS-2 12", ["om3-12", "os2-12", "cat6a-out"], count=1)
    ('os2-12',)
    """
    from difflib import get_close_matches  # only when something is wrong

    spelled = {normal(known): known for known in names}
    found = get_close_matches(normal(name), spelled, n=count, cutoff=0.5)
    return tuple(spelled[key] for key in found)
