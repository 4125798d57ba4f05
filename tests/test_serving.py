"""The server: who may start it, how it stops, what it logs, and senders that drip."""

import asyncio
import contextlib
import logging
import re
import signal
import socket
import subprocess
import sys
import threading
import time

import httpx2
import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from typer.testing import CliRunner

from app.cli import app as commands
from app.domain.errors import Refused
from app.logs import LogLevel, set_up_logs
from app.main import create_app
from app.services import door
from app.serving import check_public_address, make_server
from app.settings import Settings
from app.slow_clients import ImpatientProtocol
from app.web import patience
from app.web.request_log import loggable
from tests.browser.conftest import free_port
from tests.conftest import here

PASSPHRASE = "copper lantern drift seven"


@pytest.fixture(autouse=True)
def logs():
    """Logging as it was before."""
    root, ours = logging.getLogger(), [logging.getLogger(n) for n in ("fadeline", "uvicorn")]
    before = root.handlers[:], root.level, [one.level for one in ours]
    yield
    root.handlers[:], root.level = before[0], before[1]
    for one, level in zip(ours, before[2], strict=True):
        one.setLevel(level)


@contextlib.contextmanager
def served(folder, *options):
    """The command as it is run; yields its process, its port and the file of its log."""
    port = free_port()
    command = [sys.executable, "-m", "app", "serve", "--no-browser", "--port", str(port)]
    log = folder / "log"
    with log.open("w") as opened:
        server = subprocess.Popen(
            [*command, "--data", str(folder / "data"), *options], stdout=opened, stderr=opened
        )
        try:
            for _ in range(400):
                with contextlib.suppress(httpx2.TransportError):
                    httpx2.get(f"http://127.0.0.1:{port}/health", timeout=1)
                    break
                time.sleep(0.05)
            yield server, port, log
        finally:
            server.kill()
            server.wait(10)


def run(*words, given=None):
    return CliRunner().invoke(commands, list(words), input=given)


@pytest.mark.parametrize(
    "options", [["--host", "0.0.0.0"], ["--public-address", "https://club.example"]]
)
def test_without_a_passphrase_nothing_listens_to_others(tmp_path, options):
    done = run("serve", "--no-browser", "--port", str(free_port()), "--data", tmp_path, *options)
    assert done.exit_code == 1
    assert "fadeline passphrase" in done.output


def test_the_demo_is_not_shown_by_a_proxy(tmp_path):
    options = ["--demo", "--public-address", "https://club.example"]
    done = run("serve", "--no-browser", "--port", str(free_port()), "--data", tmp_path, *options)
    assert done.exit_code == 1
    assert "demo" in done.output


@pytest.mark.parametrize(
    ("given", "origin"),
    [
        ("https://club.example", "https://club.example"),
        (" HTTPS://Club.Example/ ", "https://club.example"),
        ("http://pi.local:8765", "http://pi.local:8765"),
        ("", ""),
    ],
)
def test_a_public_address_is_kept_as_browsers_write_it(given, origin):
    assert check_public_address(given) == origin


@pytest.mark.parametrize(
    "given",
    [
        "club.example",
        "https://",
        "ftp://club.example",
        "https://club.example/fadeline",
        "https://club.example?x",
        "https://user@club.example",
        "https://club.example:443",
        "https://club.example:x",
        "https://club .example",
    ],
)
def test_what_is_no_origin_is_refused(given):
    with pytest.raises(Refused, match="public address"):
        check_public_address(given)


def test_a_passphrase_is_set_from_the_command_line_and_sessions_are_ended(tmp_path):
    data = ["--data", str(tmp_path)]
    refused = run("passphrase", *data, given="short\n")
    assert refused.exit_code == 1
    assert "5 characters" in refused.output
    assert run("passphrase", *data, given=f"{PASSPHRASE}\n").exit_code == 0
    app = create_app(Settings(data_dir=tmp_path))
    store = app.state.store
    assert door.is_passphrase(store, PASSPHRASE)
    with here(app) as client:
        client.post("/sign-in", data={"passphrase": PASSPHRASE})
        assert "this device" not in client.get("/door").text
        assert len(client.cookies) == 1
        assert run("passphrase", "--end-sessions", *data).exit_code == 0
        assert "None at present" in client.get("/door").text
    assert door.is_passphrase(store, PASSPHRASE)
    store.engine.dispose()


