"""Pages in German on telephones and a laptop: longer words, in the sun larger, the same room."""

import itertools

import pytest

from tests.browser.audit import draw_charts
from tests.browser.conftest import Watch

PAGES = (
    "/",
    "/batteries/1",
    "/batteries/3",
    "/batteries/new",
    "/batteries/1/tests",
    "/batteries/1/curves",
    "/batteries/1/heat",
    "/batteries/1/road",
    "/batteries/1/warranty",
    "/batteries/1/edit",
    "/batteries/1/discharges/new",
    "/batteries/1/report",
    "/comparison?battery=1&battery=2",
    "/discharges/5",
    "/good-test",
    "/help",
    "/meters",
    "/method",
    "/preferences",
    "/records",
    "/settings",
    "/words",
)
# What is cut although it can be seen: neither a table's heads behind its cards nor inline text. A
# table to type into is not scrolled, and its heads do not run into each other.
CUT = """() => [...document.querySelectorAll('nav a, button, .button, label, dt, dd, summary,'
      + '.kind, .stacked td, .scroll:has(.typed), .typed th')]
    .filter(one => getComputedStyle(one.closest('thead') ?? one).position != 'absolute')
    .filter(one => getComputedStyle(one).display != 'inline')
    .filter(one => one.scrollWidth > one.clientWidth + 1)
    .map(one => one.textContent.trim())"""
# A word that goes on in the next line without a hyphen.
BROKEN = """() => [...document.querySelectorAll('h1, label, .glance strong')].flatMap(one => {
    const text = one.firstChild, range = document.createRange();
    return [...(text.data ?? '').matchAll(/\\p{L}+/gu)].filter(word => {
      range.setStart(text, word.index);
      range.setEnd(text, word.index + word[0].length);
      const boxes = [...range.getClientRects()].filter(box => box.width > 0);
      return new Set(boxes.map(box => box.top)).size > 1;
    }).map(word => word[0]);
})"""


@pytest.mark.parametrize(
    ("width", "look"), [(320, "auto"), (390, "auto"), (390, "sunlight"), (1280, "auto")]
)
def test_german_pages_have_room(browser, demo_address, width, look):
    context = browser.new_context(viewport={"width": width, "height": 800}, locale="de-DE")
    page = context.new_page()
    watch = Watch(demo_address)
    watch.over(page)
    for path in PAGES:
        page.goto(demo_address + path)
        page.evaluate("(look) => document.documentElement.dataset.look = look", look)
        page.evaluate("document.querySelectorAll('details').forEach(one => one.open = true)")
        assert page.evaluate("document.documentElement.lang") == "de"
        assert page.evaluate("document.documentElement.scrollWidth") <= width, path
        assert page.evaluate(CUT) == [], path
        assert page.evaluate(BROKEN) == [], path
    assert watch.complaints == []
    context.close()


# 375: what a scrollbar leaves of 390. 545: beside the name, where the letters are largest.
@pytest.mark.parametrize("look", ["auto", "sunlight"])
@pytest.mark.parametrize("language", ["de-DE", "en-GB"])
def test_the_parts_stand_in_one_row(browser, demo_address, language, look):
    context = browser.new_context(locale=language)
    page = context.new_page()
    page.goto(demo_address + "/settings")
    page.evaluate("(look) => document.documentElement.dataset.look = look", look)
    for width in (360, 375, 390, 545):
        page.set_viewport_size({"width": width, "height": 800})
        boxes = [one.bounding_box() for one in page.locator("header.top nav a").all()]
        assert len({box["y"] for box in boxes}) == 1, width
        assert all(box["height"] >= 44 and box["width"] >= 24 for box in boxes), width
        assert page.evaluate(CUT) == [], width
    context.close()


def test_a_chart_in_the_browser_has_german_months_and_commas(browser, demo_address):
    context = browser.new_context(locale="de-DE")
    page = context.new_page()
    page.goto(f"{demo_address}/batteries/1")
    draw_charts(page)
    # The text of a point under the pointer: Plotly writes it, with the date and the value.
    page.evaluate("document.querySelector('.js-plotly-plot').scrollIntoView({block: 'center'})")
    box = page.locator(".js-plotly-plot .nsewdrag").first.bounding_box()
    words = set()
    for x, y in itertools.product((0.1, 0.3, 0.5, 0.7), (0.15, 0.3, 0.45, 0.6)):
        page.mouse.move(box["x"] + box["width"] * x, box["y"] + box["height"] * y)
        page.wait_for_timeout(100)
        words.update(page.locator(".hoverlayer text").all_text_contents())
    said = " ".join(words)
    assert "," in said
    assert "Ah" in said
    context.close()


def test_the_readings_of_a_test_stand_side_by_side_on_a_laptop(browser, demo_address):
    for locale in ("de-DE", "en-GB"):
        context = browser.new_context(viewport={"width": 1280, "height": 800}, locale=locale)
        page = context.new_page()
        page.goto(f"{demo_address}/discharges/5")
        page.locator("#readings-title").click()
        wide = "table => [table.scrollWidth, table.parentElement.clientWidth]"
        needs, has = page.locator("table.many").evaluate(wide)
        assert needs <= has
        context.close()


# Something that lies over the head or the beginning of a field of a table to type into.
COVERED = """() => [...document.querySelectorAll('table.lines td')].filter(one => {
    one.scrollIntoView({block: 'center'});
    const box = one.getBoundingClientRect();
    const top = document.elementFromPoint(box.left + 6, box.top + 6);
    return box.width && top && top.closest('td') !== one;
}).length"""


def test_the_number_of_a_row_covers_no_field_on_a_small_telephone(browser, demo_address):
    page = browser.new_page(viewport={"width": 320, "height": 700}, locale="de-DE")
    page.goto(f"{demo_address}/batteries/1/edit")
    page.evaluate("document.querySelectorAll('details').forEach(one => one.open = true)")
    assert page.locator("table.lines td").count() > 8
    assert page.evaluate(COVERED) == 0
    page.close()


@pytest.mark.parametrize("language", ["de-DE", "en-GB"])
def test_a_newest_test_has_its_day_and_its_result_on_one_line(browser, demo_address, language):
    context = browser.new_context(viewport={"width": 320, "height": 800}, locale=language)
    page = context.new_page()
    page.goto(f"{demo_address}/batteries/1")
    # The widest day of a year.
    page.evaluate(
        "day => document.querySelector('.newest tbody a').textContent = day",
        "28. Nov 2026" if language == "de-DE" else "28 Nov 2026",
    )
    day, result = page.locator(".newest tbody tr").first.locator("th, td").all()[:2]
    assert day.bounding_box()["y"] == pytest.approx(result.bounding_box()["y"], abs=2)
    context.close()


def test_what_a_link_shows_is_as_wide_in_its_preview_as_on_a_page(browser, demo_address):
    context = browser.new_context(viewport={"width": 320, "height": 800}, locale="de-DE")
    page = context.new_page()
    widths = []
    for path in ("/batteries/1", "/batteries/1/share"):
        page.goto(demo_address + path)
        widths.append(page.locator(".plot").first.bounding_box()["width"])
    assert widths[0] == pytest.approx(widths[1], abs=1)
    context.close()


def test_a_line_through_a_name_makes_room_for_its_letters(browser, demo_address):
    page = browser.new_page(locale="en-GB")
    page.goto(f"{demo_address}/batteries/1")
    name = page.locator(".plot text").filter(has_text="rated 230 Ah").first
    assert name.evaluate("one => getComputedStyle(one).paintOrder").startswith("stroke")
    page.close()
