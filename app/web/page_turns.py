"""Pages are computed a few at a time, the others in line.

Python runs one thread at a time. Of many that compute at once each waits for the lock at every
statement, and all of them are ready late; in line the first is ready early and none later.
"""

import asyncio

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from app.web.loop_semaphore import LoopSemaphore

# While one waits for the database or the disk, another computes.
MAX_AT_ONCE = 2
# Whoever computes longer lets the next one begin beside it: a slow page must not stop all others.
MAX_TURN_S = 0.25
_places = LoopSemaphore(MAX_AT_ONCE)


class PageTurns:
    """Middleware that gives each page its turn, until its answer begins: whoever reads slowly
    keeps nobody waiting. What is sent here takes none, it may arrive slowly as well."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http" or scope["method"] != "GET" or "/static/" in scope["path"]:
            await self._app(scope, receive, send)
            return
        turn = _Turn()
        await turn.begin()

        async def send_after(message: Message) -> None:
            turn.end()
            await send(message)

        try:
            await self._app(scope, receive, send_after)
        finally:
            turn.end()


class _Turn:
    """One of the places, given back once."""

    def __init__(self) -> None:
        self._loop = asyncio.get_running_loop()
        self._place = _places.of_this_loop()
        self._limit: asyncio.TimerHandle | None = None

    async def begin(self) -> None:
        await self._place.acquire()
        self._limit = self._loop.call_later(MAX_TURN_S, self.end)

    def end(self) -> None:
        if self._limit is not None:
            self._limit.cancel()
            self._limit = None
            self._place.release()
