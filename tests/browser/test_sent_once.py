"""A form that is pressed twice is sent once, and whoever comes back can send it again."""

import pytest

from tests.builders import NOW
from tests.live_server import server_in_thread


@pytest.fixture
def address(tmp_path):
    with server_in_thread(tmp_path, NOW) as here:
        yield here


@pytest.fixture
def page(browser):
    return browser.new_context().new_page()


def pressed_twice(page, button):
    """What a browser sends that is pressed again before the page answers."""
    waiting = []
    page.route(
        "**/*",
        lambda route, asked: waiting.append(route) if asked.method == "POST" else route.continue_(),
    )
    button.evaluate("(one) => { one.click(); setTimeout(() => one.click(), 80); }")
    page.wait_for_timeout(400)
    sent = [route.request.post_data for route in waiting]
    with page.expect_navigation():
        waiting[-1].continue_()
    return sent


def described(page, address):
    page.goto(f"{address}/batteries/new")
    page.get_by_label("Name").fill("Twice")
    page.get_by_label("Rated capacity").fill("100")
    return page.get_by_role("button", name="Add battery")


def test_a_form_that_is_pressed_twice_is_sent_once(page, address):
    assert len(pressed_twice(page, described(page, address))) == 1


def test_the_pressed_button_is_sent_with_its_form(page, address):
    described(page, address).click()
    page.goto(f"{address}/batteries/1/discharges/new")
    (sent,) = pressed_twice(page, page.get_by_role("button", name="Check", exact=True))
    assert 'name="action"\r\n\r\ncheck' in sent


INTO_A_FRAME = """() => {
  document.body.append(Object.assign(document.createElement("iframe"), {name: "aside"}));
  for (const form of document.forms) form.target = "aside";
}"""


def test_buttons_can_be_pressed_again_on_a_page_that_comes_back(page, address):
    button = described(page, address)
    page.evaluate(INTO_A_FRAME)
    button.click()
    page.wait_for_function("document.querySelector('main .actions button').disabled")
    page.evaluate("dispatchEvent(new PageTransitionEvent('pageshow', {persisted: true}))")
    assert button.is_enabled()


def test_what_gives_a_file_what_only_asks_and_what_was_not_sent_keep_their_buttons(page, address):
    described(page, address).click()
    page.wait_for_url("**/batteries/1*")
    page.goto(f"{address}/records")
    with page.expect_download():
        page.get_by_role("button", name="Download the archive").click()
    assert page.get_by_role("button", name="Download the archive").is_enabled()
    page.goto(f"{address}/batteries/1/plan")
    page.evaluate(INTO_A_FRAME)
    asking = page.get_by_role("button", name="Plan the test")
    asking.click()
    page.wait_for_timeout(100)
    assert asking.is_enabled()
    page.goto(f"{address}/batteries/1/share")
    page.evaluate(INTO_A_FRAME)
    previewing = page.get_by_role("button", name="Preview the page")
    previewing.click()
    page.wait_for_timeout(100)
    assert previewing.is_enabled()
    page.goto(f"{address}/batteries/new")
    page.evaluate("document.querySelector('#name').required = true")
    page.get_by_role("button", name="Add battery").click()
    page.wait_for_timeout(100)
    assert page.get_by_role("button", name="Add battery").is_enabled()
