"""Connections of the server, with an end to those that never finish asking."""

import asyncio
import ipaddress
from typing import Any

from uvicorn.protocols.http.h11_impl import H11Protocol

# A head is one packet; the slowest line brings it in less.
HEAD_WAIT_S = 20.0
# More than the browsers of a club open at once.
MAX_CONNECTIONS = 200
# Other devices share these; the rest is this machine's alone, whose owner is never shut out.
MAX_OF_OTHERS = 150
# A browser opens six to one server.
MAX_OF_A_DEVICE = 40


class ImpatientProtocol(H11Protocol):
    """Closes a connection on which no request has begun for a while, or whose room is needed.

    The server itself waits for ever for the head of a request, and for the rest of one that was
    refused: a few hundred senders that drip, or that are only there, would use up every
    connection. Here whoever comes last is let in, and who has waited longest without asking goes.
    """

    head_wait_s = HEAD_WAIT_S

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self._deadline: asyncio.TimerHandle | None = None
        self._idle_since = 0.0
        self.device = ""

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        super().connection_made(transport)
        self.device = self._device()
        self._wait()
        self._make_room()

    def connection_lost(self, exc: Exception | None) -> None:
        if self._deadline is not None:
            self._deadline.cancel()
        super().connection_lost(exc)

    def on_response_complete(self) -> None:
        self._wait()
        super().on_response_complete()

    def _device(self) -> str:
        """The address of the other end; empty for this machine, or a proxy on it."""
        address = self.client[0] if self.client else ""
        try:
            parsed = ipaddress.ip_address(address)
        except ValueError:
            return address
        loopback = (getattr(parsed, "ipv4_mapped", None) or parsed).is_loopback
        return "" if loopback else address

    def _make_room(self) -> None:
        """Close one connection where there are too many; the new one where all others are busy."""
        there: list[ImpatientProtocol] = list(self.connections)  # type: ignore[arg-type]
        of_device = [one for one in there if one.device == self.device]
        of_others = [one for one in there if one.device]
        if self.device and len(of_device) > MAX_OF_A_DEVICE:
            _close_one(of_device, self)
        elif self.device and len(of_others) > MAX_OF_OTHERS:
            _close_one(of_others, self)
        elif len(there) > MAX_CONNECTIONS and any(one.is_idle for one in there if one is not self):
            # Where all are busy the server answers that it is (503).
            _close_one(there, self)

    @property
    def is_idle(self) -> bool:
        """Whether no request is under way on it."""
        return self.cycle is None or self.cycle.response_complete

    def _unsupported_upgrade_warning(self) -> None:
        """A request for a web socket is answered as any other; there is nothing to advise."""

    def _wait(self) -> None:
        if self._deadline is not None:
            self._deadline.cancel()
        self._idle_since = self.loop.time()
        self._deadline = self.loop.call_later(self.head_wait_s, self._look, self.cycle)

    def _look(self, before: object) -> None:
        if self.cycle is before and self.is_idle and not self.transport.is_closing():
            self.transport.abort()


def _close_one(among: list[ImpatientProtocol], newest: ImpatientProtocol) -> None:
    """Close what has been idle longest; the newest itself where no other is idle."""
    idle = [one for one in among if one is not newest and one.is_idle]
    closed = min(idle, key=lambda one: one._idle_since, default=newest)
    # It no longer counts, although the loop tells of its end a little later.
    closed.connections.discard(closed)
    closed.transport.abort()
