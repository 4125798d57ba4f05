"""How soon pages are there in a browser whose processor is slowed four times, cold and warm.

Run by hand on a calm machine: python -m tests.benchmarks.speed_table browser
Aims: largest paint < 1 s, shift < 0.05, chart < 3 s cold and slowed, < 0.5 s warm.
"""

import shutil
import statistics
import tempfile
from collections.abc import Iterator
from pathlib import Path

from playwright.sync_api import Browser, Page, sync_playwright

from tests.benchmarks.speed_row import Row
from tests.browser.audit import draw_charts
from tests.browser.conftest import FLAGS, NAMES
from tests.browser.main_job import PHONE
from tests.browser.seed import MANY, fill
from tests.builders import NOW
from tests.live_server import server_in_thread

PAGES = {
    "batteries": "/",
    "battery, 18 tests": f"/batteries/{MANY}",
    "one test": "/discharges/18",
    "running test": "{run}",
    "shared link": "{shared_battery}",
}
ROUNDS = 5
SLOWED = 4
# Begins before the page does, so that nothing of it is missed.
OBSERVE = """
window.seen = {paint: 0, shift: 0, chart: 0};
new PerformanceObserver((list) => {
  for (const one of list.getEntries()) window.seen.paint = one.startTime;
}).observe({type: "largest-contentful-paint", buffered: true});
new PerformanceObserver((list) => {
  for (const one of list.getEntries()) if (!one.hadRecentInput) window.seen.shift += one.value;
}).observe({type: "layout-shift", buffered: true});
new MutationObserver(() => {
  if (!window.seen.chart && document.querySelector("[data-drawn=true]"))
    window.seen.chart = performance.now();
}).observe(document, {subtree: true, attributes: true, attributeFilter: ["data-drawn"]});
"""


def open_page(browser: Browser, slowed: int) -> Page:
    page = browser.new_context(viewport=PHONE, timezone_id="UTC").new_page()
    page.add_init_script(OBSERVE)
    page.context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": slowed})
    return page


def measured(page: Page, address: str) -> dict[str, float]:
    page.goto(address)
    if page.locator("[data-chart]").count():
        draw_charts(page)
    page.wait_for_timeout(500)
    seen: dict[str, float] = page.evaluate("window.seen")
    return seen


def row(what: str, rounds: list[dict[str, float]], chart_within_s: float) -> Row:
    paint, shift, chart = (
        statistics.median(one[key] for one in rounds) for key in ("paint", "shift", "chart")
    )
    drawn = f", chart {chart:.0f} ms" if chart else ""
    aim = f"paint < 1 s, shift < 0.05, chart < {chart_within_s:g} s"
    return Row(what, f"paint {paint:.0f} ms, shift {shift:.3f}{drawn}", aim=aim)


def browser_rows() -> Iterator[Row]:
    path = next(found for name in NAMES if (found := shutil.which(name)))
    folder = Path(tempfile.mkdtemp())
    made = fill(folder / "data")
    with sync_playwright() as playwright, server_in_thread(folder, NOW) as address:
        browser = playwright.chromium.launch(executable_path=path, args=FLAGS)
        for name, where in PAGES.items():
            target = address + where.format(**made)
            for slowed in (SLOWED, 1):
                cold, warm = [], []
                for _ in range(ROUNDS):
                    page = open_page(browser, slowed)
                    cold.append(measured(page, target))
                    warm.append(measured(page, target))
                    page.context.close()
                slow = f", processor slowed {slowed} times" if slowed > 1 else ""
                yield row(f"{name}, cold{slow}", cold, 3 if slowed > 1 else 1)
                yield row(f"{name}, warm{slow}", warm, 1 if slowed > 1 else 0.5)
        browser.close()
    shutil.rmtree(folder)
