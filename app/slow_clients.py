"""Connections of the server, with an end to those that never finish asking."""

import asyncio
from typing import Any

from uvicorn.protocols.http.h11_impl import H11Protocol

# A head is one packet; the slowest line brings it in less.
HEAD_WAIT_S = 20.0


class ImpatientProtocol(H11Protocol):
    """Closes a connection on which no request has begun for a while.

    The server itself waits for ever for the head of a request, and for the rest of one that was
    refused: a few hundred senders that drip would use up every connection.
    """

    head_wait_s = HEAD_WAIT_S

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self._deadline: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        super().connection_made(transport)
        self._wait()

    def connection_lost(self, exc: Exception | None) -> None:
        if self._deadline is not None:
            self._deadline.cancel()
        super().connection_lost(exc)

    def on_response_complete(self) -> None:
        self._wait()
        super().on_response_complete()

    def _wait(self) -> None:
        if self._deadline is not None:
            self._deadline.cancel()
        self._deadline = self.loop.call_later(self.head_wait_s, self._look, self.cycle)

    def _look(self, before: object) -> None:
        begun = self.cycle is not None and not self.cycle.response_complete
        if self.cycle is before and not begun and not self.transport.is_closing():
            self.transport.abort()
