"""How often somebody must tap or type until the verdict is seen and shared, the first time on."""

from tests.browser.conftest import Watch
from tests.browser.main_job import PHONE, VERDICT
from tests.builders import NOW
from tests.live_server import server_in_thread

# A day noted every third hour: time, amps and volts of five readings.
ROWS = (
    ("8:00", "9", "13.2"),
    ("11:00", "9", "13.1"),
    ("14:00", "9", "13.0"),
    ("17:00", "9", "12.8"),
    ("17:42", "9", "10.4"),
)
MAX_STEPS = 40


class Hand:
    """Counts what is done by hand: a tap, a choice from a list, a field filled in."""

    def __init__(self, page):
        self.page = page
        self.count = 0

    def tap(self, role, name):
        self.count += 1
        self.page.get_by_role(role, name=name, exact=True).first.click()

    def fill(self, label, text):
        self.count += 1
        self.page.get_by_label(label).first.fill(text)

    def choose(self, label, value):
        self.count += 1
        self.page.get_by_label(label).first.select_option(value)

    def log_a_test(self, day):
        self.fill("Start", f"{day}T08:00")
        self.choose("Charge before it", "full_rested")
        self.choose("Why it ended", "protection")
        for number, (time, amps, volts) in enumerate(ROWS, start=1):
            self.fill(f"time, row {number}", time)
            self.fill(f"current, row {number}", amps)
            self.fill(f"voltage, row {number}", volts)
        self.tap("button", "Check")
        self.tap("button", "Store this test")
        assert VERDICT[:8] in self.page.locator(".headline").inner_text()


def test_a_first_test_and_its_link_take_at_most_forty_steps_and_a_second_test_fewer(
    browser, tmp_path
):
    with server_in_thread(tmp_path, NOW) as address:
        page = browser.new_context(viewport=PHONE).new_page()
        watch = Watch(address)
        watch.over(page).goto(address)
        first = Hand(page)
        first.tap("link", "Add your first battery")
        first.fill("Name", "Cabin")
        first.fill("Rated capacity", "105")
        first.tap("button", "Store")
        first.tap("link", "Enter a capacity test")
        first.log_a_test("2026-03-01")
        first.tap("link", "See the fade")
        first.tap("button", "Make a link for 30 days")
        assert page.locator("input.link").input_value().startswith("http")

        second = Hand(page)
        page.goto(address)
        second.tap("link", "Enter a test of Cabin")
        second.log_a_test("2026-06-01")
        print(f"steps: the first time {first.count}, a second test {second.count}")
        assert first.count <= MAX_STEPS
        assert second.count < first.count
        assert watch.complaints == []
