"""A file to send in a real browser: saved, opened from the disk without a network, brought in."""

import zipfile

import pytest
from playwright.sync_api import expect

from tests.browser.audit import draw_charts
from tests.browser.conftest import Watch
from tests.live_server import server_in_thread

SIZES = {"phone": {"width": 360, "height": 780}, "laptop": {"width": 1280, "height": 800}}


@pytest.fixture(scope="module")
def saved(browser, tmp_path_factory):
    """The file as a browser saves it from the page of a demo battery, and the demo's address."""
    folder = tmp_path_factory.mktemp("sent")
    with server_in_thread(folder, demo=True) as address:
        page = browser.new_context(accept_downloads=True).new_page()
        page.goto(f"{address}/batteries/1")
        page.locator("#links > summary").click()
        with page.expect_download() as waiting:
            page.get_by_role("link", name="everything a link can show").click()
        path = folder / waiting.value.suggested_filename
        waiting.value.save_as(path)
        yield path, address


@pytest.mark.parametrize("size", SIZES)
def test_it_opens_from_the_disk_without_a_network_and_asks_for_nothing(browser, saved, size):
    path, _ = saved
    context = browser.new_context(viewport=SIZES[size], offline=True)
    page, watch = context.new_page(), Watch(path.as_uri())
    asked = []
    page.on("request", lambda request: asked.append(request.url))
    watch.over(page).goto(path.as_uri())
    page.wait_for_load_state("networkidle")
    assert asked == [path.as_uri()]
    assert watch.complaints == []
    expect(page.get_by_role("heading", level=1)).to_have_text("Marmot galley bank")
    assert page.evaluate("document.documentElement.scrollWidth") <= SIZES[size]["width"]
    charts = page.locator("svg[role=img]")
    # The trend once, in the size that suits, and the chart of the test that is open.
    assert sum(chart.is_visible() for chart in charts.all()) == 2
    page.locator("summary").nth(3).click()
    assert sum(chart.is_visible() for chart in charts.all()) == 3


def test_its_letters_can_be_read_on_a_telephone(browser, saved):
    path, _ = saved
    page = browser.new_context(viewport=SIZES["phone"]).new_page()
    page.goto(path.as_uri())
    heights = page.evaluate(
        "[...document.querySelectorAll('.chart text')]"
        ".map(t => [t.getBBox().height, t.getScreenCTM()]).filter(([h, m]) => h > 0 && m)"
        ".map(([h, m]) => parseFloat(h) * Math.hypot(m.a, m.b))"
    )
    assert len(heights) > 20
    # A line of letters 9 pixels high takes more than 10.
    assert min(heights) > 10


def test_its_data_are_saved_from_the_file_itself(browser, saved, tmp_path):
    path, _ = saved
    page = browser.new_context(offline=True, accept_downloads=True).new_page()
    page.goto(path.as_uri())
    with page.expect_download() as waiting:
        page.get_by_role("link", name="Save the data").click()
    waiting.value.save_as(tmp_path / "data.zip")
    assert waiting.value.suggested_filename == f"{path.stem}.zip"
    with zipfile.ZipFile(tmp_path / "data.zip") as archive:
        assert archive.testzip() is None
        assert "tables/discharge.csv" in archive.namelist()


def test_it_is_brought_in_where_every_figure_is_computed_anew(browser, saved):
    path, address = saved
    page, watch = browser.new_context(viewport=SIZES["phone"]).new_page(), Watch(address)
    watch.over(page).goto(f"{address}/received")
    page.get_by_label("File (HTML)").set_input_files(path)
    page.get_by_role("button", name="Check the file").click()
    expect(page.locator(".headline")).to_have_text("Every figure agrees.")
    draw_charts(page)
    assert page.evaluate("document.documentElement.scrollWidth") <= SIZES["phone"]["width"]
    page.get_by_role("button", name="Keep this battery").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Marmot galley bank (received)")
    assert watch.complaints == []
