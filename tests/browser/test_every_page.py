"""Every page in every state, at four widths, light and dark: axe, size, console and network."""

import os
from pathlib import Path

import pytest

from tests.browser.audit import Tour
from tests.browser.conftest import Watch
from tests.browser.every_page import EMPTY, FILES, FULL, Stop
from tests.builders import NOW
from tests.live_server import server_in_thread
from tests.routes import every_route

WIDTHS = {320: 700, 390: 844, 768: 1024, 1280: 800}
SCHEMES = ("light", "dark")
# Colours do not depend on the width, nor names on the colours: so few times by axe see all of them.
BY_AXE = {(390, "light"), (1280, "dark")}
LAST_LABEL = "[...document.querySelectorAll('label')].at(-1)"


@pytest.fixture(scope="module")
def shots():
    """Where the pictures go, never into the repository; nowhere unless somebody wants them."""
    given = os.environ.get("FADELINE_SCREENSHOTS")
    if not given:
        return None
    Path(given).mkdir(parents=True, exist_ok=True)
    return Path(given)


def touring(browser, folder, made, shots):
    """A tour of a server on the folder; what it should not say is looked at after every stop."""
    with server_in_thread(folder, NOW) as address:
        page = browser.new_context(timezone_id="UTC").new_page()
        watch = Watch(address)
        yield Tour(watch.over(page), watch, made | {"address": address, "folder": folder}, shots)
        page.context.close()


@pytest.fixture(scope="module")
def full(browser, filled, shots):
    yield from touring(browser, *filled, shots)


@pytest.fixture(scope="module")
def empty(browser, tmp_path_factory, shots):
    yield from touring(browser, tmp_path_factory.mktemp("empty"), {}, shots)


def look_at(there, stop):
    """Everything that is wrong with a stop, at every width and in every colour scheme."""
    there.page.set_viewport_size({"width": 1280, "height": 800})
    wrong = there.visit(stop)
    if stop.printed:
        there.page.emulate_media(media="print")
        there.shoot(stop, "print")
        return wrong
    for width, height in WIDTHS.items():
        for scheme in SCHEMES:
            by_axe = (width, scheme) in BY_AXE
            if there.shots is None and scheme == "dark" and not by_axe:
                # Only somebody who looks at the pictures would see more.
                continue
            there.look(width, height, scheme)
            there.shoot(stop, f"{width}-{scheme}")
            there.unfold(True)
            if by_axe:
                wrong += [f"{width} {scheme} {one}" for one in there.axe()]
            if scheme == "light":
                wrong += [f"{width} {one}" for one in (*there.too_wide(), *there.small())]
            there.unfold(False)
    return wrong + in_sunlight(there, stop) + there.complaints(stop)


def in_sunlight(there, stop):
    """The look that is not the device's to choose, but the reader's."""
    there.page.evaluate("document.documentElement.dataset.look = 'sunlight'")
    there.look(1280, WIDTHS[1280], "light")
    there.shoot(stop, "1280-sunlight")
    return [f"sunlight {one}" for one in there.axe(["color-contrast"])]


@pytest.mark.parametrize("stop", EMPTY, ids=lambda stop: stop.name)
def test_a_page_without_data_is_clean_at_every_width_in_light_and_dark(empty, stop):
    assert look_at(empty, stop) == []


@pytest.mark.parametrize("stop", FULL, ids=lambda stop: stop.name)
def test_a_page_is_clean_at_every_width_in_light_and_dark(full, stop):
    assert look_at(full, stop) == []


def test_every_page_of_the_program_is_visited(app, filled):
    routes = [route for route in every_route(app) if "GET" in route.methods]
    _, made = filled
    paths = [stop.address(made).partition("?")[0] for stop in (*EMPTY, *FULL)]
    visited = {next((r.name for r in routes if r.path_regex.match(p)), "") for p in paths}
    pages = {route.name for route in routes if not route.path.startswith("/api/")}
    assert pages - visited == FILES


@pytest.mark.parametrize(
    ("harm", "said"),
    [
        ("document.querySelector('h1').style.color = '#ccc'", "color-contrast"),
        # One of many that looked alike, by its own colour and by its ground.
        (f"{LAST_LABEL}.style.color = '#ccc'", "color-contrast"),
        (f"{LAST_LABEL}.parentElement.style.background = '#777'", "color-contrast"),
        ("document.querySelector('label').remove()", "label"),
        ("document.querySelector('main').style.width = '2000px'", "too wide"),
        (
            "document.querySelector('.actions button').style.cssText = 'min-height: 0; padding: 0'",
            "small",
        ),
        ("console.error('SOMETHING')", "SOMETHING"),
        ("fetch('http://192.0.2.1/').catch(() => 0)", "192.0.2.1"),
    ],
)
def test_what_is_wrong_with_a_page_is_seen(full, harm, said):
    stop = Stop("harmed", "/batteries/new", act=lambda page, _: page.evaluate(harm))
    assert any(said in one for one in look_at(full, stop))
