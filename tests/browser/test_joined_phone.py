"""A laptop and a phone in one running test: another address of this machine stands for the
network."""

import re
from datetime import timedelta

import pytest
from playwright.sync_api import expect

from app.domain.network import AddressKind, NetworkAddress
from app.server import network_application
from tests.browser.audit import Tour
from tests.browser.conftest import Watch
from tests.browser.every_page import Stop
from tests.browser.main_job import PHONE
from tests.browser.test_main_job_counts import Hand
from tests.builders import NOW
from tests.live_server import server_in_thread

NETWORK = "127.0.0.2"
JOINED = re.compile(r"/joined/\d+$")


@pytest.fixture
def address(filled, monkeypatch):
    """A server with a running test, on a machine that has one address on a network."""
    known = (NetworkAddress(NETWORK, AddressKind.WIFI),)
    monkeypatch.setattr(network_application, "own_addresses", lambda: known)
    folder, made = filled
    with server_in_thread(folder, NOW) as here:
        yield here + made["run"]


@pytest.fixture
def laptop(browser, address):
    page = browser.new_context(timezone_id="UTC").new_page()
    page.goto(address)
    # Phones of the test before.
    for button in page.get_by_role("button", name=re.compile("End (its|their) access")).all():
        button.click()
    return page


def scanned(laptop):
    """What the phone's camera reads from the screen."""
    return laptop.locator("#joining-address code").inner_text()


def look_now(page):
    """What a page does by itself every 15 s, and as soon as a phone wakes up."""
    page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")


def test_from_the_laptop_s_page_to_a_reading_of_the_phone_in_one_tap_and_one_scan(
    browser, address, laptop
):
    hand = Hand(laptop)
    hand.tap("button", "Let a phone join")
    code = scanned(laptop)
    assert code.startswith(f"http://{NETWORK}:")
    base = "/".join(code.split("/")[:3])
    phone = browser.new_context(viewport=PHONE, timezone_id="Asia/Tokyo").new_page()
    watch = Watch(base)
    watch.over(phone).goto(code)
    expect(phone).to_have_url(JOINED)
    assert hand.count == 1
    on_phone = Hand(phone)
    on_phone.fill("Current", "9.42")
    on_phone.tap("button", "Note the reading")
    expect(phone.locator("table.readings")).to_contain_text("9.42 A")
    # The field and its button are the reading itself; nothing else was tapped.
    assert on_phone.count == 2
    look_now(laptop)
    expect(laptop).to_have_url(address)
    expect(laptop.get_by_text("1 phone has joined this test.")).to_be_visible()
    expect(laptop.locator("table.readings")).to_contain_text("9.42 A")
    # Without its network for a while the page stays, and goes on afterwards.
    phone.context.set_offline(True)
    look_now(phone)
    watch.complaints.clear()
    phone.context.set_offline(False)
    laptop.get_by_label("Current").first.fill("9.17")
    laptop.get_by_role("button", name="Note the reading").click()
    expect(laptop.locator("table.readings")).to_contain_text("9.17 A")
    look_now(phone)
    expect(phone.locator("table.readings")).to_contain_text("9.17 A")
    assert [one for one in watch.complaints if "INTERNET_DISCONNECTED" not in one] == []


def test_what_was_typed_when_the_access_ended_is_offered_when_the_phone_joins_again(
    browser, address, laptop
):
    laptop.get_by_role("button", name="Let a phone join").click()
    phone = browser.new_context(viewport=PHONE, timezone_id="Asia/Tokyo").new_page()
    phone.goto(scanned(laptop))
    phone.get_by_label("Current").first.fill("8.88")
    laptop.goto(address)
    laptop.get_by_role("button", name="End its access").click()
    expect(laptop.get_by_role("button", name="Let a phone join")).to_be_visible()
    look_now(phone)
    phone.get_by_role("button", name="Note the reading").click()
    expect(phone.get_by_role("heading", level=1)).to_have_text("This phone is not in the test")
    expect(phone.locator("dd")).to_have_text("8.88 A")
    laptop.get_by_role("button", name="Let a phone join").click()
    phone.goto(scanned(laptop))
    phone.get_by_role("button", name="Put it in").click()
    expect(phone.get_by_label("Current").first).to_have_value("8.88")
    # When it was typed, by the clock of the test and not by that of a phone from elsewhere.
    now = NOW.astimezone()
    minutes_ago = f"{now:%H:%M}|{now - timedelta(hours=1):%H}:5[0-9]"
    expect(phone.get_by_label("Time", exact=True)).to_have_value(re.compile(f"^({minutes_ago}):"))
    phone.get_by_role("button", name="Note the reading").click()
    expect(phone.locator("table.readings")).to_contain_text("8.88 A")
    phone.reload()
    expect(phone.get_by_role("button", name="Put it in")).to_have_count(0)
    # On the laptop the test ends, and the phone says so by itself.
    laptop.goto(address)
    laptop.get_by_text("Give this test up").click()
    laptop.get_by_role("button", name="Give the test up").click()
    expect(laptop.get_by_role("button", name="Go on with it")).to_be_visible()
    look_now(phone)
    expect(phone.get_by_role("heading", level=1)).to_have_text("The test is over")
    laptop.get_by_role("button", name="Go on with it").click()


