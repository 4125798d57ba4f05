"""From the battery's page to the chart on a fellow's phone, with the taps counted."""

import contextlib
from urllib.parse import urlsplit

import pytest

from tests.browser.conftest import Watch
from tests.browser.main_job import PHONE
from tests.browser.test_main_job_counts import Hand
from tests.live_server import AT, server_in_thread

MAX_TAPS = 2


@pytest.fixture
def demo(tmp_path):
    """The demo, as somebody tries it out."""
    with server_in_thread(tmp_path, demo=True) as address:
        yield address


def test_two_taps_and_a_scan_lead_a_fellow_to_the_chart_and_one_tap_ends_it(browser, demo):
    with contextlib.ExitStack() as stack:
        laptop = stack.enter_context(
            contextlib.closing(browser.new_context(java_script_enabled=False))
        ).new_page()
        phone = stack.enter_context(contextlib.closing(browser.new_context(viewport=PHONE)))
        watch = Watch(demo)
        watch.over(laptop).goto(f"{demo}/batteries/1")
        owner = Hand(laptop)
        owner.tap("link", "Share")
        owner.tap("button", "Open it on this network")
        assert owner.count <= MAX_TAPS
        code = laptop.locator("figure.code img")
        assert code.is_visible()
        assert code.bounding_box()["y"] < laptop.viewport_size["height"]
        # What the code holds is compared with the address in tests/web/test_network_pages.py.
        scanned = laptop.locator("#address code").inner_text()
        assert urlsplit(scanned).hostname == AT

        fellow = phone.new_page()
        base = f"http://{urlsplit(scanned).netloc}"
        fellows = Watch(base)
        fellows.over(fellow).goto(scanned)
        assert fellow.locator("figure.chart svg").first.is_visible()
        assert fellow.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
        assert fellow.goto(f"{base}/batteries/1").status == 404

        laptop.emulate_media(media="print")
        assert not laptop.locator(".open-door").is_visible(), "on paper it would soon be untrue"
        laptop.emulate_media(media="screen")
        laptop.get_by_role("button", name="Close it", exact=True).click()
        assert laptop.locator(".open-door").count() == 0
        with pytest.raises(Exception, match="ERR_CONNECTION_REFUSED"):
            fellow.goto(scanned)
        assert watch.complaints == []
        assert [
            one for one in fellows.complaints if "404" not in one and "REFUSED" not in one
        ] == []
