"""Senders that drip are given up, slow lines are not."""

import asyncio
import contextlib
import socket
import threading

import pytest
from fastapi import FastAPI

from app.main import create_app
from app.serving import make_server
from app.settings import Settings
from app.slow_clients import ImpatientProtocol
from app.web import patience
from tests.serving import connected

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
    monkeypatch.setattr(patience, "WAIT_S", 0.05)
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
    assert patience.Patience(scope, None)._allowed_s > 3 * 3600