def test_a_refused_value_has_the_whole_row_for_its_sentence(laptop):
    laptop.get_by_label("Current").first.fill("nine")
    laptop.get_by_role("button", name="Note the reading").click()
    wrong = laptop.locator("form.note .wrong")
    whole = laptop.locator("form.note details.wide")
    expect(wrong).to_contain_text("does not fit")
    assert wrong.bounding_box()["width"] == whole.bounding_box()["width"]


def test_without_scripts_it_takes_one_tap_and_every_page_of_the_phone_is_clean(
    browser, address, laptop
):
    laptop.get_by_role("button", name="Let a phone join").click()
    code = scanned(laptop)
    base, path = code[: code.index("/joined/")], code[code.index("/joined/") :]
    context = browser.new_context(java_script_enabled=False, timezone_id="UTC")
    plain = context.new_page()
    plain.goto(code)
    plain.get_by_role("button", name="Join the test").click()
    expect(plain).to_have_url(JOINED)
    cookie = context.cookies()
    # The same phone, with scripts for whoever looks at its pages.
    seeing = browser.new_context(timezone_id="UTC")
    seeing.add_cookies(cookie)
    page = seeing.new_page()
    watch = Watch(base)
    tour = Tour(watch.over(page), watch, {"address": base}, None)
    run = path.partition("/join/")[0]
    # With its script the page of the code would be gone before anybody looked.
    page.route("**/arrival.js*", lambda route: route.fulfill(body=""))
    stops = (
        Stop("arrival", path),
        Stop("joined run", run),
        Stop("no such code", f"{run}9/join/x", 404),
    )
    wrong = []
    for stop in stops:
        wrong += tour.visit(stop)
        for width, height, scheme in ((320, 700, "light"), (390, 844, "dark")):
            tour.look(width, height, scheme)
            tour.unfold(True)
            wrong += [f"{stop.name} {width}: {one}" for one in (*tour.too_wide(), *tour.small())]
        wrong += [f"{stop.name}: {one}" for one in tour.axe()]
    assert wrong == []
    laptop.goto(address)
    laptop.get_by_role("button", name="Let another phone join").click()
    here = Watch(address)
    shown = Tour(laptop, here, {}, None)
    shown.look(320, 700, "light")
    assert [*shown.too_wide(), *shown.small(), *shown.axe()] == []
    laptop.goto(address.partition("/runs/")[0] + "/door")
    assert [*shown.too_wide(), *shown.small(), *shown.axe()] == []
    laptop.get_by_role("button", name="End", exact=True).click()
    tour.statuses.clear()
    assert tour.visit(Stop("not in the test", run, 403)) == []
    assert [*tour.too_wide(), *tour.small(), *tour.axe()] == []


def test_the_phone_that_ends_the_test_sees_a_clean_page_with_its_result(browser, address, laptop):
    # The last test of this file: the run is over after it.
    laptop.get_by_role("button", name="Let a phone join").click()
    code = scanned(laptop)
    page = browser.new_context(viewport=PHONE, timezone_id="UTC").new_page()
    watch = Watch(code[: code.index("/joined/")])
    watch.over(page).goto(code)
    page.get_by_label("Time ran out").check()
    page.get_by_role("button", name="End and see the result").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("The test has ended")
    expect(page.locator(".headline")).to_contain_text("At least")
    ended = Tour(page, watch, {}, None)
    for width, height, scheme in ((320, 700, "light"), (390, 844, "dark")):
        ended.look(width, height, scheme)
        assert [*ended.too_wide(), *ended.small(), *ended.axe()] == []
    assert watch.complaints == []
