"""The answers and the picture of a battery stand in the first screen; the rest takes one tap."""

import pytest

from tests.live_server import server_in_thread

LAPTOP, PHONE = {"width": 1280, "height": 800}, {"width": 390, "height": 844}
# Where the chart may begin, how high a row of a test may be: one line of text, or two.
BAR = [(LAPTOP, 420, 45), (PHONE, 620, 64)]
WORDS = "() => document.querySelector('main').innerText.trim().split(/\\s+/).length"
CHART = "() => scrollY + document.querySelector('figure.chart .plot').getBoundingClientRect().top"
ROWS = """() => [...document.querySelectorAll('main tbody tr')]
  .filter((one) => one.checkVisibility())
  .map((one) => one.getBoundingClientRect().height)"""
FIRST_SCREEN = """() => [...document.querySelectorAll('.glance > div')]
  .every((one) => one.getBoundingClientRect().bottom < innerHeight)"""


@pytest.fixture(scope="module")
def demo_with_link(browser, tmp_path_factory):
    """The demo, and the address of a link to its first battery."""
    with server_in_thread(tmp_path_factory.mktemp("glance"), demo=True) as address:
        page = browser.new_page()
        page.goto(f"{address}/batteries/1/share")
        page.get_by_role("button", name="Make the link").click()
        link = page.locator("#address code").inner_text()
        page.close()
        yield address, link


@pytest.mark.parametrize(("size", "chart", "row"), BAR, ids=["laptop", "phone"])
def test_a_battery_is_clear_at_a_glance(browser, demo_with_link, size, chart, row):
    address, _ = demo_with_link
    page = browser.new_page(viewport=size)
    page.goto(f"{address}/batteries/1")
    assert page.evaluate(FIRST_SCREEN)
    assert page.evaluate(CHART) <= chart
    assert page.evaluate(WORDS) <= 400
    rows = page.evaluate(ROWS)
    assert len(rows) == 9, "eight tests and one event between them"
    assert max(rows) <= row


@pytest.mark.parametrize(("size", "chart"), [bar[:2] for bar in BAR], ids=["laptop", "phone"])
def test_the_longer_words_of_german_keep_the_picture_in_the_first_screen(
    browser, demo_with_link, size, chart
):
    address, _ = demo_with_link
    context = browser.new_context(viewport=size, locale="de-DE")
    page = context.new_page()
    for number in (1, 2, 3):
        page.goto(f"{address}/batteries/{number}")
        assert page.locator("html").get_attribute("lang") == "de"
        assert page.evaluate(CHART) <= chart
    context.close()


@pytest.mark.parametrize(("size", "chart"), [bar[:2] for bar in BAR], ids=["laptop", "phone"])
def test_a_shared_battery_is_clear_at_a_glance(browser, demo_with_link, size, chart):
    _, link = demo_with_link
    page = browser.new_page(viewport=size)
    page.goto(link)
    assert page.evaluate(FIRST_SCREEN)
    assert page.evaluate(CHART) <= chart
    assert page.evaluate(WORDS) <= 350
    assert page.evaluate(ROWS) == []


# Where else a battery is looked at, and how many words stand there with nothing unfolded.
FURTHER = [
    ("/batteries/1/heat", 350),
    ("/batteries/1/warranty", 250),
    ("/batteries/1/road", 300),
    ("/batteries/1/curves", 350),
    ("/comparison?battery=1&battery=2", 350),
]


@pytest.mark.parametrize("language", ["en", "de"])
@pytest.mark.parametrize(("size", "chart"), [bar[:2] for bar in BAR], ids=["laptop", "phone"])
def test_further_pages_of_a_battery_are_clear_at_a_glance(
    browser, demo_with_link, size, chart, language
):
    address, _ = demo_with_link
    page = browser.new_page(viewport=size, extra_http_headers={"Accept-Language": language})
    for path, words in FURTHER:
        page.goto(address + path)
        assert page.evaluate(FIRST_SCREEN), path
        assert page.evaluate(WORDS) <= words, path
        assert page.locator("main .button:visible").first.bounding_box()["y"] < 300, path
        if page.locator("figure.chart").count():
            assert page.evaluate(CHART) <= chart, path
    page.close()


@pytest.mark.parametrize("name", ["Overview", "Nights", "Print", "Edit"])
def test_the_way_between_the_pages_is_one_row_that_shows_where_one_is(
    browser, demo_with_link, name
):
    address, _ = demo_with_link
    page = browser.new_page(viewport=PHONE)
    page.goto(f"{address}/batteries/1")
    page.get_by_role("link", name=name, exact=True).click()
    way = page.locator("nav.parts")
    assert way.bounding_box()["height"] < 60
    here = way.locator("[aria-current=page]")
    assert here.inner_text() == name
    assert here.evaluate("(one) => one.getBoundingClientRect().right <= innerWidth")
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def test_what_is_folded_is_printed(browser, demo_with_link):
    address, _ = demo_with_link
    page = browser.new_page(viewport=LAPTOP)
    page.goto(f"{address}/batteries/1")
    kept = page.get_by_text("INVENTED-0417")
    assert not kept.evaluate("(one) => one.checkVisibility()")
    page.emulate_media(media="print")
    assert kept.evaluate("(one) => one.checkVisibility()")
