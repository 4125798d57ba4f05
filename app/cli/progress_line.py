"""How far a long job is, on standard error: what scripts read stays as it is."""

import sys
import time
from collections.abc import Callable
from typing import TextIO

# One line that is written over on a terminal; a line of its own now and then in a log.
ON_TERMINAL_S, IN_LOG_S = 0.2, 30.0
_CLEAR = "\r\x1b[K"


class ProgressLine:
    """Told of every step, it speaks every so often; used as a context it clears up at the end."""

    def __init__(
        self, out: TextIO | None = None, clock: Callable[[], float] = time.monotonic
    ) -> None:
        self._out = sys.stderr if out is None else out
        self._clock = clock
        self._on_terminal = self._out.isatty()
        self._every_s = ON_TERMINAL_S if self._on_terminal else IN_LOG_S
        self._spoke = clock()
        self._shown = False

    def __enter__(self) -> "ProgressLine":
        return self

    def __exit__(self, *_: object) -> None:
        if self._shown and self._on_terminal:
            self._write(_CLEAR)

    def __call__(self, what: str, done: int) -> None:
        now = self._clock()
        if now - self._spoke < self._every_s:
            return
        self._spoke, self._shown = now, True
        line = f"{what}: {done:,}"
        self._write(f"{_CLEAR}{line}" if self._on_terminal else f"{line}\n")

    def _write(self, text: str) -> None:
        self._out.write(text)
        self._out.flush()
