"""Servers of the program as somebody starts them, each a process of its own on this machine."""

import contextlib
import socket
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping
from datetime import datetime
from pathlib import Path
from typing import TextIO

import httpx2

from tests.servers import environment_of


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def serve_on(port: int, folder: Path, *options: str) -> list[str]:
    """The words of the command that serves a data folder."""
    return ["app", "serve", "--no-browser", "--port", str(port), "--data", str(folder), *options]


def started(
    port: int,
    command: list[str],
    *,
    log: TextIO | None = None,
    env: Mapping[str, str] | None = None,
) -> subprocess.Popen[bytes]:
    """A module that serves on this port, once it answers."""
    server = subprocess.Popen(
        [sys.executable, "-m", *command], stdout=log or subprocess.DEVNULL, stderr=log, env=env
    )
    # A busy machine takes its time; a server that has ended is not waited for.
    for _ in range(2000):
        if server.poll() is not None:
            break
        with contextlib.suppress(httpx2.TransportError):
            httpx2.get(f"http://127.0.0.1:{port}/health", timeout=1)
            return server
        time.sleep(0.05)
    server.kill()
    server.wait(60)
    raise AssertionError("the server did not answer")


@contextlib.contextmanager
def served(folder: Path, *options: str) -> Iterator[tuple[subprocess.Popen[bytes], int, Path]]:
    """The command as it is run; yields its process, its port and the file of its log."""
    port, log = free_port(), folder / "log"
    with log.open("w") as opened:
        command = serve_on(port, folder / "data", *options)
        server = started(port, command, log=opened, env=environment_of(folder / "data"))
        try:
            yield server, port, log
        finally:
            server.kill()
            server.wait(60)


@contextlib.contextmanager
def serving(folder: Path, *options: str, public: bool = False) -> Iterator[str]:
    """Run the command as a user would; yields the address. public says that all have to sign in."""
    port = free_port()
    if public:
        options = (*options, "--public-address", f"http://127.0.0.1:{port}")
    with _answering(folder, port, serve_on(port, folder / "data", *options)) as address:
        yield address


@contextlib.contextmanager
def standing_still(folder: Path, moment: datetime) -> Iterator[str]:
    """A server on the folder's data for which it is always the same moment; yields the address."""
    port, clock = free_port(), folder / "clock"
    clock.write_text(moment.isoformat())
    command = ["tests.browser.fast_clock", str(folder / "data"), str(port), str(clock)]
    with _answering(folder, port, command) as address:
        yield address


@contextlib.contextmanager
def _answering(folder: Path, port: int, command: list[str]) -> Iterator[str]:
    with (folder / "server.log").open("w") as log:
        server = started(port, command, log=log, env=environment_of(folder / "data"))
        try:
            yield f"http://127.0.0.1:{port}"
        finally:
            server.terminate()
            server.wait(60)


def connected(port: int) -> socket.socket:
    return socket.create_connection(("127.0.0.1", port), 20)
