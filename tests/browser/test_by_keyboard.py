"""The main job by keys alone: every stop is seen, in order, and none holds the focus."""

import pytest

from tests.browser.audit import draw_charts
from tests.browser.conftest import Watch
from tests.browser.main_job import PHONE, ROWS, VERDICT
from tests.browser.seed import MANY
from tests.builders import NOW
from tests.live_server import server_in_thread

MAX_STOPS = 400
# What has the focus: its name, how it is marked, where it is and what follows what.
FOCUSED = """() => {
  const one = document.activeElement;
  if (!one || one === document.body) return null;
  const style = getComputedStyle(one), box = one.getBoundingClientRect();
  const before = window.lastFocused;
  window.lastFocused = one;
  const ground = (at) => {
    for (; at; at = at.parentElement) {
      const colour = getComputedStyle(at).backgroundColor;
      if (!colour.endsWith(", 0)") && colour !== "transparent") return colour;
    }
    return "rgb(255, 255, 255)";
  };
  return {
    name: one.ariaLabel || one.labels?.[0]?.innerText || one.innerText || one.value || one.tagName,
    outline: style.outlineStyle === "none" ? 0 : parseFloat(style.outlineWidth),
    colours: [style.outlineColor, ground(one.parentElement)],
    seen: box.width > 0 && box.height > 0 && box.bottom > 0 && box.right > 0 &&
      box.top < innerHeight && box.left < innerWidth,
    same: before === one,
    follows: !before || before === one || !before.isConnected ||
      Boolean(before.compareDocumentPosition(one) & Node.DOCUMENT_POSITION_FOLLOWING),
    inMain: Boolean(one.closest("main")),
    value: one.value ?? "",
  };
}"""


def brightness(colour):
    """Relative luminance of "rgb(…)" (WCAG 2.2, https://www.w3.org/TR/WCAG22/)."""
    parts = [float(part) / 255 for part in colour[colour.index("(") + 1 : -1].split(",")[:3]]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(first, second):
    light, dark = sorted((brightness(first), brightness(second)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


class Keys:
    """Somebody with a keyboard and nothing else, who must see where they are."""

    def __init__(self, page):
        self.page = page

    def step(self):
        """Tab once; what has the focus then, or None at the end of the page."""
        self.page.keyboard.press("Tab")
        stop = self.page.evaluate(FOCUSED)
        if stop is not None:
            assert stop["seen"], f"out of sight: {stop}"
            # The parts of a date are marked by the browser itself.
            assert stop["same"] or stop["outline"] >= 2, f"not marked: {stop}"
            assert stop["same"] or contrast(*stop["colours"]) >= 3, f"hardly seen: {stop}"
        return stop

    def to(self, name):
        """Tab until what has the focus has this name."""
        for _ in range(MAX_STOPS):
            stop = self.step()
            if stop is not None and stop["name"].strip().startswith(name):
                return stop
        raise AssertionError(f"no key leads to “{name}” on {self.page.url}")

    def press(self, name, key="Enter"):
        """Go there and press it; a new page begins anew."""
        self.to(name)
        with self.page.expect_navigation():
            self.page.keyboard.press(key)

    def write(self, name, text):
        self.to(name)
        self.page.keyboard.press("Control+A")
        self.page.keyboard.type(text)


@pytest.fixture(scope="module")
def there(browser, filled):
    """A server with the demo and more, a page on it and what it must not do."""
    folder, made = filled
    with server_in_thread(folder, NOW) as address:
        page = browser.new_context(viewport=PHONE, timezone_id="UTC").new_page()
        watch = Watch(address)
        yield watch.over(page), address, made
        assert watch.complaints == []
        page.context.close()


def test_the_main_job_is_done_by_keys_alone(browser, tmp_path):
    with server_in_thread(tmp_path, NOW) as address:
        page = browser.new_context(viewport=PHONE, timezone_id="UTC").new_page()
        watch = Watch(address)
        watch.over(page).goto(address)
        keys = Keys(page)
        keys.press("Add your first battery")
        keys.write("Name", "Cabin")
        keys.write("Rated capacity", "105")
        keys.press("Add battery")
        keys.press("New test")
        keys.to("Day")
        page.keyboard.type("03012026")
        assert page.get_by_label("Day", exact=True).input_value() == "2026-03-01"
        for number, (time, amps, volts) in enumerate(ROWS, start=1):
            keys.write(f"time, row {number}", time)
            keys.write(f"current, row {number}", amps)
            keys.write(f"voltage, row {number}", volts)
        # Of large choices one has the focus; arrows lead on, and what they reach is chosen.
        keys.to("Full, then rested an hour")
        page.keyboard.press("Space")
        keys.to("The battery switched itself off")
        page.keyboard.press("Space")
        page.keyboard.press("ArrowDown")
        assert page.get_by_label("Voltage fell to the cut-off").is_checked()
        page.keyboard.press("ArrowUp")
        keys.press("Check")
        keys.press("Store this test")
        assert VERDICT in " ".join(page.locator(".headline").inner_text().split())
        keys.press("See the fade")
        draw_charts(page)
        keys.press("Share")
        keys.press("Make the link")
        assert page.locator("#address code").inner_text().startswith("http")
        assert watch.complaints == []


def test_the_first_key_leads_past_the_head_of_the_page(there):
    page, address, _ = there
    page.goto(address)
    keys = Keys(page)
    assert keys.step()["name"] == "Skip to the content"
    page.keyboard.press("Enter")
    assert keys.step()["inMain"]


@pytest.mark.parametrize(
    "path",
    [
        "/",
        f"/batteries/{MANY}",
        f"/batteries/{MANY}/curves",
        f"/batteries/{MANY}/discharges/new",
        "/discharges/18",
        "/comparison?battery=1&battery=2",
        f"/batteries/{MANY}/share",
        "/records",
        "{run}",
    ],
)
def test_keys_go_through_a_page_in_order_and_out_again(there, path):
    page, address, made = there
    page.goto(address + path.format(**made))
    if page.locator("[data-chart]").count():
        draw_charts(page)
    keys = Keys(page)
    stops = []
    while (stop := keys.step()) is not None:
        if stops and stop["name"] == stops[0]["name"] and not stop["follows"]:
            break
        stops.append(stop)
        assert len(stops) < MAX_STOPS, f"held at {stop}"
        assert stop["follows"], f"before what came before it: {stop}"
    assert len(stops) > 5
