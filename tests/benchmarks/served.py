"""A server of its own process for benchmarks, with a bare page beside Fadeline's, and its visitor.

The bare page is text of any length from the same server process: what a page could cost at least.
Run as a program it serves: python -m tests.benchmarks.served FOLDER PORT
"""

import contextlib
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlsplit

from starlette.types import ASGIApp, Receive, Scope, Send

from app.server.application import create_app
from app.server.run import bound, make_server
from app.settings import Settings
from tests.live_server import free_port
from tests.postgres import environment_of

BARE = "/bare/"


class WithBarePage:
    """The application, and `/bare/N`, which is N bytes from a server that does nothing else."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app
        self._pages: dict[str, bytes] = {}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        path: str = scope.get("path", "")
        if not path.startswith(BARE):
            await self._app(scope, receive, send)
            return
        size = path.removeprefix(BARE)
        body = self._pages.setdefault(size, b"x" * int(size))
        headers = [(b"content-type", b"text/html"), (b"content-length", size.encode())]
        await send({"type": "http.response.start", "status": 200, "headers": headers})
        await send({"type": "http.response.body", "body": body})


@dataclass(frozen=True)
class Served:
    """A running server. start_s: from its start to its first page, in seconds."""

    address: str
    process_id: int
    start_s: float

    def memory_mb(self, what: str = "VmRSS") -> float:
        """Memory of the server now, or its most with VmHWM. Linux only."""
        status = Path(f"/proc/{self.process_id}/status").read_text()
        line = next(line for line in status.splitlines() if line.startswith(what))
        return int(line.split()[1]) / 1024


@contextlib.contextmanager
def serving(folder: Path, *, beside_bare: bool = False) -> Iterator[Served]:
    """The program on that data folder as its owner starts it, or with the bare page beside it."""
    port = free_port()
    plain = ["app", "serve", "--no-browser", "--port", str(port)]
    module = ["tests.benchmarks.served", str(folder), str(port)] if beside_bare else plain
    command = [sys.executable, "-m", *module]
    quiet = subprocess.DEVNULL
    began = time.perf_counter()
    server = subprocess.Popen(command, stdout=quiet, stderr=quiet, env=environment_of(folder))
    address = f"http://127.0.0.1:{port}"
    try:
        _wait_for(address, server)
        yield Served(address, server.pid, time.perf_counter() - began)
    finally:
        server.terminate()
        server.wait()


def _wait_for(address: str, server: subprocess.Popen[bytes]) -> None:
    while server.poll() is None:
        try:
            with contextlib.closing(Visitor(address)) as visitor:
                visitor.get("/")
            return
        except ConnectionRefusedError:
            time.sleep(0.01)
    raise RuntimeError("the server ended before its first page")


class Visitor:
    """One connection that is kept open. Does nothing but send and read, to cost next to nothing."""

    def __init__(self, address: str) -> None:
        place = urlsplit(address)
        self._host = place.netloc
        self._socket = socket.create_connection((place.hostname or "", place.port or 80))
        self._socket.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        self._read = self._socket.makefile("rb")

    def close(self) -> None:
        self._read.close()
        self._socket.close()

    def get(self, path: str) -> bytes:
        """A page's body. Raises RuntimeError for every answer but 200."""
        return self._ask(f"GET {path} HTTP/1.1\r\nHost: {self._host}\r\n\r\n".encode())

    def post(self, path: str, body: bytes, *headers: str) -> bytes:
        """The same of what is sent."""
        lines = [f"POST {path} HTTP/1.1", f"Host: {self._host}", f"Content-Length: {len(body)}"]
        return self._ask("\r\n".join([*lines, *headers, "", ""]).encode() + body)

    def _ask(self, request: bytes) -> bytes:
        self._socket.sendall(request)
        status, length = self._read.readline(), 0
        while line := self._read.readline().strip():
            name, _, value = line.partition(b":")
            if name.lower() == b"content-length":
                length = int(value)
        body = self._read.read(length)
        if b" 200 " not in status:
            raise RuntimeError(f"{status!r} for {request[:80]!r}: {body[:200]!r}")
        return body


def main(folder: str, port: str) -> None:
    settings = Settings(data_dir=Path(folder), port=int(port))
    with bound("127.0.0.1", int(port)) as listening:
        make_server(WithBarePage(create_app(settings))).run(sockets=[listening])


if __name__ == "__main__":
    main(*sys.argv[1:])
