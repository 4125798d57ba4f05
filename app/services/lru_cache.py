"""What was computed last, kept in memory under what it was computed from."""

from collections import OrderedDict
from collections.abc import Callable, Hashable
from threading import Lock
from typing import Any, Generic, TypeVar

T = TypeVar("T")
_NOTHING: Any = object()


class LruCache(Generic[T]):
    """The things asked for last, at most `size` of them. Safe to use from several threads."""

    def __init__(self, size: int) -> None:
        self._size = size
        self._things: OrderedDict[Hashable, T] = OrderedDict()
        self._lock = Lock()

    def __contains__(self, key: Hashable) -> bool:
        with self._lock:
            return key in self._things

    def get(self, key: Hashable, make: Callable[[], T]) -> T:
        """The thing under this key, made where it is not kept."""
        kept: T = self.find(key, _NOTHING)
        if kept is not _NOTHING:
            return kept
        made = make()
        self.put(key, made)
        return made

    def find(self, key: Hashable, nothing: Any = None) -> Any:
        """The thing under this key; `nothing` where it is not kept."""
        with self._lock:
            if key not in self._things:
                return nothing
            self._things.move_to_end(key)
            return self._things[key]

    def put(self, key: Hashable, thing: T) -> None:
        """Keep this under that key, and forget what was asked for longest ago."""
        with self._lock:
            self._things[key] = thing
            while len(self._things) > self._size:
                self._things.popitem(last=False)
