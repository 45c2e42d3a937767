"""A bar on the terminal for work that takes longer than a second."""

import sys
import time
from collections.abc import Callable
from typing import Any, Self, TextIO

WAIT_S = 1.0
_LABEL = 20


class ProgressBar:
    """Drawn on the error stream from the first stage that begins after a second.

    Where that stream is no terminal nothing is drawn.
    """

    def __init__(
        self,
        stages: int,
        stream: TextIO | None = None,
        *,
        wait_s: float = WAIT_S,
        clock: Callable[[], float] = time.monotonic,
    ):
        self._stages = stages
        self._stream = sys.stderr if stream is None else stream
        self._clock = clock
        self._draws_from = clock() + wait_s
        self._begun = 0
        self._bar: Any = None

    def __call__(self, stage: str, left: int | None = None) -> None:
        """A stage begins: those before it are done. left: stages from this one on."""
        done, self._begun = self._begun, self._begun + 1
        if left is not None:
            self._stages = done + left
        if self._stream is None or not self._stream.isatty() or self._clock() < self._draws_from:
            return
        if self._bar is None:
            import typer

            self._bar = typer.progressbar(length=self._stages, file=self._stream, show_eta=False)
        self._bar.length = self._stages
        self._bar.label = f"{stage:<{_LABEL}}"
        self._bar.update(done - self._bar.pos)
        self._bar.render_progress()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *fault: object) -> None:
        """All is done; what is printed next begins on a line of its own."""
        if self._bar is not None:
            self._bar.label = f"{'done' if fault[0] is None else 'stopped':<{_LABEL}}"
            if fault[0] is None:
                self._bar.update(self._stages - self._bar.pos)
            self._bar.render_progress()
            self._bar.render_finish()
