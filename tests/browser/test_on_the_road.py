"""Appliances are typed in a real browser, and the nights are read on a phone."""

from playwright.sync_api import expect

from tests.browser.conftest import Watch
from tests.live_server import server_in_thread

PHONE = {"width": 390, "height": 844}


def test_appliances_are_typed_and_the_label_s_nights_are_read(browser, tmp_path):
    with server_in_thread(tmp_path) as address:
        watch = Watch(address)
        page = watch.over(browser.new_context(viewport=PHONE).new_page())
        page.goto(address + "/batteries/new")
        page.get_by_label("Name").fill("Cabin")
        page.get_by_label("Rated capacity").fill("100")
        page.get_by_role("button", name="Add battery").click()
        # What the nights need is asked for on their page.
        page.get_by_role("link", name="Nights").click()
        page.get_by_role("button", name="More rows").click()
        expect(page.locator("table.appliances tbody tr")).to_have_count(10)
        page.get_by_label("appliance, row 10", exact=True).fill("cool box")
        page.get_by_label("amps, row 10", exact=True).fill("4")
        hours = page.get_by_label("hours a day, row 10", exact=True)
        hours.fill("10")
        # Enter leads on, to a further row at the end; nothing is stored by it.
        hours.press("Enter")
        expect(page.locator("table.appliances tbody tr")).to_have_count(11)
        page.get_by_role("button", name="Store").click()
        expect(page.locator(".glance")).to_contain_text("2.0 nights by the label alone")
        page.goto(address + "/batteries/1/edit")
        page.get_by_text("charging, cold, appliances").click()
        expect(page.get_by_label("appliance, row 1", exact=True)).to_have_value("cool box")
        assert watch.complaints == []
