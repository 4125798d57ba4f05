"""The second listener: it serves one application on an address of the network while it is open."""

import logging
import threading
from collections.abc import Callable, Sequence
from contextvars import ContextVar
from dataclasses import dataclass, field, replace
from datetime import datetime
from socket import socket

from starlette.types import ASGIApp, Receive, Scope, Send
from uvicorn import Server

from app.domain.errors import FadelineError, InvalidInput, truncate
from app.domain.i18n.message import say
from app.domain.network import NetworkAddress, OpenNetwork
from app.server.listening import bound, make_server

# A laptop that slept looks as soon as it is awake.
LOOKS_EVERY_S = 5.0
# So many ports are tried behind the first; then any free one is taken.
PORTS_TRIED = 10
STARTS_WITHIN_S, ENDS_WITHIN_S = 10.0, 10.0
ANSWERS_FIRST_S = 0.5
# By which listener the request came that is answered at present.
_asked_by: ContextVar[object] = ContextVar("asked_by", default=None)
log = logging.getLogger("fadeline")


@dataclass
class _Running:
    """One opening: its server, the thread that it runs in, and the end of its watch."""

    opened: OpenNetwork
    server: Server
    thread: threading.Thread
    was_needed: bool = False
    stopped: threading.Event = field(default_factory=threading.Event)

    def end(self) -> None:
        """Hang up on everybody; what is under way is not waited for."""
        self.stopped.set()
        self.server.should_exit = self.server.force_exit = True
        self.thread.join(ENDS_WITHIN_S)


class NetworkListener:
    """Opens one application on the network and closes it: when told, when its time is up, when
    the last thing that it was opened for has ended, and with the program."""

    def __init__(
        self,
        application: ASGIApp,
        first_port: int,
        now: Callable[[], datetime],
        is_needed: Callable[[datetime], bool],
        addresses: Callable[[], Sequence[NetworkAddress]],
        stays_open: Callable[[datetime], bool] = lambda _: False,
        has_phones: Callable[[datetime], bool] = lambda _: False,
    ) -> None:
        self.addresses = addresses
        self.application = application
        self._first_port = first_port
        self._now = now
        self._is_needed = is_needed
        self._stays_open = stays_open
        self._has_phones = has_phones
        self._changing = threading.RLock()
        self._running: _Running | None = None
        self._last_port = first_port

    @property
    def opened(self) -> OpenNetwork | None:
        running = self._running
        return None if running is None else running.opened

    @property
    def has_phones(self) -> bool:
        return self._has_phones(self._now())

    def open(self, address: str, until: datetime) -> OpenNetwork:
        """Open it there, and nowhere else any more.

        Raises InvalidInput for an address that is not this machine's, and FadelineError where
        nobody may listen there.
        """
        known = [one.address for one in self.addresses()]
        if address not in known:
            allowed = ", ".join(known) or say("none: this machine is in no network")
            raise InvalidInput.because(say("address"), truncate(address), allowed, "address")
        needed = self._is_needed(self._now())
        with self._changing:
            self.close()
            self._running = self._started(self._bound(address), address, until)
            self._running.was_needed = needed
            watch = threading.Thread(
                target=self._watch, args=(self._running,), name="network watch", daemon=True
            )
            watch.start()
            log.info("open on the network at %s", self._running.opened.base)
            return self._running.opened

    def close(self) -> None:
        """Close it at once, with its connections; nothing where it is closed."""
        with self._changing:
            running, self._running = self._running, None
            if running is None:
                return
            if _asked_by.get() is self:
                # Who closes it by itself gets an answer first, and cannot wait for its own end.
                threading.Timer(ANSWERS_FIRST_S, running.end).start()
            else:
                running.end()
            log.info("closed on the network at %s", running.opened.base)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        _asked_by.set(self)
        await self.application(scope, receive, send)

    def look(self) -> None:
        """Close what is over; see whether the address is still there."""
        running = self._running
        if running is None:
            return
        now = self._now()
        needed = self._is_needed(now)
        late = now >= running.opened.until and not self._stays_open(now)
        ended = late or not running.thread.is_alive()
        if ended or (running.was_needed and not needed):
            self._close_only(running)
            return
        running.was_needed = needed
        there = running.opened.address in [one.address for one in self.addresses()]
        if there != running.opened.there:
            running.opened = replace(running.opened, there=there)

    def _close_only(self, running: _Running) -> None:
        with self._changing:
            if self._running is running:
                self.close()

    def _bound(self, address: str) -> socket:
        """The port of the last time where it is free, so that a printed code opens again."""
        following = range(self._first_port, min(self._first_port + PORTS_TRIED, 65536))
        for port in dict.fromkeys((self._last_port, *following, 0)):
            try:
                return bound(address, port)
            except FadelineError as error:
                trouble = error
        log.warning("not opened on the network: %s", trouble)
        raise FadelineError(
            say(
                "Nothing can be opened at {address}: the system allows no port there. Choose "
                "another address, or connect to the network again.",
                address=address,
            )
        )

    def _started(self, listening: socket, address: str, until: datetime) -> _Running:
        port = listening.getsockname()[1]
        self._last_port = port
        server = make_server(self)
        thread = threading.Thread(
            target=server.run, kwargs={"sockets": [listening]}, name="network", daemon=True
        )
        host = f"[{address}]" if ":" in address else address
        opened = OpenNetwork(f"http://{host}:{port}", address, until)
        running = _Running(opened, server, thread)
        thread.start()
        if not _answers(server, thread):
            running.end()
            raise FadelineError(say("The network was not opened; the log says more. Try again."))
        return running

    def _watch(self, running: _Running) -> None:
        while not running.stopped.wait(LOOKS_EVERY_S):
            try:
                self.look()
            except Exception:
                # Broad on purpose: what ends this thread leaves the network open.
                log.exception("unexpected error while watching the network")


def _answers(server: Server, thread: threading.Thread) -> bool:
    """Whether it answers, once it does."""
    waiting = threading.Event()
    for _ in range(round(STARTS_WITHIN_S / 0.01)):
        if server.started or not thread.is_alive():
            break
        waiting.wait(0.01)
    return bool(server.started)
