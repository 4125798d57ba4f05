"""Charts, pages and the switch of the look in a real browser."""

import pytest

from tests.browser.audit import WANTED, draw_charts
from tests.browser.conftest import Watch

DRAWN = "[data-drawn=true]"
POINT = ".scatterlayer .point"
WIDTHS = (320, 390, 1280)


def point_colours(page):
    # Of the point: what is drawn on the screen, not what the data say.
    return page.eval_on_selector_all(POINT, "all => [...new Set(all.map(p => p.style.fill))]")


def test_a_chart_follows_the_look_when_it_is_changed(browser, demo_address):
    page = browser.new_page()
    watch = Watch(demo_address)
    watch.over(page).goto(f"{demo_address}/batteries/1")
    draw_charts(page)
    assert "rgb(31, 93, 120)" in point_colours(page)
    page.get_by_role("button", name="Dark").click()
    page.wait_for_selector("html[data-look=dark]")
    page.wait_for_selector(f"{POINT}[style*='rgb(124, 195, 221)']", state="attached")
    assert "rgb(31, 93, 120)" not in point_colours(page)
    page.reload()
    assert page.evaluate("document.documentElement.dataset.look") == "dark"
    assert watch.complaints == []
    page.close()


def test_without_its_figure_a_chart_keeps_the_server_s_picture(browser, demo_address):
    page = browser.new_page()
    faults = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    # One answers with a page to sign in on, one not at all; and the third as it should.
    page.route("**/*chart=trend-1.json", lambda route: route.fulfill(body="<p>Sign in</p>"))
    page.route("**/*chart=trend-2.json", lambda route: route.abort())
    page.goto(f"{demo_address}/comparison?battery=1&battery=2")
    page.evaluate("for (const one of document.querySelectorAll('details')) one.open = true")
    page.evaluate(WANTED)
    page.wait_for_selector(f"#laid-curves-chart {DRAWN}")
    page.get_by_role("button", name="Dark").click()
    page.wait_for_selector("html[data-look=dark]")
    for name in ("trend-1", "trend-2"):
        assert page.locator(f"#{name}-chart .still > svg").is_visible()
        assert not page.locator(f"#{name}-chart {DRAWN}").count()
    assert faults == []
    page.close()


def test_paper_gets_the_light_colours_of_every_chart_and_the_screen_its_own_again(
    browser, demo_address
):
    page = browser.new_context(color_scheme="dark").new_page()
    page.goto(f"{demo_address}/batteries/1")
    draw_charts(page)
    assert "rgb(31, 93, 120)" not in point_colours(page)
    page.evaluate("dispatchEvent(new Event('beforeprint'))")
    assert "rgb(31, 93, 120)" in point_colours(page)
    page.evaluate("dispatchEvent(new Event('afterprint'))")
    assert "rgb(31, 93, 120)" not in point_colours(page)


def test_what_was_typed_stays_when_the_look_is_changed(browser, demo_address):
    page = browser.new_page()
    page.goto(f"{demo_address}/batteries/new")
    page.fill("#name", "Half typed")
    page.get_by_role("button", name="Sunlight").click()
    page.wait_for_selector("html[data-look=sunlight]")
    assert page.input_value("#name") == "Half typed"
    page.close()


def test_the_switch_works_without_scripts(browser, demo_address):
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{demo_address}/meters")
    page.get_by_role("button", name="Dark").click()
    assert page.url == f"{demo_address}/meters"
    assert page.locator("html").get_attribute("data-look") == "dark"
    context.close()


def test_a_device_that_is_dark_gets_dark_pages_and_charts(browser, demo_address):
    context = browser.new_context(color_scheme="dark")
    page = context.new_page()
    page.goto(f"{demo_address}/discharges/3")
    draw_charts(page)
    ground = page.evaluate("getComputedStyle(document.documentElement).backgroundColor")
    assert ground == "rgb(18, 25, 29)"
    letters = page.eval_on_selector(".xtick text", "one => getComputedStyle(one).fill")
    assert letters == "rgb(236, 230, 217)"
    context.close()


def test_a_chart_keeps_its_height_when_the_telephone_is_turned(browser, demo_address):
    page = browser.new_page(viewport={"width": 844, "height": 390})
    page.goto(f"{demo_address}/batteries/1")
    draw_charts(page)
    before = page.locator(".plot").bounding_box()
    page.set_viewport_size({"width": 390, "height": 844})
    page.wait_for_function("() => document.querySelector('.main-svg').clientWidth < 400")
    after = page.locator(".plot").bounding_box()
    drawn = page.locator(".main-svg").first.bounding_box()
    assert before["height"] == after["height"] == drawn["height"]
    page.close()


def test_where_the_device_forces_its_colours_a_fan_still_shows_what_lies_in_it(
    browser, demo_address
):
    context = browser.new_context(forced_colors="active", color_scheme="dark")
    page = context.new_page()
    page.goto(f"{demo_address}/batteries/1")
    draw_charts(page)
    fans = page.eval_on_selector_all(".js-fill", "all => all.map(p => Number(p.style.fillOpacity))")
    assert fans
    assert max(fans) < 0.6
    # CanvasText, as a dark device has it.
    letters = page.eval_on_selector(".xtick text", "one => one.style.fill")
    assert letters == "rgb(255, 255, 255)"
    context.close()


@pytest.mark.parametrize("width", WIDTHS)
def test_nothing_goes_sideways_and_the_navigation_suits_a_finger(browser, demo_address, width):
    context = browser.new_context(viewport={"width": width, "height": 640})
    page = context.new_page()
    for path in ("/", "/batteries/1", "/discharges/3", "/meters", "/places/1", "/records"):
        page.goto(demo_address + path)
        assert page.evaluate("document.documentElement.scrollWidth") <= width, path
    boxes = [one.bounding_box() for one in page.locator("nav[aria-label=Main] a").all()]
    assert all(box["height"] >= 44 and box["width"] >= 44 for box in boxes)
    in_rows = [sum(box["y"] == top for box in boxes) for top in {box["y"] for box in boxes}]
    # No row holds a single one left over.
    assert min(in_rows) > 1
    context.close()
