"""Servers of the program as somebody starts them, each a process of its own on this machine."""

import contextlib
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator, Mapping
from datetime import datetime
from pathlib import Path
from typing import TextIO

import httpx2

from app.domain.network import AddressKind, NetworkAddress
from app.server.application import create_app
from app.server.listening import bound, make_server
from app.server.network_application import close_listeners
from app.services.example.demo import fill_with_demo
from app.settings import Settings
from tests.postgres import environment_of

# Another address of this machine stands for the one on the network.
AT = "127.0.0.2"


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def serve_on(port: int, *options: str) -> list[str]:
    """The words of the command that serves the records of the environment it is run in."""
    return ["app", "serve", "--no-browser", "--port", str(port), *options]


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
        command = serve_on(port, *options)
        server = started(port, command, log=opened, env=environment_of(folder / "data"))
        try:
            yield server, port, log
        finally:
            server.kill()
            server.wait(60)


@contextlib.contextmanager
def serving(folder: Path, *options: str) -> Iterator[str]:
    """Run the command as a user would; yields the address."""
    port = free_port()
    with (folder / "server.log").open("w") as log:
        command = serve_on(port, *options)
        server = started(port, command, log=log, env=environment_of(folder / "data"))
        try:
            yield f"http://127.0.0.1:{port}"
        finally:
            server.terminate()
            server.wait(60)


@contextlib.contextmanager
def server_in_thread(
    folder: Path, moment: datetime | None = None, *, demo: bool = False, public: bool = False
) -> Iterator[str]:
    """The same server in a thread of this process, which starts in no time; yields the address.

    With a moment it is always that moment, as the folder's file clock says, which is read for every
    request; public says that all have to sign in.
    """
    with bound("127.0.0.1", 0) as listening:
        port = listening.getsockname()[1]
        address = f"http://127.0.0.1:{port}"
        app = create_app(
            Settings(
                data_dir=folder / "data",
                port=port,
                demo=demo,
                public_address=address if public else "",
            )
        )
        app.state.network.addresses = lambda: (NetworkAddress(AT, AddressKind.WIFI),)
        if moment is not None:
            (folder / "clock").write_text(moment.isoformat())
            app.state.clock = lambda: datetime.fromisoformat((folder / "clock").read_text())
        if demo:
            fill_with_demo(app.state.store)
        server = make_server(app)
        running = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
        running.start()
        try:
            yield address
        finally:
            # A browser may hold a connection open: nobody waits for it.
            server.should_exit = server.force_exit = True
            running.join(60)
            close_listeners(app)
            app.state.example.close()
            app.state.store.engine.dispose()


def connected(port: int) -> socket.socket:
    return socket.create_connection(("127.0.0.1", port), 20)
