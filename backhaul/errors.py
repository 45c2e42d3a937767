"""All exceptions of the package.

BackhaulError
├── InputError      what a designer wrote cannot be used: exit status 2, all problems at once
└── OutputError     what was computed cannot be written: exit status 2, the old file stays
"""

from collections.abc import Callable, Iterable
from typing import NamedTuple


class Problem(NamedTuple):
    """One thing that cannot be used: where, what was found, what is needed, what would settle it.

    >>> print(Problem("segments.csv:7 length_m", "'96 m'", "a number in metres", "write 96"))
    segments.csv:7 length_m: found '96 m'; needed a number in metres; write 96
    """

    where: str
    found: str
    needed: str
    remedy: str = ""

    def __str__(self) -> str:
        text = f"{self.where}: found {self.found}; needed {self.needed}"
        return f"{text}; {self.remedy}" if self.remedy else text


class BackhaulError(Exception):
    """The root: whatever the command line answers with exit status 2."""


class InputError(BackhaulError):
    """The design or a catalogue cannot be used; holds every problem that was found."""

    def __init__(self, problems: Iterable[Problem]):
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))

    def shown(self, words: Callable[[str], str]) -> "InputError":
        """The same with its sentences in the units of the reader; the cells are named as they are."""
        return InputError(
            Problem(problem.where, *map(words, problem[1:])) for problem in self.problems
        )


class OutputError(BackhaulError):
    """An output could not be written; what stood there before is whole."""


def reason_of(error: OSError) -> str:
    """Why the system refuses a file or a folder, in words.

    >>> reason_of(PermissionError(13, "Permission denied")), reason_of(OSError())
    ('permission denied', 'an error')
    """
    return (error.strerror or str(error) or "an error").lower()
