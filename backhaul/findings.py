"""Findings: what a check has to say about a place in the design."""

from typing import NamedTuple

FAIL, THIN, NOTE, CAUTION, PASS = "fail", "thin", "note", "caution", "pass"
#: Unit of a finding on the energy of a battery, which its live cell shows.
AUTONOMY_UNIT = "d"
#: Unit of a finding on the conductors of a mains feed.
CONDUCTORS_UNIT = "conductors"
#: Unit of what may flow until somebody ends it, beside that of what trips a breaker.
LASTING_UNIT = "A lasting"
#: Unit of what a breaker carries, beside that of what the conductors carry.
BREAKER_UNIT = "A at the breaker"
#: Unit of a finding on equipment in an explosive area: what its marking is.
EX_UNIT = "Ex marking"
#: Units of findings by which somebody can be hurt: nothing else explains them, nobody accepts them.
GUARDS = (CONDUCTORS_UNIT, LASTING_UNIT, EX_UNIT)
_RANK = {FAIL: 0, THIN: 1, CAUTION: 2, NOTE: 3}


class Acceptance(NamedTuple):
    """Somebody answers for a thin finding."""

    by: str
    date: str
    reason: str
    #: the figure that was accepted, None where the row has none
    value: float | None = None


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
    #: the remedy as data: changes of the design, each proved by evaluating it
    edits: tuple = ()
    #: ids of the segments that the finding counts for; not part of the output
    rows: tuple[int, ...] = ()
    #: unique, and the same in every run of the same design
    id: str = ""
    #: id of the finding that this one only follows from
    cause: str | None = None
    #: who answers for it: by, date, reason
    accepted: "Acceptance | None" = None
    #: of a link, where it holds for one: 0 from near to far, 1 back; not part of the output
    direction: int | None = None
    #: what is wrong once where several things of a check suffer from it: the cold of a site, say;
    #: blank where a finding stands for itself; not part of the output
    shared: str = ""

    @property
    def rank(self) -> int:
        """Sort key: worst first."""
        return _RANK[self.severity]

    @property
    def verdict(self) -> str:
        """What it adds to a verdict: its severity, a pass where it is accepted or only a note.

        >>> Finding("surge", THIN, "no protector").verdict, Finding("safety", CAUTION, "x").verdict
        ('thin', 'pass')
        """
        is_counted = self.severity == FAIL or (self.severity == THIN and self.accepted is None)
        return self.severity if is_counted else PASS


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