@pytest.mark.data_file
@pytest.mark.skipif(sys.platform == "win32", reason="SIGTERM is a POSIX signal")
def test_a_stop_finishes_what_is_under_way_and_takes_nothing_new(tmp_path):
    body = (
        b"name=Slow&chemistry=lfp&nominal_v=12.8&rated_ah=100&rated_temperature_c=25"
        b"&reserve_percent=0&end_of_life_percent=80&test_interval_days=91"
    )
    with served(tmp_path) as (server, port, _):
        head = (
            f"POST /batteries HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nContent-Length: {len(body)}\r\n"
            "Content-Type: application/x-www-form-urlencoded\r\n\r\n"
        )
        with connected(port) as slow:
            slow.sendall(head.encode() + body[:20])
            # That it has begun is known once another request behind it is answered.
            assert httpx2.get(f"http://127.0.0.1:{port}/health").status_code == 200
            server.send_signal(signal.SIGTERM)
            for _ in range(400):
                try:
                    httpx2.get(f"http://127.0.0.1:{port}/health", timeout=1)
                except httpx2.TransportError:
                    break
                time.sleep(0.05)
            assert server.poll() is None
            slow.sendall(body[20:])
            assert slow.recv(1000).startswith(b"HTTP/1.1 303")
        assert server.wait(30) == 0
    app = create_app(Settings(data_dir=tmp_path / "data"))
    with here(app) as client:
        assert [one["name"] for one in client.get("/api/batteries").json()] == ["Slow"]
    app.state.store.engine.dispose()


def test_every_request_has_one_line_with_no_secret_in_it(tmp_path):
    with served(tmp_path) as (server, port, log):
        address = f"http://127.0.0.1:{port}"
        httpx2.get(f"{address}/batteries/new?name=SECRETQUERY")
        httpx2.get(f"{address}/shared/SECRETTOKEN-of-a-link")
        httpx2.get(f"{address}/api/shared/SECRETTOKEN/?chart=x")
        httpx2.post(f"{address}/sign-in", data={"passphrase": "SECRETPASS"})
        bearer = {"Authorization": "Bearer SECRETWORD"}
        httpx2.post(f"{address}/api/runs/1/readings", json={"readings": []}, headers=bearer)
        httpx2.get(f"{address}/x%0AFORGED%20GET%20/%20200")
        server.terminate()
        server.wait(30)
        lines = log.read_text().splitlines()
    stamp = r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ INFO"
    asked = [one for one in lines if re.search(r" (GET|POST) /", one) and "/health" not in one]
    said = [re.sub(rf"^{stamp} (.*) \d+ ms$", r"\1", one) for one in asked]
    assert said == [
        "GET /batteries/new 200",
        "GET /shared/SECR… 404",
        "GET /api/shared/SECR…/ 404",
        "POST /sign-in 422",
        "POST /api/runs/1/readings 422",
        "GET /x%0AFORGED%20GET%20/%20200 404",
    ]
    for secret in ("SECRETQUERY", "SECRETTOKEN", "SECRETPASS", "SECRETWORD"):
        assert secret not in "\n".join(lines)


def test_a_quieter_log_holds_no_line_a_request(capsys):
    set_up_logs(LogLevel.WARNING)
    logging.getLogger("fadeline.requests").info("GET / 200")
    logging.getLogger("fadeline").warning("trouble")
    logging.getLogger("multipart").debug("what was sent")
    assert re.fullmatch(r"\S+Z WARNING trouble\n", capsys.readouterr().err)


def test_what_libraries_say_of_their_work_stays_out_at_every_level(capsys):
    set_up_logs(LogLevel.DEBUG)
    for name in ("multipart.multipart", "sqlalchemy.engine", "asyncio", "httpx"):
        logging.getLogger(name).info("what was sent")
    assert capsys.readouterr().err == ""


@pytest.mark.parametrize(
    ("path", "shown"),
    [
        ("/shared/abcdefgh", "/shared/abcd…"),
        ("/shared/ab", "/shared/ab…"),
        ("/example/shared/abcdefgh", "/example/shared/abcd…"),
        ("/a\r\nb", "/a%0D%0Ab"),
        ("/\x1b[31m", "/%1B%5B31m"),
        ("/ü", "/%C3%BC"),
        ("/" + "x" * 1000, "/" + "x" * 299),
    ],
)
def test_a_path_in_the_log_is_one_line_without_a_secret(path, shown):
    assert loggable(path) == shown


def test_health_answers_everybody_and_says_nothing_private(app, tmp_path):
    with TestClient(app, base_url="http://any.example", client=("10.0.0.1", 1)) as stranger:
        answer = stranger.get("/health")
        assert answer.status_code == 200
        assert answer.json() == {"status": "ok", "database": "reached", "version": app.version}


@pytest.mark.data_file
def test_health_says_when_the_data_cannot_be_read(app, client):
    app.state.store.engine.dispose()
    app.state.settings.database.write_bytes(b"no database" * 500)
    answer = client.get("/health")
    assert answer.status_code == 503
    assert answer.json()["database"] == "not reached"


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


def connected(port):
    return socket.create_connection(("127.0.0.1", port), 20)


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
