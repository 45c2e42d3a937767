"""Findings: what a check has to say about a place in the design."""

from typing import NamedTuple

FAIL, THIN, NOTE, CAUTION, PASS = "fail", "thin", "note", "caution", "pass"
_RANK = {FAIL: 0, THIN: 1, CAUTION: 2, NOTE: 3}


class Finding(NamedTuple):
    """One finding, frozen: where it stands, what was found, what would settle it."""

    check: str
    severity: str
    message: str
    path: str | None = None
    paths: tuple[str, ...] = ()
    step: int | float | None = None
    where: str | None = None
    remedy: str | None = None
    value: float | str | None = None
    limit: float | str | None = None
    unit: str | None = None
    source: str | None = None
    #: ids of the segments that the finding counts for; not part of the output
    rows: tuple[int, ...] = ()
    #: of a link, where it holds for one: 0 from near to far, 1 back; not part of the output
    direction: int | None = None

    @property
    def rank(self) -> int:
        """Sort key: worst first."""
        return _RANK[self.severity]


def worst(severities) -> str:
    """The verdict of many severities: the worst; notes and cautions do not count.

    >>> worst(["note", "thin", "caution"])
    'thin'
    >>> worst([])
    'pass'
    """
    found = set(severities)
    if FAIL in found:
        return FAIL
    return THIN if THIN in found else PASS
