"""Attempts to sign in, slowed: each sender by itself, and all of them together.

Kept in memory: a restart forgets them, and of several processes each counts its own. Nobody is
locked out for good, and the machine itself needs no sign-in.
"""

from collections import OrderedDict, deque
from dataclasses import dataclass
from datetime import datetime, timedelta
from threading import Lock

# Common practice: a few at once, because anyone mistypes, then twice the wait each time.
FREE = 5
FIRST_WAIT = timedelta(seconds=5)
LONGEST_WAIT = timedelta(minutes=15)
FORGOTTEN_AFTER = timedelta(days=1)
# Many senders at once get no further than so many together.
TOGETHER, TOGETHER_WITHIN = 60, timedelta(minutes=10)
MOST_SENDERS = 10_000
_NONE = timedelta(0)


@dataclass(frozen=True)
class _Tried:
    count: int
    last: datetime


class Attempts:
    """Counts attempts before they are looked at, so that many at once count, too."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._by_sender: OrderedDict[str, _Tried] = OrderedDict()
        self._together: deque[datetime] = deque()

    def begin(self, sender: str, now: datetime) -> timedelta:
        """Zero where the attempt may be made, which counts it; else how long to wait."""
        with self._lock:
            wait = max(self._wait_of(sender, now), self._wait_together(now))
            if wait > _NONE:
                return wait
            tried = self._by_sender.pop(sender, None)
            known = tried is not None and now - tried.last <= FORGOTTEN_AFTER
            self._by_sender[sender] = _Tried(tried.count + 1 if tried and known else 1, now)
            while len(self._by_sender) > MOST_SENDERS:
                self._by_sender.popitem(last=False)
            self._together.append(now)
            return _NONE

    def succeeded(self, sender: str) -> None:
        """Forget what this sender tried before."""
        with self._lock:
            self._by_sender.pop(sender, None)
            if self._together:
                self._together.pop()

    def _wait_of(self, sender: str, now: datetime) -> timedelta:
        tried = self._by_sender.get(sender)
        if tried is None or tried.count < FREE or now - tried.last > FORGOTTEN_AFTER:
            return _NONE
        pause = min(FIRST_WAIT * 2.0 ** min(tried.count - FREE, 10), LONGEST_WAIT)
        return max(tried.last + pause - now, _NONE)

    def _wait_together(self, now: datetime) -> timedelta:
        while self._together and now - self._together[0] >= TOGETHER_WITHIN:
            self._together.popleft()
        if len(self._together) < TOGETHER:
            return _NONE
        return self._together[0] + TOGETHER_WITHIN - now
