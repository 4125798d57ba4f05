"""How often somebody must tap or type until the verdict is seen and shared, the first time on."""

from tests.browser.conftest import Watch
from tests.browser.main_job import PHONE, VERDICT
from tests.builders import NOW
from tests.live_server import server_in_thread

# A day noted every third hour: time, amps and volts of five readings, each typed into one cell.
ROWS = (
    ("8:00", "9", "13.2"),
    ("11:00", "9", "13.1"),
    ("14:00", "9", "13.0"),
    ("17:00", "9", "12.8"),
    ("17:42", "9", "10.4"),
)
MAX_STEPS, MAX_STEPS_AGAIN = 20, 14


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

    def choose(self, label):
        self.count += 1
        self.page.get_by_label(label).check()

    def log_a_test(self, day, charge=""):
        self.fill("Day", day)
        for number, reading in enumerate(ROWS, start=1):
            self.fill(f"time, row {number}", " ".join(reading))
        if charge:
            self.choose(charge)
        self.choose("The battery switched itself off")
        self.tap("button", "Check")
        self.tap("button", "Store this test")
        assert VERDICT[:8] in self.page.locator(".headline").inner_text()


def test_a_first_test_and_its_link_take_at_most_twenty_steps_and_a_second_test_fourteen(
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
        first.tap("button", "Add battery")
        first.tap("link", "New test")
        first.log_a_test("2026-03-01", "Full, then rested an hour")
        first.tap("link", "See the fade")
        first.tap("link", "Share")
        first.tap("button", "Make the link")
        assert page.locator("#address code").inner_text().startswith("http")

        second = Hand(page)
        page.goto(address)
        second.tap("link", "New test : Cabin")
        second.log_a_test("2026-06-01")
        print(f"steps: the first time {first.count}, a second test {second.count}")
        assert first.count <= MAX_STEPS
        assert second.count <= MAX_STEPS_AGAIN
        assert watch.complaints == []
