"""The main job and a running test in a browser that runs no scripts."""

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import Watch
from tests.browser.main_job import PHONE, VERDICT, log_a_test
from tests.builders import NOW
from tests.live_server import server_in_thread


@pytest.fixture
def plain(browser, tmp_path):
    """A page without scripts on an empty server, and what it must not do."""
    with server_in_thread(tmp_path, NOW) as address:
        context = browser.new_context(viewport=PHONE, java_script_enabled=False)
        page = context.new_page()
        watch = Watch(address)
        watch.over(page).goto(address)
        page.get_by_role("link", name="Add your first battery").click()
        page.get_by_label("Name").fill("Cabin")
        page.get_by_label("Rated capacity").fill("105")
        page.get_by_role("button", name="Add battery").click()
        yield page
        assert watch.complaints == []
        context.close()


def test_the_whole_job_works_without_scripts(plain):
    plain.get_by_role("link", name="New test").click()
    plain.get_by_role("button", name="More rows").click()
    expect(plain.locator("table.typed tbody tr")).to_have_count(18)
    log_a_test(plain)
    expect(plain.locator(".headline")).to_contain_text(VERDICT)
    # The way back leads over the preview to the form, and never to “send it again”.
    plain.go_back()
    expect(plain.get_by_role("heading", name="What this test would prove")).to_be_visible()
    plain.go_back()
    expect(plain.locator("table.typed tbody tr")).to_have_count(18)
    plain.go_forward()
    plain.go_forward()
    expect(plain.locator(".headline")).to_contain_text(VERDICT)
    plain.get_by_role("link", name="See the fade").click()
    plain.get_by_role("link", name="Share", exact=True).click()
    plain.get_by_role("button", name="Make the link").click()
    plain.goto(plain.locator("#address code").inner_text())
    expect(plain.get_by_role("heading", level=1)).to_have_text("Cabin")
    expect(plain.locator(".glance div").first).to_contain_text("87.5 Ah")
    plain.get_by_text("The test in full").click()
    expect(plain.get_by_role("cell", name="87.5 ± 1.7 Ah")).to_be_visible()


def test_a_running_test_is_noted_corrected_and_ended_without_scripts(plain):
    plain.get_by_role("link", name="Start a test now").click()
    plain.get_by_label("Full, then rested an hour").check()
    plain.get_by_role("button", name="The load is on: start").click()
    for amps, volts in (("9", "13.2"), ("90", "13.0")):
        plain.get_by_label("Current").first.fill(amps)
        plain.get_by_label("Voltage").first.fill(volts)
        plain.get_by_role("button", name="Note the reading").click()
    plain.locator("table.readings tbody tr").first.get_by_text("Change").click()
    plain.locator("table.readings tbody tr").first.get_by_label("Current in A").fill("9")
    plain.locator("table.readings tbody tr").first.get_by_role("button", name="Correct").click()
    expect(plain.locator("table.readings tbody tr").first).to_contain_text("9.00 A")
    plain.get_by_label("The battery switched itself off").check()
    plain.get_by_role("button", name="End and see the result").click()
    expect(plain.get_by_role("heading", level=1)).to_contain_text("Capacity test")
