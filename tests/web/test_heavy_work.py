"""Heavy work is done by few at a time; who waits holds nobody up. Events, no clock."""

import threading
from concurrent.futures import ThreadPoolExecutor

import pytest

from app.domain.errors import InvalidInput
from app.services.entities import photos
from app.web.security import heavy_work
from tests.builders import form_rows
from tests.conftest import here
from tests.pictures import PHOTO
from tests.web.conftest import soup

pytestmark = pytest.mark.any_database

PLACE = "/discharges/5/photos"
# Longer than anything here takes: what never comes fails a test instead of stopping it.
PATIENCE_S = 60


class Work:
    """What stands for the heavy part: it begins, is counted, and ends when it is let go."""

    def __init__(self):
        self.arrived, self.begun = threading.Semaphore(0), threading.Semaphore(0)
        self.go, self._lock = threading.Event(), threading.Lock()
        self.running = self.most = self.times = 0

    def __call__(self, *_, **__):
        with self._lock:
            self.times, self.running = self.times + 1, self.running + 1
            self.most = max(self.most, self.running)
        self.begun.release()
        assert self.go.wait(PATIENCE_S)
        with self._lock:
            self.running -= 1


def all_of(semaphore, count):
    assert all(semaphore.acquire(timeout=PATIENCE_S) for _ in range(count))


@pytest.fixture
def work(monkeypatch):
    made = Work()
    monkeypatch.setattr(photos, "add_photos", made)
    taken = heavy_work._turn_taken

    async def arriving():
        made.arrived.release()
        return await taken()

    monkeypatch.setattr(heavy_work, "_turn_taken", arriving)
    yield made
    made.go.set()


@pytest.fixture
def browsers(app, tested, work):
    """Many on one server, and threads for each to wait in."""
    with here(app) as browser, ThreadPoolExecutor(50) as pool:
        yield browser, pool
        work.go.set()


def send(browser):
    files = {"photos": ("a.jpg", PHOTO, "image/jpeg")}
    return browser.post(PLACE, files=files, follow_redirects=False)


def test_two_at_a_time_and_everybody_in_the_end(browsers, work):
    browser, pool = browsers
    sent = [pool.submit(send, browser) for _ in range(8)]
    all_of(work.arrived, 8)
    all_of(work.begun, 2)
    assert not work.begun.acquire(blocking=False)
    work.go.set()
    assert {one.result(PATIENCE_S).status_code for one in sent} == {303}
    assert (work.times, work.most) == (8, heavy_work.MAX_AT_ONCE)


def test_forty_that_wait_stop_neither_health_nor_a_light_page(browsers, work):
    """Forty is how many threads answer requests."""
    browser, pool = browsers
    sent = [pool.submit(send, browser) for _ in range(42)]
    all_of(work.arrived, 42)
    all_of(work.begun, 2)
    for path in ("/health", "/", "/discharges/5"):
        assert pool.submit(browser.get, path).result(PATIENCE_S).status_code == 200
    # A small form goes through the same route as a long table and waits for nobody.
    rows = form_rows([("0", "9", "13"), ("10:00", "9", "10")])
    form = {"action": "preview", **rows}
    typed = pool.submit(browser.post, "/batteries/1/discharges", data=form).result(PATIENCE_S)
    assert typed.status_code in (200, 422)
    assert not any(one.done() for one in sent)
    work.go.set()
    assert {one.result(PATIENCE_S).status_code for one in sent} == {303}
    assert work.most == heavy_work.MAX_AT_ONCE


def test_who_has_waited_too_long_is_told_what_to_do(browsers, work, monkeypatch):
    browser, pool = browsers
    first = [pool.submit(send, browser) for _ in range(2)]
    all_of(work.begun, 2)
    monkeypatch.setattr(heavy_work, "MAX_WAIT_S", 0.0)
    late = send(browser)
    assert late.status_code == 503
    assert late.headers["Retry-After"].isdecimal()
    said = soup(late).text
    assert "Nothing was stored. Wait a minute, then reload this page" in said
    german = browser.post(
        PLACE, files={"photos": ("a.jpg", PHOTO)}, headers={"Accept-Language": "de"}
    )
    assert german.status_code == 503
    assert "Nichts wurde gespeichert." in soup(german).text
    work.go.set()
    assert {one.result(PATIENCE_S).status_code for one in first} == {303}
    assert work.times == 2


def test_a_turn_is_given_back_whatever_went_wrong(app, tested, monkeypatch):
    def refuse(*_):
        raise InvalidInput.because("photos", "x", "y")

    def break_down(*_):
        raise RuntimeError

    with here(app) as browser:
        for way in (refuse, refuse, refuse, break_down, break_down, break_down):
            monkeypatch.setattr(photos, "add_photos", way)
            assert send(browser).status_code == (422 if way is refuse else 500)
        monkeypatch.undo()
        assert send(browser).status_code == 303


@pytest.mark.parametrize("rows", [10, 40_000])
def test_a_table_waits_where_it_is_long(app, tested, monkeypatch, rows):
    """As a file, and as what waits for its preview; each row has 20 bytes or so."""
    turns = []
    taken = heavy_work._turn_taken

    async def noted():
        turns.append(1)
        return await taken()

    monkeypatch.setattr(heavy_work, "_turn_taken", noted)
    lines = "".join(f"{60 * number},9.123,13.2\n" for number in range(rows))
    log = "time_s,current_a,voltage_v\n" + lines
    assert (len(log) > heavy_work.MAX_LIGHT_BYTES) is (rows > 10)
    with here(app) as browser:
        first = browser.post(
            "/batteries/1/discharges", data={"action": "preview"}, files={"file": ("a.csv", log)}
        )
        staged = soup(first).select_one("input[name=staged]")["value"]
        browser.post("/batteries/1/discharges", data={"action": "preview", "staged": staged})
        browser.post("/batteries/1/discharges", data={"action": "preview", "pasted": log})
    assert len(turns) == (3 if rows > 10 else 0)


def test_a_file_that_somebody_sent_waits_its_turn(app, monkeypatch):
    turns = []
    taken = heavy_work._turn_taken

    async def noted():
        turns.append(1)
        return await taken()

    monkeypatch.setattr(heavy_work, "_turn_taken", noted)
    with here(app) as browser:
        browser.post("/received", files={"file": ("a.html", b"x")})
    assert len(turns) == 1
