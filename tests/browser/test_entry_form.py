"""The form of a test on a telephone: one way in sight, a table that fits, Check in sight."""

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import Watch
from tests.browser.main_job import PHONE

NEW = "/batteries/1/discharges/new?way=typed"
MOST_WORDS = 150
WAYS = {
    "Type readings": "table.typed",
    "Paste readings": "#pasted",
    "File": "#file",
    "Only the result": "#counted_ah",
}
# What lies over the middle of what has the focus; empty where nothing does.
COVERED = """() => {
  const one = document.activeElement, box = one.getBoundingClientRect();
  const top = document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2);
  const own = one.contains(top) || top?.contains(one) || one.labels?.[0]?.contains(top);
  return own ? "" : `${one.name || one.textContent} below ${top?.className || top?.tagName}`;
}"""


# The room that what was typed has beside what it takes, in px.
ROOM = """(one) => {
  const style = getComputedStyle(one), pen = document.createElement("canvas").getContext("2d");
  pen.font = `${style.fontSize} ${style.fontFamily}`;
  const inside = one.clientWidth - parseFloat(style.paddingLeft) - parseFloat(style.paddingRight);
  return inside - pen.measureText(one.value).width;
}"""


@pytest.fixture(params=[True, False], ids=["scripts", "no scripts"])
def form(request, browser, demo_address):
    context = browser.new_context(viewport=PHONE, java_script_enabled=request.param)
    page = context.new_page()
    watch = Watch(demo_address)
    watch.over(page).goto(demo_address + NEW)
    yield page
    assert watch.complaints == []
    context.close()


@pytest.fixture
def scripted(browser, demo_address):
    page = browser.new_context(viewport=PHONE).new_page()
    page.goto(demo_address + NEW)
    return page


def test_only_the_chosen_way_is_in_sight_and_nothing_typed_is_lost(form):
    form.get_by_label("current, row 1", exact=True).fill("17.9")
    for way, own in WAYS.items():
        form.get_by_label(way, exact=True).check()
        for place in WAYS.values():
            expect(form.locator(place)).to_be_visible(visible=place == own)
    form.locator("#counted_ah").fill("96.4")
    form.get_by_label("Type readings").check()
    expect(form.get_by_label("current, row 1", exact=True)).to_have_value("17.9")
    form.get_by_label("Only the result").check()
    expect(form.locator("#counted_ah")).to_have_value("96.4")


def test_times_continue_on_request(form):
    form.get_by_label("time, row 1", exact=True).fill("08:00")
    form.locator("[data-fill-times]").click()
    expect(form.get_by_label("time, row 5", exact=True)).to_have_value("12:00")
    expect(form.get_by_label("time, row 12", exact=True)).to_have_value("19:00")


def test_the_form_says_little_until_something_is_unfolded(scripted):
    assert len(scripted.locator("main").inner_text().split()) <= MOST_WORDS


@pytest.mark.parametrize("look", ["auto", "sunlight"])
@pytest.mark.parametrize("width", [390, 320])
def test_every_figure_of_a_row_is_read_without_scrolling(scripted, width, look):
    scripted.set_viewport_size({"width": width, "height": 844})
    scripted.evaluate("(look) => document.documentElement.dataset.look = look", look)
    for _ in ("without the counter", "with it"):
        for name, text in (("time", "08:00"), ("current", "17.55"), ("voltage", "13.25")):
            cell = scripted.get_by_label(f"{name}, row 1", exact=True)
            cell.fill(text)
            assert cell.evaluate(ROOM) >= 0, name
        table = scripted.locator(".scroll:has(table.typed)")
        assert table.evaluate("(one) => one.scrollWidth <= one.clientWidth")
        if scripted.get_by_role("button", name="Ah counter").is_visible():
            scripted.get_by_role("button", name="Ah counter").click()


def test_check_stays_in_sight_and_covers_nothing_that_has_the_focus(scripted):
    check = scripted.get_by_role("button", name="Check", exact=True)
    expect(check).to_be_in_viewport(ratio=1)
    scripted.locator("#way").focus()
    for _ in range(80):
        scripted.keyboard.press("Tab")
        assert scripted.evaluate(COVERED) == ""
        expect(check).to_be_in_viewport(ratio=1)
        if scripted.evaluate("document.activeElement.value === 'check'"):
            break
    else:
        raise AssertionError("no key leads to Check")


def test_a_reading_in_one_cell_is_spread_and_the_next_one_is_typed(scripted):
    scripted.get_by_label("time, row 1", exact=True).focus()
    for line in ("8:00 9 13.2", "11:00 9,0 13.1 22 70"):
        scripted.keyboard.type(line)
        scripted.keyboard.press("Enter")
    expect(scripted.get_by_label("voltage, row 1", exact=True)).to_have_value("13.2")
    expect(scripted.get_by_label("gauge, row 2", exact=True)).to_have_value("70")
    expect(scripted.get_by_label("time, row 3", exact=True)).to_be_focused()
    expect(scripted.locator("[data-fill-times]")).to_have_text("Go on every 3 h from 11:00")


def test_a_count_and_a_curve_go_along_until_the_server_has_worked_it_out(scripted):
    said, curve = scripted.locator("[data-live]"), scripted.locator("[data-sketch]")
    expect(said).to_be_hidden()
    for row, line in enumerate(("22:00 10 13.2", "23:30 10 13.1", "00:30 5000 mA"), start=1):
        scripted.get_by_label(f"time, row {row}", exact=True).fill(line)
    scripted.get_by_label("time, row 3", exact=True).fill("00:30")
    scripted.get_by_label("current, row 3", exact=True).fill("5000 mA")
    expect(said).to_have_text("So far 22.5 Ah in 2.5 h")
    expect(curve).to_be_visible()
    scripted.get_by_label("current, row 3", exact=True).fill("what?")
    expect(said).to_have_text("So far 15 Ah in 1.5 h")
    # A whole reading in one cell counts before it is spread, and a counter before the currents.
    scripted.get_by_label("time, row 4", exact=True).press_sequentially("01:00 10 13.0 22 70 8.5")
    expect(said).to_have_text("So far 30 Ah in 3 h")
    scripted.get_by_role("button", name="Ah counter").click()
    for row, counted in enumerate(("0", "15.5", "24"), start=1):
        scripted.get_by_label(f"amp-hours counted, row {row}", exact=True).fill(counted)
    scripted.get_by_label("amp-hours counted, row 4", exact=True).fill("28.5")
    expect(said).to_have_text("So far 28.5 Ah in 3 h")
    scripted.get_by_label("current, row 3", exact=True).fill("5")
    scripted.get_by_label("Day", exact=True).fill("2025-03-01")
    scripted.get_by_label("Time ran out").check()
    scripted.get_by_role("button", name="Check", exact=True).click()
    expect(scripted.locator(".preview")).to_be_visible()
    expect(said).to_have_count(0)
