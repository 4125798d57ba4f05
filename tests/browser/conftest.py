"""A real browser, which may talk to nothing but the server of its test."""

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

from tests.browser.seed import fill
from tests.live_server import server_in_thread

FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
# Without windows it opens a page in half the time.
NAMES = ("chromium-headless-shell", "chromium", "chromium-browser", "google-chrome", "chrome")


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


@pytest.fixture(scope="session")
def filled_once(tmp_path_factory) -> tuple[Path, dict[str, str]]:
    """A folder in which every page has something to show, to be copied and left as it is."""
    folder = tmp_path_factory.mktemp("filled")
    return folder, fill(folder / "data")


@pytest.fixture(scope="module")
def filled(filled_once, tmp_path_factory) -> tuple[Path, dict[str, str]]:
    """Such a folder for the tests of one file, and the addresses of what is in it."""
    folder, made = filled_once
    return shutil.copytree(folder, tmp_path_factory.mktemp("copy") / "filled"), made


@pytest.fixture(scope="session")
def demo_address(tmp_path_factory) -> Iterator[str]:
    """A server with the demo, which no test changes."""
    with server_in_thread(tmp_path_factory.mktemp("demo"), demo=True) as address:
        yield address


@pytest.fixture(autouse=True)
def own_pages(request: pytest.FixtureRequest) -> Iterator[None]:
    """The pages of a test go with it: one that stays open asks its server for ever."""
    used: Browser | None = (
        request.getfixturevalue("browser") if "browser" in request.fixturenames else None
    )
    before = set(used.contexts) if used else set()
    yield
    for one in set(used.contexts) - before if used else ():
        one.close()


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
