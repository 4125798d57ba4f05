"""The main job in a real browser: battery, test, verdict, trend, link, a stranger's browser."""

from playwright.sync_api import expect

from tests.browser.conftest import Watch, serving

PHONE = {"width": 390, "height": 844}
DRAWN = "[data-drawn=true]"
ROWS = [(f"{8 + h}:00", "9", f"{13.1 - h * 0.05:.2f}") for h in range(10)]
ROWS.append(("17:42", "9", "10.4"))


def log_a_test(page):
    page.get_by_label("Start").fill("2026-03-01T08:00")
    page.get_by_label("Charge before it").select_option("full_rested")
    page.get_by_label("Why it ended").select_option("protection")
    for number, (time, amps, volts) in enumerate(ROWS, start=1):
        page.get_by_label(f"time, row {number}", exact=True).fill(time)
        page.get_by_label(f"current, row {number}", exact=True).fill(amps)
        page.get_by_label(f"voltage, row {number}", exact=True).fill(volts)
    page.get_by_role("button", name="Check", exact=True).click()
    page.get_by_role("button", name="Store this test").click()


def test_a_test_is_logged_seen_and_shared_with_a_stranger(browser, tmp_path):
    with serving(tmp_path) as address:
        watch = Watch(address)
        page = watch.over(browser.new_context(viewport=PHONE).new_page())
        page.goto(address)
        page.get_by_role("link", name="Add your first battery").click()
        page.get_by_label("Name").fill("Cabin")
        page.get_by_label("Rated capacity").fill("105")
        page.get_by_role("button", name="Store").click()
        page.get_by_role("link", name="Log a capacity test").click()
        log_a_test(page)
        expect(page.locator(".headline")).to_contain_text("Measured 87.3 Ah ±")
        page.wait_for_selector(DRAWN)
        page.get_by_role("link", name="See the trend").click()
        page.wait_for_selector(DRAWN)
        page.get_by_role("button", name="Make a link").click()
        link = page.locator("input.link").input_value()

        stranger = watch.over(browser.new_context(viewport=PHONE).new_page())
        stranger.goto(link)
        expect(stranger.get_by_role("heading", level=1)).to_have_text("Cabin")
        stranger.wait_for_selector(DRAWN)
        assert stranger.locator("form, input, button").count() == 0
        assert stranger.context.cookies() == []
        assert watch.complaints == []


def test_no_page_of_the_demo_scrolls_sideways_on_a_phone(browser, tmp_path):
    with serving(tmp_path, "--demo") as address:
        watch = Watch(address)
        page = watch.over(browser.new_context(viewport={"width": 320, "height": 700}).new_page())
        paths = ("/", "/batteries/1", "/discharges/1", "/batteries/new", "/batteries/1/edit")
        paths += ("/batteries/1/road?on=2028-06-01", "/batteries/1/warranty")
        for path in (*paths, "/batteries/1/discharges/new", "/discharges/1/edit", "/bin"):
            page.goto(address + path)
            if page.locator("[data-chart]").count():
                page.wait_for_selector(DRAWN)
            wide = page.evaluate("document.documentElement.scrollWidth > window.innerWidth")
            assert not wide, path
        assert watch.complaints == []


def test_the_job_works_without_scripts(browser, tmp_path):
    with serving(tmp_path) as address:
        context = browser.new_context(viewport=PHONE, java_script_enabled=False)
        page = context.new_page()
        page.goto(address + "/batteries/new")
        page.get_by_label("Name").fill("Cabin")
        page.get_by_label("Rated capacity").fill("105")
        page.get_by_role("button", name="Store").click()
        page.get_by_role("link", name="Log a capacity test").click()
        page.get_by_role("button", name="More rows").click()
        expect(page.locator("table.typed tbody tr")).to_have_count(18)
        log_a_test(page)
        expect(page.locator(".headline")).to_contain_text("Measured 87.3 Ah ±")
