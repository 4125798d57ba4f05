"""Senders that drip are given up, slow lines are not."""

import asyncio
import contextlib
import socket
import threading
import time

import pytest
from fastapi import FastAPI

from app.server.application import create_app
from app.server.header_timeout import MAX_OF_OTHERS, ImpatientProtocol
from app.server.listening import make_server
from app.settings import Settings
from app.web.security import body_timeout
from tests.live_server import connected

pytestmark = [pytest.mark.usefixtures("logs"), pytest.mark.any_database]


class Quick(ImpatientProtocol):
    head_wait_s = 0.2


@contextlib.contextmanager
def in_a_thread(application, protocol=ImpatientProtocol):
    """The server beside the test; yields its port."""
    server = make_server(application)
    server.config.http = protocol
    listening = socket.create_server(("127.0.0.1", 0))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
    thread.start()
    try:
        yield listening.getsockname()[1]
    finally:
        server.should_exit = True
        thread.join(30)


@pytest.mark.parametrize("sent", [b"", b"GET / HTTP/1.1\r\n", b"GET / HTTP/1.1\r\nHost: a\r\nX: "])
def test_a_sender_that_never_finishes_its_head_is_hung_up_on(sent):
    with in_a_thread(FastAPI(), Quick) as port, connected(port) as slow:
        slow.sendall(sent)
        with contextlib.suppress(ConnectionResetError):
            assert slow.recv(100) == b""


def test_the_rest_of_what_was_refused_is_not_waited_for(tmp_path):
    app = create_app(Settings(data_dir=tmp_path))
    with in_a_thread(app, Quick) as port, connected(port) as slow:
        slow.sendall(b"POST / HTTP/1.1\r\nHost: a\r\nContent-Length: 9999999999\r\n\r\nx")
        said = b""
        with contextlib.suppress(ConnectionResetError):
            while piece := slow.recv(10_000):
                said += piece
        assert said.startswith(b"HTTP/1.1 413")
    app.state.store.engine.dispose()


def test_a_body_that_does_not_arrive_is_given_up_and_nothing_is_stored(app, monkeypatch):
    monkeypatch.setattr(body_timeout, "WAIT_S", 0.05)
    arrives = [{"type": "http.request", "body": b"name=Half", "more_body": True}]
    answers = []

    async def receive():
        while not arrives:
            await asyncio.sleep(60)
        return arrives.pop()

    async def send(message):
        answers.append(message)

    scope = {
        "type": "http",
        "asgi": {"version": "3.0"},
        "http_version": "1.1",
        "method": "POST",
        "path": "/batteries",
        "raw_path": b"/batteries",
        "query_string": b"",
        "root_path": "",
        "scheme": "http",
        "server": ("127.0.0.1", 80),
        "client": ("127.0.0.1", 5000),
        "headers": [
            (b"host", b"127.0.0.1"),
            (b"content-length", b"100"),
            (b"content-type", b"application/x-www-form-urlencoded"),
        ],
    }
    asyncio.run(app(scope, receive, send))
    assert answers[0]["status"] == 408
    assert (b"connection", b"close") in answers[0]["headers"]


def test_a_large_file_over_a_slow_line_has_the_time_it_needs():
    scope = {"headers": [(b"content-length", b"64000000")]}
    assert body_timeout.BodyTimeout(scope, None)._allowed_s > 3 * 3600


class ByAddress(ImpatientProtocol):
    """Other loopback addresses stand for other devices."""

    def _device(self):
        return "" if self.client[0] == "127.0.0.1" else self.client[0]


def answer(port, sender):
    """The first line of what a sender gets for one request."""
    with socket.create_connection(("127.0.0.1", port), 20, (sender, 0)) as asking:
        asking.sendall(b"GET /quick HTTP/1.1\r\nHost: a\r\nConnection: close\r\n\r\n")
        with contextlib.suppress(ConnectionResetError):
            return asking.recv(100).split(b"\r\n")[0]
    return b""


@contextlib.contextmanager
def connected_from(port, senders):
    """One connection a sender, on which nothing is asked."""
    with contextlib.ExitStack() as stack:
        made = [socket.create_connection(("127.0.0.1", port), 20, (one, 0)) for one in senders]
        for one in made:
            stack.enter_context(one)
        yield made


@pytest.fixture
def served_by_address():
    """A server with a page that answers and one that keeps its request open; yields its port."""
    app, release, begun = FastAPI(), threading.Event(), []

    @app.get("/quick")
    def quick():
        return "here"

    @app.get("/long")
    async def long():
        begun.append(1)
        while not release.is_set():
            await asyncio.sleep(0.01)

    with in_a_thread(app, ByAddress) as port:
        yield port, begun
        release.set()


OK = b"HTTP/1.1 200 OK"
IDLE = {
    "one device": ["127.0.0.2"] * 250,
    "many devices": [f"127.0.1.{number % 10 + 1}" for number in range(250)],
    "this machine": ["127.0.0.1"] * 250,
}


@pytest.mark.parametrize("senders", IDLE.values(), ids=IDLE)
def test_connections_that_are_only_there_shut_nobody_out(served_by_address, senders):
    port, _ = served_by_address
    with connected_from(port, senders):
        for sender in ("127.0.0.1", "127.0.0.3", senders[0]):
            assert answer(port, sender) == OK, sender


def test_devices_that_keep_their_requests_open_do_not_shut_the_machine_itself_out(
    served_by_address,
):
    port, begun = served_by_address
    senders = [f"127.0.1.{number % 10 + 1}" for number in range(MAX_OF_OTHERS)]
    with connected_from(port, senders) as made:
        for one in made:
            one.sendall(b"GET /long HTTP/1.1\r\nHost: a\r\n\r\n")
        while len(begun) < MAX_OF_OTHERS:
            time.sleep(0.01)
        assert answer(port, "127.0.0.3") == b""
        assert answer(port, "127.0.0.1") == OK


def test_a_request_for_a_web_socket_is_answered_and_not_advised_upon(served_by_address, caplog):
    port, _ = served_by_address
    with connected(port) as asking:
        asking.sendall(
            b"GET /quick HTTP/1.1\r\nHost: a\r\nConnection: Upgrade\r\nUpgrade: websocket\r\n"
            b"Sec-WebSocket-Version: 13\r\nSec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n\r\n"
        )
        assert asking.recv(100).startswith(OK)
    assert not [one for one in caplog.records if "websocket" in one.getMessage().casefold()]
