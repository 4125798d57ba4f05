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
    # The trend once, in the size that suits, and the picture of the test that is opened.
    assert sum(chart.is_visible() for chart in charts.all()) == 1
    page.get_by_text("Each test, with its picture and readings").click()
    page.locator("details.test > summary").nth(3).click()
    assert sum(chart.is_visible() for chart in charts.all()) == 2
    assert page.evaluate("document.documentElement.scrollWidth") <= SIZES[size]["width"]


def test_its_letters_can_be_read_on_a_telephone(browser, saved):
    path, _ = saved
    page = browser.new_context(viewport=SIZES["phone"]).new_page()
    page.goto(path.as_uri())
    page.evaluate("document.querySelectorAll('details').forEach((one) => (one.open = true))")
    heights = page.evaluate(
        "[...document.querySelectorAll('.chart text, .course text')]"
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


CAN_SHARE = """
  navigator.canShare = (what) => what.files[0].type === "text/html";
  navigator.share = async (what) => {
    // As a browser does where making the file took longer than a press counts for.
    if (!window.late) {
      window.late = true;
      throw new DOMException("too late", "NotAllowedError");
    }
    window.handed = [what.files[0].name, await what.files[0].text()];
  };
"""


def test_where_the_device_can_send_files_it_is_handed_over(browser, saved):
    path, address = saved
    page = browser.new_page()
    page.add_init_script(CAN_SHARE)
    page.goto(f"{address}/batteries/1/share")
    send = page.get_by_role("button", name="Send the file")
    send.click()
    expect(page.locator(".far [role=status]")).to_have_text(
        "The file is ready. Press once more to send it."
    )
    send.click()
    page.wait_for_function("window.handed")
    name, text = page.evaluate("window.handed")
    assert name == path.name
    assert text == path.read_text()


def test_where_it_cannot_the_file_is_saved(browser, saved):
    _, address = saved
    page = browser.new_context(accept_downloads=True, java_script_enabled=False).new_page()
    page.goto(f"{address}/batteries/1/share")
    assert page.get_by_role("button", name="Send the file").count() == 0
    with page.expect_download() as waiting:
        page.get_by_role("link", name="Save the file").click()
    assert waiting.value.suggested_filename.endswith(".html")
