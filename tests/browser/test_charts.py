"""Charts in a real browser: the server's picture, and what takes its place when it is wanted."""

import re

import pytest

DRAWN = "[data-drawn=true]"
PAGES = (
    "/batteries/1",
    "/batteries/2",
    "/batteries/3",
    "/discharges/3",
    "/batteries/1/curves",
    "/batteries/1/heat",
    "/batteries/1/road?nights=2",
    "/comparison?battery=1&battery=2",
)
# Texts that share ground, and such as leave the page. Boxes of letters have room above and below.
OVERLAPPING = """() => [...document.querySelectorAll('.still > svg')].flatMap((svg) => {
  const all = [...svg.querySelectorAll('text')].map((one) => [one, one.getBoundingClientRect()]);
  const over = (a, b) => a.left < b.right - 1 && b.left < a.right - 1
    && a.top < b.bottom - 4 && b.top < a.bottom - 4;
  const pairs = all.flatMap(([one, a], i) => all.slice(i + 1).filter(([, b]) => over(a, b))
    .map(([other]) => `${one.textContent} on ${other.textContent}`));
  const out = all.filter(([, box]) => box.left < 0 || box.right > innerWidth);
  return [...pairs, ...out.map(([one]) => `out: ${one.textContent}`)];
})"""


def test_the_library_is_loaded_only_for_a_chart_that_somebody_wants(browser, demo_address):
    page = browser.new_page(viewport={"width": 1280, "height": 800})
    # A machine that has plenty draws by itself; this one has not.
    page.add_init_script("Object.defineProperty(navigator, 'hardwareConcurrency', {get: () => 2})")
    asked = []
    page.on("request", lambda request: asked.append(request.url))
    page.goto(f"{demo_address}/batteries/1")
    page.wait_for_load_state("networkidle")
    assert not [url for url in asked if "chart-library" in url or "chart=" in url]
    assert page.locator("#fade-chart .still > svg").is_visible()
    before = size_of(page)
    page.locator("#fade-chart .plot").focus()
    page.wait_for_selector(f"#fade-chart {DRAWN}")
    assert not page.locator("#fade-chart .still").is_visible()
    # Nothing moves when one takes the place of the other.
    assert size_of(page) == before
    page.close()


def size_of(page):
    box = page.locator("#fade-chart").bounding_box()
    return box["width"], box["height"]


def years_of(page):
    script = "(one) => one.layout.xaxis.range.map((day) => Date.parse(day) / 864e5 / 365.25)"
    return page.locator("#fade-chart .plot").evaluate(script)


def test_one_zooms_along_the_years_by_buttons_and_comes_back(browser, demo_address):
    page = browser.new_page(viewport={"width": 390, "height": 844})
    page.goto(f"{demo_address}/batteries/1")
    page.get_by_role("button", name="Zoom in").click()
    page.wait_for_selector(f"#fade-chart {DRAWN}")
    page.wait_for_function("() => document.querySelector('#fade-chart .plot').layout")
    first, last = years_of(page)
    page.get_by_role("button", name="Later").click()
    later = years_of(page)
    assert later[1] > last
    assert later[1] - later[0] == pytest.approx(last - first, abs=0.02)
    page.get_by_role("button", name="All years").click()
    whole = years_of(page)
    assert whole[1] - whole[0] == pytest.approx(2 * (last - first), abs=0.02)
    # It never shows more than there is.
    page.get_by_role("button", name="Zoom out").click()
    assert years_of(page) == pytest.approx(whole, abs=0.01)
    page.close()


def test_without_scripts_the_picture_stands_and_there_is_nothing_to_press(browser, demo_address):
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{demo_address}/batteries/1")
    assert page.locator("#fade-chart .still > svg").is_visible()
    assert not page.locator("#fade-chart .zoom").is_visible()
    context.close()


@pytest.mark.parametrize("locale", ["en-GB", "de-DE"])
@pytest.mark.parametrize("width", [320, 390, 1280])
def test_no_name_in_a_picture_lies_on_another_or_runs_out_of_the_page(
    browser, demo_address, width, locale
):
    context = browser.new_context(viewport={"width": width, "height": 844}, locale=locale)
    page = context.new_page()
    for path in PAGES:
        page.goto(demo_address + path)
        assert page.evaluate(OVERLAPPING) == [], path
    context.close()


def test_a_chart_that_was_drawn_while_it_was_folded_has_its_size_when_it_unfolds(
    browser, demo_address
):
    page = browser.new_page(viewport={"width": 390, "height": 844})
    page.goto(f"{demo_address}/batteries/1/heat")
    # As browsers fold that know no content-visibility: nothing inside has a size.
    page.add_style_tag(content="details:not([open])::details-content { display: none }")
    page.locator("#hours-chart .plot").dispatch_event("click")
    page.wait_for_selector(f"#hours-chart {DRAWN}", state="attached")
    page.get_by_role("heading", name="Hours at temperature").click()
    page.wait_for_function(
        "() => document.querySelector('#hours-chart .plot').clientWidth > 300"
        " && document.querySelector('#hours-chart .main-svg').clientWidth"
        " === document.querySelector('#hours-chart .plot').clientWidth",
        timeout=5000,
    )
    page.close()


def test_a_chart_keeps_to_the_width_that_another_look_leaves_it(browser, demo_address):
    page = browser.new_page(viewport={"width": 1280, "height": 844})
    page.goto(f"{demo_address}/batteries/1")
    page.locator("#fade-chart .plot").focus()
    page.wait_for_selector(f"#fade-chart {DRAWN}")
    widths = set()
    for look in ("sunlight", "light"):
        page.evaluate("(look) => { document.documentElement.dataset.look = look }", look)
        page.wait_for_function(
            """() => {
              const place = document.querySelector('#fade-chart .plot');
              return place.clientWidth === place.querySelector('.main-svg').clientWidth;
            }""",
            timeout=5000,
        )
        widths.add(page.locator("#fade-chart .plot").evaluate("(place) => place.clientWidth"))
    assert len(widths) == 2
    page.close()


def drawn_boxes(page, path, name, *texts):
    """The boxes of texts in the chart of a page, drawn by the library."""
    page.goto(path)
    page.locator(f"#{name}-chart .plot").dispatch_event("click")
    page.wait_for_selector(f"#{name}-chart {DRAWN}", state="attached")
    letters = page.locator(f"#{name}-chart .main-svg text")
    return [letters.filter(has_text=re.compile(f"^{one}$")).last.bounding_box() for one in texts]


def test_no_number_of_an_axis_touches_its_name(browser, demo_address):
    page = browser.new_page(viewport={"width": 390, "height": 844})

    def keep_even(route):
        answer = route.fetch()
        figure = answer.json()
        for trace in figure["data"]:
            if trace["yaxis"] == "y3":
                trace["y"] = [24] * len(trace["y"])
        route.fulfill(response=answer, json=figure)

    page.route("**/*chart=course.json*", keep_even)
    title, tick = drawn_boxes(
        page, f"{demo_address}/discharges/3", "course", r"battery \(°C\)", "25"
    )
    # Boxes of letters have room above and below.
    assert title["y"] + title["height"] < tick["y"] + 3
    path = f"{demo_address}/batteries/1/heat"
    page.add_init_script(
        "addEventListener('load', () => document.querySelectorAll('details')"
        ".forEach((one) => { one.open = true }))"
    )
    month, nov = drawn_boxes(page, path, "calendar", "month", "Nov")
    assert nov["y"] + nov["height"] < month["y"] + 3
    page.close()
