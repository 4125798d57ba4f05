"""Attempts to sign in, slowed: each sender by itself, and all of them together.

Kept in memory: a restart forgets them, and of several processes each counts its own. Nobody is
locked out for good, and the machine itself needs no sign-in. Time is told by a clock that nobody
sets: one that is put back by a year would make everybody wait for a year.
"""

import time
from collections import OrderedDict, deque
from collections.abc import Callable
from dataclasses import dataclass
from threading import Lock

from app.domain.units.time_units import SECONDS_PER_DAY

# Common practice: a few at once, because anyone mistypes, then twice the wait each time.
FREE = 5
FIRST_WAIT_S, MAX_WAIT_S = 5.0, 15 * 60.0
FORGOTTEN_AFTER_S = SECONDS_PER_DAY
# Many senders at once get no further than so many together.
TOGETHER, TOGETHER_WITHIN_S = 60, 10 * 60.0
MAX_SENDERS = 10_000


@dataclass(frozen=True)
class _Tried:
    count: int
    last_s: float


class LoginThrottle:
    """Counts attempts before they are looked at, so that many at once count, too."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self.clock = clock
        self._lock = Lock()
        self._by_sender: OrderedDict[str, _Tried] = OrderedDict()
        self._together: deque[float] = deque()

    def begin(self, sender: str) -> float:
        """Zero where the attempt may be made, which counts it; else how many seconds to wait."""
        with self._lock:
            now = self.clock()
            wait_s = max(self._wait_of(sender, now), self._wait_together(now))
            if wait_s > 0:
                return wait_s
            tried = self._by_sender.pop(sender, None)
            known = tried is not None and now - tried.last_s <= FORGOTTEN_AFTER_S
            self._by_sender[sender] = _Tried(tried.count + 1 if tried and known else 1, now)
            while len(self._by_sender) > MAX_SENDERS:
                self._by_sender.popitem(last=False)
            self._together.append(now)
            return 0.0

    def succeeded(self, sender: str) -> None:
        """Forget what this sender tried before."""
        with self._lock:
            self._by_sender.pop(sender, None)
            if self._together:
                self._together.pop()

    def _wait_of(self, sender: str, now: float) -> float:
        tried = self._by_sender.get(sender)
        if tried is None or tried.count < FREE or now - tried.last_s > FORGOTTEN_AFTER_S:
            return 0.0
        pause_s = min(FIRST_WAIT_S * 2.0 ** min(tried.count - FREE, 10), MAX_WAIT_S)
        return max(tried.last_s + pause_s - now, 0.0)

    def _wait_together(self, now: float) -> float:
        while self._together and now - self._together[0] >= TOGETHER_WITHIN_S:
            self._together.popleft()
        if len(self._together) < TOGETHER:
            return 0.0
        return self._together[0] + TOGETHER_WITHIN_S - now
