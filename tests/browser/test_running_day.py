"""A ten-hour test day at phone size, with the clock sped up and everything that goes wrong."""

import re
from datetime import UTC, datetime, timedelta

import httpx2
import pytest
from playwright.sync_api import Error, expect

from tests.browser.conftest import Watch
from tests.live_server import free_port, started

PHONE = {"width": 390, "height": 844}
START = datetime(2026, 3, 2, 7, 0, tzinfo=UTC)
# What a browser says of a server that is away.
AWAY = re.compile(r"net::ERR_(CONNECTION_(REFUSED|RESET|CLOSED)|EMPTY_RESPONSE)")


class Day:
    """A server whose clock the test moves, and which it may kill and start again."""

    def __init__(self, folder):
        self.folder, self.port = folder, free_port()
        self.clock = folder / "clock"
        self.address = f"http://127.0.0.1:{self.port}"
        self.server = None
        self.set(0)

    def set(self, hours):
        # At once: the page of a running test may ask in the middle of it.
        new = self.folder / "new_clock"
        new.write_text((START + timedelta(hours=hours)).isoformat())
        new.replace(self.clock)

    def start(self):
        words = [str(self.folder / "data"), str(self.port), str(self.clock)]
        self.server = started(self.port, ["tests.browser.fast_clock", *words])

    def kill(self):
        self.server.kill()
        self.server.wait(60)


@pytest.fixture
def day(tmp_path):
    made = Day(tmp_path)
    made.start()
    yield made
    made.kill()


def note(page, volts, amps="9", **more):
    page.get_by_label("Current").first.fill(amps)
    page.get_by_label("Voltage").first.fill(volts)
    fold = page.locator("form.note details")
    if more and fold.get_attribute("open") is None:
        fold.locator("summary").click()
    for label, value in more.items():
        page.get_by_label(label, exact=True).fill(value)
    with page.expect_navigation():
        page.get_by_role("button", name="Note the reading").click()


def new_battery(page, address):
    page.goto(address + "/batteries/new")
    page.get_by_label("Name").fill("Cabin")
    page.get_by_label("Rated capacity").fill("105")
    page.get_by_role("button", name="Add battery").click()


def test_a_whole_day_survives_everything_and_gives_the_typed_result(browser, day):
    watch = Watch(day.address)
    page = watch.over(browser.new_context(viewport=PHONE, timezone_id="UTC").new_page())
    new_battery(page, day.address)
    page.get_by_role("link", name="Start a test now").click()
    page.get_by_label("Full, then rested an hour").check()
    page.get_by_role("button", name="The load is on: start").click()
    run = page.url
    # Four readings, a reload between them.
    for hour in range(4):
        day.set(hour)
        page.goto(run)
        note(page, f"{13.2 - hour / 20:.2f}")
    page.reload()
    expect(page.locator(".headline")).to_contain_text("27.0 Ah so far")
    # The server is killed and started again.
    day.kill()
    day.set(4)
    day.start()
    page.goto(run)
    # The page looks for news every 15 s; where the server was away just then, the browser says so.
    assert [one for one in watch.complaints if not AWAY.search(one)] == []
    watch.complaints.clear()
    note(page, "13.00")
    # A second device notes the next two while the first page stays open.
    other = watch.over(browser.new_context(viewport=PHONE).new_page())
    for hour in (5, 6):
        day.set(hour)
        other.goto(run)
        note(other, f"{13.2 - hour / 20:.2f}")
    # One is misread and corrected, one was forgotten and comes late.
    day.set(7)
    page.goto(run)
    note(page, "12.85", amps="90")
    page.locator("table.readings tbody tr").first.get_by_text("Change").click()
    page.locator("table.readings tbody tr").first.get_by_label("Current in A").fill("9")
    page.locator("table.readings tbody tr").first.get_by_role("button", name="Correct").click()
    day.set(9)
    page.goto(run)
    note(page, "12.75")
    late = (START + timedelta(hours=8)).astimezone().strftime("%H:%M")
    note(page, "12.80", Time=late)
    expect(page.locator(".headline")).to_contain_text("81.0 Ah so far")
    expect(page.locator("table.readings tbody tr")).to_have_count(10)
    # The end.
    day.set(9.7)
    page.goto(run)
    note(page, "10.40")
    page.get_by_label("The battery switched itself off").check()
    page.get_by_role("button", name="End and see the result").click()
    expect(page.locator(".headline")).to_contain_text("Measured 87.5 Ah ±")
    assert watch.complaints == []

    # The same readings typed in afterwards give the same.
    running = httpx2.get(day.address + "/api/discharges/1").json()
    volts = [f"{13.2 - h / 20:.2f}" for h in range(10)]
    values = {
        "day": (START - timedelta(days=30)).astimezone().strftime("%Y-%m-%d"),
        "start_time": (START - timedelta(days=30)).astimezone().strftime("%H:%M"),
        "charge_condition": "full_rested",
        "end_reason": "protection",
        "meter": "1",
        "action": "store",
        "rows": "12",
    }
    for i, (span, volt) in enumerate(
        zip([*(f"{h}:00" for h in range(10)), "9:42"], [*volts, "10.40"], strict=True)
    ):
        values |= {f"time_{i}": span, f"current_{i}": "9", f"voltage_{i}": volt}
    response = httpx2.post(day.address + "/batteries/1/discharges", data=values)
    assert response.status_code == 303
    typed = httpx2.get(day.address + response.headers["location"].replace("/d", "/api/d")).json()
    for field in ("kind", "capacity_ah", "expanded_ah", "delivered_wh", "duration_h"):
        assert running[field] == pytest.approx(typed[field]) if field != "kind" else True
    assert running["kind"] == typed["kind"] == "measured"


