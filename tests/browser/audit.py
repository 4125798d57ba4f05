"""Going from page to page and looking at each: by axe, by its size and by what it says."""

from dataclasses import dataclass, field
from importlib.resources import files
from pathlib import Path
from typing import Any, Literal

from playwright.sync_api import Page, Response, TimeoutError

from tests.browser.conftest import Watch
from tests.browser.every_page import Stop
from tests.browser.looking_alike import judge_alone_what_differs

UNDRAWN = "[data-chart]:not([data-drawn=true])"
# A chart is drawn anew when somebody wants it: here a pointer that comes over each.
WANTED = """() => document.querySelectorAll('[data-chart]').forEach((place) =>
  place.dispatchEvent(new PointerEvent('pointerenter', {pointerType: 'mouse'})))"""
# https://www.w3.org/TR/WCAG22/ as the tags of axe-core name its levels.
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
AXE = (files("axe_playwright_python") / "axe.min.js").read_text()
# The library draws what it does not know as a line, and says nothing.
NOT_AS_MEANT = """async () => {
  const wrong = [];
  for (const place of document.querySelectorAll('[data-drawn=true]')) {
    const from = place.dataset.chart;
    const here = from.startsWith('#') && document.getElementById(from.slice(1));
    const meant = here ? JSON.parse(here.textContent) : await (await fetch(from)).json();
    if (!meant.data.length) wrong.push(`${from}: nothing to draw`);
    wrong.push(...meant.data.filter((trace, i) => {
      const drawn = place._fullData[i];
      return drawn?.type !== trace.type || !drawn.visible;
    }).map((trace) => `${from}: no ${trace.type} ${trace.name}`));
  }
  return wrong;
}"""
# What a thumb must hit: a comfortable 44 px, beyond the 24 px that axe asks for (WCAG 2.5.8, which
# excepts what stands in a sentence, as an explained word may).
SMALL_TARGETS = """() => [...document.querySelectorAll(
    'main .button, main button, main input:not([type=hidden]), main select, main textarea, summary'
)].map((one) => one.matches('[type=checkbox], [type=radio]') ? one.closest('label') ?? one : one)
  .filter((one) => one.checkVisibility({visibilityProperty: true}))
  .filter((one) => !one.closest('[aria-hidden=true]'))
  .filter((one) => !one.matches('.word'))
  .filter((one) => one.getBoundingClientRect().height < 43.5)
  .map((one) => one.outerHTML.slice(0, 90))"""
NARROW = "() => document.documentElement.scrollWidth <= document.documentElement.clientWidth"
WIDEST = """() => [...document.querySelectorAll('body *')]
  .filter((one) => one.getBoundingClientRect().right > document.documentElement.clientWidth + 1)
  .filter((one) => !one.closest('.scroll, .plot, .sheet')).slice(0, 3)
  .map((one) => one.outerHTML.slice(0, 90))"""

# Rows that are cards need no room beside them.
CARDS = """() => [...document.querySelectorAll('.scroll:has(.stacked)')]
  .filter((one) => innerWidth < 500 && one.scrollWidth > one.clientWidth + 1)
  .map((one) => `cards of ${one.getAttribute('aria-label')}`)"""

# Before a gradient axe would judge no contrast at all: the shadows at the edges of wide tables.
PLAIN_GROUND = """() => document.querySelectorAll('.scroll, .parts')
  .forEach((one) => one.style.backgroundImage = 'none')"""


# Half of axe's time went into rows like those before them, and into letters of drawn charts, whose
# ground it cannot tell; tests/charts judge their colours.
ALIKE = ["tbody tr:nth-child(n+9)", ".plot svg"]

# Two frames: charts follow the width and the colours in the one after the change.
SETTLED = """() => new Promise((done) =>
  requestAnimationFrame(() => requestAnimationFrame(() => done(null))))"""


def draw_charts(page: Page) -> None:
    """Want every chart of the page, and wait until all are drawn; there is at least one."""
    page.wait_for_selector("[data-chart]")
    page.evaluate(WANTED)
    page.wait_for_function(f"() => !document.querySelector('{UNDRAWN}')")


