"""Looks at links, before they are stored: a crowd at one must not keep the data file busy."""

from collections import Counter
from dataclasses import replace
from datetime import datetime, timedelta
from threading import Lock

from app.domain.share import Share

# So long at the most do looks wait while more of them come. A server that is killed forgets those.
STORED_EVERY = timedelta(seconds=10)


class ViewCounter:
    """How often each link was looked at since its number was stored. Safe to use from threads."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._waiting: Counter[str] = Counter()
        self._last: dict[str, datetime] = {}
        self._due_at: datetime | None = None

    def note(self, token: str, now: datetime) -> bool:
        """One look more; whether it is time to store them."""
        with self._lock:
            self._waiting[token] += 1
            self._last[token] = now
            waited = self._due_at is None or abs(now - self._due_at) >= STORED_EVERY
            if waited:
                self._due_at = now
            return waited

    @property
    def waiting(self) -> int:
        """How many are not stored yet."""
        with self._lock:
            return self._waiting.total()

    def counted_in(self, share: Share) -> Share:
        """The link with the looks that are not stored yet."""
        with self._lock:
            views = share.views + self._waiting[share.token]
            last = self._last.get(share.token, share.viewed_at)
        return replace(share, views=views, viewed_at=last)

    def take(self) -> dict[str, tuple[int, datetime]]:
        """What is to be stored: by token, how often and when last. It no longer waits then."""
        with self._lock:
            taken = {token: (count, self._last[token]) for token, count in self._waiting.items()}
            self._waiting.clear()
            self._last.clear()
            return taken

    def give_back(self, taken: dict[str, tuple[int, datetime]]) -> None:
        """What could not be stored waits on."""
        with self._lock:
            for token, (count, last) in taken.items():
                self._waiting[token] += count
                self._last[token] = max(last, self._last.get(token, last))