def test_a_reading_typed_while_the_server_was_away_is_offered_until_it_is_stored(browser, day):
    page = browser.new_context(viewport=PHONE, timezone_id="UTC").new_page()
    new_battery(page, day.address)
    page.goto(day.address + "/batteries/1/runs/new")
    page.get_by_label("Full, then rested an hour").check()
    page.get_by_role("button", name="The load is on: start").click()
    run = page.url
    note(page, "13.2")
    day.kill()
    with pytest.raises(Error, match="ERR_CONNECTION_REFUSED"):
        note(page, "13.07", amps="8.76")
    day.start()
    page.goto(run)
    page.get_by_role("button", name="Put it in").click()
    expect(page.get_by_label("Current").first).to_have_value("8.76")
    expect(page.get_by_label("Voltage").first).to_have_value("13.07")
    with page.expect_navigation():
        page.get_by_role("button", name="Note the reading").click()
    expect(page.locator("table.readings")).to_contain_text("8.76 A")
    page.reload()
    expect(page.get_by_role("button", name="Put it in")).to_have_count(0)


def test_the_countdown_follows_the_server_s_clock_and_the_day_works_without_scripts(browser, day):
    page = browser.new_context(viewport=PHONE).new_page()
    new_battery(page, day.address)
    page.goto(day.address + "/batteries/1/runs/new")
    page.get_by_label("Full, not rested").check()
    page.get_by_role("button", name="The load is on: start").click()
    note(page, "13.2")
    expect(page.locator("[data-countdown]")).to_contain_text("in 59:")
    run = page.url
    plain = browser.new_context(viewport=PHONE, java_script_enabled=False).new_page()
    day.set(1)
    plain.goto(run)
    note(plain, "13.1")
    expect(plain.locator(".headline")).to_contain_text("9.0 Ah so far")
    # The first page has seen nothing yet; it looks by itself and brings itself up to date.
    expect(page.locator(".headline")).to_contain_text("9.0 Ah so far", timeout=30_000)
    # Ten times the current is stored as it stands and asked about; one press makes it 9 A.
    day.set(2)
    plain.goto(run)
    note(plain, "13.05", amps="90")
    expect(plain.locator(".headline")).to_contain_text("58.5 Ah so far")
    plain.get_by_role("button", name="Change it to 9 A").click()
    expect(plain.locator(".headline")).to_contain_text("18.0 Ah so far")
    expect(plain.get_by_role("button", name="Keep it as entered")).to_have_count(0)
