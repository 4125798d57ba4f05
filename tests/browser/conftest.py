"""A real browser, which may talk to nothing but the server of its test."""

import os
import shutil
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

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
