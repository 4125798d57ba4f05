"""A semaphore for each event loop: one of them cannot be waited for from two."""

import asyncio
from weakref import WeakKeyDictionary


class LoopSemaphore:
    """So many places for each event loop: pages on the network are answered by one of their own."""

    def __init__(self, size: int) -> None:
        self._size = size
        self._made: WeakKeyDictionary[asyncio.AbstractEventLoop, asyncio.Semaphore] = (
            WeakKeyDictionary()
        )

    def of_this_loop(self) -> asyncio.Semaphore:
        """That of the loop that runs."""
        return self._made.setdefault(asyncio.get_running_loop(), asyncio.Semaphore(self._size))