@dataclass
class Tour:
    """One browser page on one server, what was made there, and where pictures go, if anywhere."""

    page: Page
    watch: Watch
    made: dict[str, str]
    shots: Path | None
    statuses: list[int] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.page.on("response", self._answered)

    def _answered(self, response: Response) -> None:
        if response.request.is_navigation_request():
            self.statuses.append(response.status)

    def visit(self, stop: Stop) -> list[str]:
        """Open a stop at laptop size; returns what was wrong with how it answered."""
        self.watch.complaints.clear()
        self.page.emulate_media(media="screen", color_scheme="light")
        self.page.goto(self.made["address"] + stop.address(self.made))
        if stop.act is not None:
            stop.act(self.page, self.made)
        self.page.wait_for_load_state()
        undrawn = []
        if self.page.locator("[data-chart]").count():
            draw_charts(self.page)
            undrawn = self.page.evaluate(NOT_AS_MEANT)
        status = self.statuses[-1]
        wrong = [] if status == stop.status else [f"answered {status}, not {stop.status}"]
        return wrong + undrawn + self.complaints(stop)

    def complaints(self, stop: Stop) -> list[str]:
        """What the page did that it must not; that a refusal is one is meant."""
        meant = f"the server responded with a status of {stop.status} "
        return [
            one
            for one in self.watch.complaints
            if not (stop.status >= 400 and meant in one) and not one.startswith("left: file:")
        ]

    def look(self, width: int, height: int, scheme: Literal["light", "dark"]) -> None:
        """Take another width or colours, and let the page follow."""
        self.page.set_viewport_size({"width": width, "height": height})
        self.page.emulate_media(color_scheme=scheme)
        self.page.evaluate(SETTLED)

    def unfold(self, way: bool) -> None:
        """Open or close what is folded away: it is a part of the page, too."""
        script = "(way) => document.querySelectorAll('details').forEach((one) => one.open = way)"
        self.page.evaluate(script, way)

    def axe(self, rules: list[str] | None = None) -> list[str]:
        """Violations of WCAG 2.2 AA, with everything unfolded; of these rules alone if given."""
        self.page.evaluate(PLAIN_GROUND)
        if not self.page.evaluate("'axe' in window"):
            self.page.evaluate(AXE + "; 0")
        judge_alone_what_differs(self.page)
        run: dict[str, Any] = self.page.evaluate(
            """([alike, runOnly]) => axe.run(
                 {include: [["html"]], exclude: alike.map((one) => [one])},
                 {runOnly, resultTypes: ["violations"]})""",
            [
                ALIKE,
                {"type": "rule", "values": rules} if rules else {"type": "tag", "values": TAGS},
            ],
        )
        return [
            f"{rule['id']}: {node['target'][-1]} {node['html'][:120]} {node['failureSummary']}"
            for rule in run["violations"]
            for node in rule["nodes"][:5]
        ]

    def too_wide(self) -> list[str]:
        """What makes the page scroll sideways; a chart may take a moment to follow the width."""
        try:
            # To wait takes longer than to ask, and nearly every page has room at once.
            if not self.page.evaluate(NARROW):
                self.page.wait_for_function(NARROW, timeout=3000)
        except TimeoutError:
            return [f"too wide: {one}" for one in self.page.evaluate(WIDEST) or ["something"]]
        return [f"too wide: {one}" for one in self.page.evaluate(CARDS)]

    def small(self) -> list[str]:
        """Targets in the main part that a thumb would miss."""
        return [f"small: {one}" for one in self.page.evaluate(SMALL_TARGETS)]

    def shoot(self, stop: Stop, kind: str) -> None:
        """Keep a picture of the whole page for whoever wants to look."""
        if self.shots is None:
            return
        name = f"{stop.name.replace(' ', '-')}-{kind}.jpg"
        self.page.screenshot(path=self.shots / name, full_page=True, type="jpeg", quality=60)
