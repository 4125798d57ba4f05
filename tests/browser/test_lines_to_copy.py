"""The lines that feed a running test are copied by a press, and stay while readings come in."""

import shlex

import httpx2
import pytest
from playwright.sync_api import expect

from tests.live_server import server_in_thread


@pytest.fixture
def address(filled):
    folder, _ = filled
    with server_in_thread(folder) as served:
        yield served


def make_a_word(page):
    """Press the button for a new word, in a part that may be folded."""
    made = page.locator("section[aria-labelledby=feed-title] form button").first
    if not made.is_visible():
        page.locator("#feed-title").click()
    made.click()


def test_a_line_is_copied_whole_and_its_word_outlasts_the_first_reading(browser, filled, address):
    context = browser.new_context(permissions=["clipboard-read", "clipboard-write"])
    page = context.new_page()
    page.clock.install()
    page.goto(address + filled[1]["run"])
    make_a_word(page)
    # The word itself, then the line that has it.
    for nth in (0, 1):
        line = page.locator(".typed code").nth(nth).inner_text()
        page.locator("[data-copy]").nth(nth).click()
        expect(page.locator(".typed [role=status]").nth(nth)).to_have_text("Copied")
        assert page.evaluate("navigator.clipboard.readText()") == line
    _, _, bearer, _, kind, _, body, to = shlex.split(line)
    headers = dict(one.split(": ", 1) for one in (bearer, kind))
    assert httpx2.post(to, content=body, headers=headers).json()["stored"] == 1
    word = page.locator("[data-once] code").first.inner_text()
    # Long enough to look several times for what is new.
    page.clock.run_for(60_000)
    assert page.locator("[data-once] code").first.inner_text() == word
    assert httpx2.post(to, content=body, headers=headers).json()["known"] == 1


def test_the_address_of_a_link_is_copied_whole(browser, filled, address):
    context = browser.new_context(permissions=["clipboard-read", "clipboard-write"])
    page = context.new_page()
    page.set_viewport_size({"width": 320, "height": 640})
    page.goto(address + filled[1]["link_battery"])
    page.locator("#address [data-copy]").click()
    expect(page.locator("#address [role=status]")).to_have_text("Copied")
    line = page.locator("#address pre")
    assert page.evaluate("navigator.clipboard.readText()") == line.inner_text()
    # All of it is in sight.
    assert line.evaluate("pre => pre.scrollWidth <= pre.clientWidth")


def test_without_scripts_there_is_a_line_to_select_and_no_button(browser, filled, address):
    page = browser.new_context(java_script_enabled=False).new_page()
    page.goto(address + filled[1]["run"])
    make_a_word(page)
    expect(page.locator(".typed code").first).to_be_visible()
    expect(page.locator("[data-copy]").first).to_be_hidden()


def test_going_back_to_a_page_that_is_not_kept_shows_the_test(browser, filled, address):
    """The word is shown once: back there the page of the running test stands, not a refusal."""
    page = browser.new_page()
    page.goto(address + filled[1]["run"])
    make_a_word(page)
    expect(page.locator("[data-once] code").first).to_be_visible()
    page.locator(".crumb a").click()
    expect(page.locator("h1")).not_to_have_text("Running test")
    page.go_back()
    expect(page).to_have_url(address + filled[1]["run"])
    expect(page.locator("h1")).to_have_text("Running test")
    expect(page.locator("[data-once] code").first).to_have_count(0)
