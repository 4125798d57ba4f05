"""A real server on loopback and a real browser, which may talk to nothing else."""

import contextlib
import os
import shutil
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

import httpx2
import pytest
from playwright.sync_api import Browser, Page, sync_playwright

from tests.servers import environment_of

FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    path = next((found for name in NAMES if (found := shutil.which(name))), None)
    if path is None:
        reason = "no Chromium on this machine (searched for: " + ", ".join(NAMES) + ")"
        if os.environ.get("FADELINE_REQUIRE_BROWSER") == "1":
            pytest.fail(reason)
        pytest.skip(reason)
    with sync_playwright() as playwright:
        launched = playwright.chromium.launch(executable_path=path, args=FLAGS)
        yield launched
        launched.close()


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextlib.contextmanager
def serving(folder: Path, *options: str, public: bool = False) -> Iterator[str]:
    """Run the command as a user would; yields the address. public says that all have to sign in."""
    port = free_port()
    if public:
        options = (*options, "--public-address", f"http://127.0.0.1:{port}")
    command = ["app", "serve", "--no-browser", "--port", str(port), "--data", str(folder / "data")]
    with _answering(folder, port, *command, *options) as address:
        yield address


@contextlib.contextmanager
def standing_still(folder: Path, moment: datetime) -> Iterator[str]:
    """A server on the folder's data for which it is always the same moment; yields the address."""
    port, clock = free_port(), folder / "clock"
    clock.write_text(moment.isoformat())
    command = ["tests.browser.fast_clock", str(folder / "data"), str(port), str(clock)]
    with _answering(folder, port, *command) as address:
        yield address


@contextlib.contextmanager
def _answering(folder: Path, port: int, *command: str) -> Iterator[str]:
    with (folder / "server.log").open("w") as log:
        server = subprocess.Popen(
            [sys.executable, "-m", *command],
            stdout=log,
            stderr=log,
            env=environment_of(folder / "data"),
        )
        address = f"http://127.0.0.1:{port}"
        try:
            for _ in range(200):
                with contextlib.suppress(httpx2.TransportError):
                    httpx2.get(address, timeout=1)
                    break
                time.sleep(0.05)
            yield address
        finally:
            server.terminate()
            server.wait(10)


class Watch:
    """Collects everything a page does that it must not."""

    def __init__(self, address: str) -> None:
        self.address = address
        self.complaints: list[str] = []

    def over(self, page: Page) -> Page:
        page.on("console", lambda m: self._say(m.type in ("error", "warning"), m.text))
        page.on("pageerror", lambda error: self._say(True, str(error)))
        # A request that the page itself gave up, because it moved on, is no failure.
        page.on(
            "requestfailed",
            lambda r: self._say(r.failure != "net::ERR_ABORTED", f"{r.failure}: {r.url}"),
        )
        page.on(
            "request",
            lambda r: self._say(
                not r.url.startswith((self.address, "data:", "blob:")), f"left: {r.url}"
            ),
        )
        return page

    def _say(self, wrong: bool, text: str) -> None:
        if wrong:
            self.complaints.append(text)
