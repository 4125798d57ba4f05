"""Larger letters, no motion, colours of the device's own, and what a screen reader is told."""

import os
from pathlib import Path

import pytest
from playwright.sync_api import expect

from tests.browser.audit import draw_charts
from tests.browser.conftest import Watch
from tests.browser.main_job import PHONE
from tests.browser.seed import BOUND, MANY
from tests.builders import NOW
from tests.live_server import server_in_thread

MAIN = {
    "batteries": "/",
    "battery": f"/batteries/{MANY}",
    "new-test": f"/batteries/{MANY}/discharges/new",
    "test": "/discharges/18",
    "running": "{run}",
}
# Letters that are cut off by a box around them, or that lie on other letters.
CUT = """() => {
  const texts = [...document.querySelectorAll(
    'h1, h2, h3, p, li, dt, dd, label, legend, summary, figcaption, .button, button, nav a, .kind')]
    .filter((one) => one.checkVisibility() && one.innerText?.trim())
    .filter((one) => !one.closest('.unseen, .skip'));
  const cut = texts.filter((one) => {
    const style = getComputedStyle(one);
    if (style.overflowX === 'visible' && style.overflowY === 'visible') return false;
    return one.scrollWidth > one.clientWidth + 1 || one.scrollHeight > one.clientHeight + 1;
  });
  const holds = (one, other) => other !== one && one.contains(other);
  const leaves = texts.filter((one) => !texts.some((other) => holds(one, other)));
  const over = leaves.filter((one, i) => leaves.slice(i + 1, i + 8).some((other) => {
    const a = one.getBoundingClientRect(), b = other.getBoundingClientRect();
    const wide = Math.min(a.right, b.right) - Math.max(a.left, b.left);
    const high = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
    return wide > 2 && high > 4;
  }));
  return [...cut, ...over].map((one) => one.outerHTML.slice(0, 100));
}"""
MOVING = """() => document.getAnimations().length + [...document.querySelectorAll('body *')].filter(
  (one) => getComputedStyle(one).transitionDuration.split(', ').some((d) => parseFloat(d) > 0.01)
).length"""


@pytest.fixture(scope="module")
def server(browser, filled):
    folder, made = filled
    with server_in_thread(folder, NOW) as address:
        yield address, made


@pytest.fixture
def shots(tmp_path):
    folder = Path(os.environ.get("FADELINE_SCREENSHOTS", tmp_path))
    folder.mkdir(parents=True, exist_ok=True)
    return folder


@pytest.fixture
def opened(browser, server):
    """Opens a page as somebody sees it whose device is set like this."""
    address, made = server
    contexts = []

    def open_page(path, **settings):
        context = browser.new_context(viewport=PHONE, timezone_id="UTC", **settings)
        contexts.append(context)
        page, watch = context.new_page(), Watch(address)
        watch.over(page).goto(address + path.format(**made))
        if page.query_selector("[data-chart]"):
            draw_charts(page)
        assert watch.complaints == []
        return page

    yield open_page
    for context in contexts:
        context.close()


@pytest.mark.parametrize("name", MAIN)
def test_letters_of_twice_the_size_are_neither_cut_nor_covered(opened, shots, name):
    page = opened(MAIN[name])
    page.evaluate("document.documentElement.style.fontSize = '200%'")
    page.screenshot(path=shots / f"twice-{name}.jpg", full_page=True, type="jpeg", quality=60)
    page.wait_for_function(
        "() => document.documentElement.scrollWidth <= document.documentElement.clientWidth"
    )
    assert page.evaluate(CUT) == []


@pytest.mark.parametrize("name", MAIN)
def test_nothing_moves_for_whom_motion_is_too_much(opened, name):
    assert opened(MAIN[name], reduced_motion="reduce").evaluate(MOVING) == 0


@pytest.mark.parametrize("name", MAIN)
def test_nothing_is_lost_where_the_device_sets_the_colours(opened, shots, name):
    page = opened(MAIN[name], forced_colors="active")
    page.screenshot(path=shots / f"forced-{name}.jpg", full_page=True, type="jpeg", quality=60)
    for word in page.locator("main .word:visible").all():
        look = word.evaluate("(one) => getComputedStyle(one).textDecorationLine")
        edge = word.evaluate("(one) => parseFloat(getComputedStyle(one).borderBottomWidth)")
        assert look == "underline" or edge >= 1, word.inner_text()
    for button in page.locator("main .button:visible, main button:visible:not(.word)").all():
        width = button.evaluate("(one) => parseFloat(getComputedStyle(one).borderTopWidth)")
        assert width >= 1, button.inner_text()
    assert page.evaluate("matchMedia('(forced-colors: active)').matches")


def test_rows_that_are_cards_on_a_telephone_are_read_out_as_a_table(opened):
    page = opened(f"/batteries/{MANY}/curves")
    page.get_by_role("heading", name="Charge and energy of every test").click()
    row = page.locator("#curves-table tbody tr").first
    assert row.evaluate("(one) => getComputedStyle(one).display") == "grid"
    told = page.locator("#curves-table").aria_snapshot()
    for part in ("- table:", '- columnheader "Energy"', "- rowheader ", "- cell "):
        assert part in told


def test_what_a_test_proves_is_said_in_words_and_not_by_colour_alone(opened):
    page = opened(f"/batteries/{MANY}", forced_colors="active")
    marks = [mark.inner_text() for mark in page.locator(".newest .kind").all()]
    assert set(marks) == {"measured"}
    page = opened(f"/batteries/{BOUND}", forced_colors="active")
    assert page.locator(".newest .kind").all_inner_texts() == ["lower bound"] * 3
    expect(page.locator("main")).to_contain_text("at least")


def test_a_running_test_tells_a_screen_reader_when_a_reading_is_due(opened):
    page = opened("{run}")
    expect(page.locator("[data-told]")).to_have_text("A reading is due.")
    expect(page.locator("[data-told]")).to_have_attribute("role", "status")
    # A countdown that is read out each second would drown everything else.
    assert page.locator("[aria-live] [data-countdown], [role=status] [data-countdown]").count() == 0


def test_a_running_test_tells_a_screen_reader_what_another_device_noted(opened):
    page = opened("{run}")
    page.reload()
    expect(page.locator("[data-told]")).to_contain_text("18.0 Ah so far")


@pytest.mark.parametrize("name", ["battery", "test", "running"])
def test_what_a_chart_shows_is_said_in_words(opened, name):
    page = opened(MAIN[name])
    for chart in page.locator("figure.chart").all():
        assert len(chart.locator("figcaption").inner_text()) > 40
