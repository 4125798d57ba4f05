"""The main job in a real browser: battery, test, verdict, trend, link, a stranger's browser."""

from playwright.sync_api import expect

from tests.browser.audit import draw_charts
from tests.browser.conftest import Watch
from tests.browser.main_job import PHONE, VERDICT, log_a_test
from tests.live_server import serving


def test_a_test_is_logged_seen_and_shared_with_a_stranger(browser, tmp_path):
    with serving(tmp_path) as address:
        watch = Watch(address)
        page = watch.over(browser.new_context(viewport=PHONE).new_page())
        page.goto(address)
        page.get_by_role("link", name="Add your first battery").click()
        page.get_by_label("Name").fill("Cabin")
        page.get_by_label("Rated capacity").fill("105")
        page.get_by_role("button", name="Add battery").click()
        page.get_by_role("link", name="New test").click()
        log_a_test(page)
        expect(page.locator(".headline")).to_contain_text(VERDICT)
        draw_charts(page)
        page.get_by_role("link", name="See the fade").click()
        draw_charts(page)
        page.get_by_role("link", name="Share", exact=True).click()
        page.get_by_role("button", name="Make the link").click()
        link = page.locator("#address code").inner_text()

        stranger = watch.over(browser.new_context(viewport=PHONE).new_page())
        stranger.goto(link)
        expect(stranger.get_by_role("heading", level=1)).to_have_text("Cabin")
        draw_charts(stranger)
        assert stranger.locator("form, input, button").count() == 0
        assert stranger.context.cookies() == []
        assert watch.complaints == []
