"""How soon pages are there in a browser whose processor is slowed four times, cold and warm.

Run by hand on a calm machine: python -m tests.benchmarks.bench_browser
Aims: largest paint < 1 s, shift < 0.05, chart < 3 s cold and slowed, < 0.5 s warm.
"""

import shutil
import statistics
import tempfile
from pathlib import Path

from playwright.sync_api import Browser, Page, sync_playwright

from tests.browser.conftest import FLAGS, NAMES
from tests.browser.filled import MANY, fill
from tests.browser.job import PHONE
from tests.browser.tour import UNDRAWN
from tests.builders import NOW
from tests.serving import standing_still

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
    page.wait_for_function(f"!document.querySelector('{UNDRAWN}')")
    page.wait_for_timeout(500)
    seen: dict[str, float] = page.evaluate("window.seen")
    return seen


def row(name: str, kind: str, rounds: list[dict[str, float]]) -> str:
    paint, shift, chart = (
        statistics.median(one[key] for one in rounds) for key in ("paint", "shift", "chart")
    )
    drawn = f"{chart:8.0f} ms" if chart else "       none"
    return f"{name:20} {kind:20} {paint:8.0f} ms {shift:8.3f} {drawn}"


def main() -> None:
    path = next(found for name in NAMES if (found := shutil.which(name)))
    folder = Path(tempfile.mkdtemp())
    made = fill(folder / "data")
    with sync_playwright() as playwright, standing_still(folder, NOW) as address:
        browser = playwright.chromium.launch(executable_path=path, args=FLAGS)
        print(f"{'page':20} {'':20} {'largest paint':>11} {'shift':>6} {'chart':>11}")
        for name, where in PAGES.items():
            target = address + where.format(**made)
            for slowed in (SLOWED, 1):
                cold, warm = [], []
                for _ in range(ROUNDS):
                    page = open_page(browser, slowed)
                    cold.append(measured(page, target))
                    warm.append(measured(page, target))
                    page.context.close()
                print(row(name, f"cold, {slowed}× slowed", cold))
                print(row(name, f"warm, {slowed}× slowed", warm))
        browser.close()
    shutil.rmtree(folder)


if __name__ == "__main__":
    main()
