"""What grows: batteries, tests, readings, a running test, and memory after mixed requests.

Times are the server's own user and system seconds of one request, the smallest of several, in this
process: what else the machine does counts little. Each stands beside a page without computing.
"""

import resource
import tempfile
import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

from fastapi import FastAPI
from fastapi.testclient import TestClient

from app.domain.entities.discharge import ChargeCondition
from app.domain.entities.meter import MeterKind
from app.domain.entities.run import ReadingGiven, RunDetails
from app.server.application import create_app
from app.services.entities import discharges, runs
from app.services.store import Store
from app.settings import Settings
from tests.benchmarks.grown import grow_battery, grow_copies
from tests.benchmarks.speed_row import Row, growing, ms
from tests.builders import NOW, discharge_details, steady

BATTERIES = (10, 100, 1_000, 10_000)
TESTS = (10, 100, 1_000, 5_000)
READINGS = (1_000, 10_000, 100_000, 1_000_000)
NOTED = (1_400, 14_000, 140_000)
MIXED = 20_000
PLAIN = "/help"
ROUNDS = 5


class Opened:
    """An application in this process, and what a page of it costs."""

    def __init__(self, folder: Path) -> None:
        self.app: FastAPI = create_app(Settings(data_dir=folder))
        self.store: Store = self.app.state.store
        here = ("127.0.0.1", 5000)
        self._client = TestClient(self.app, base_url="http://127.0.0.1", client=here)
        self._asked = 0

    def get(self, path: str) -> None:
        """Ask at an address that is new: no page that was kept is sent. Raises RuntimeError."""
        self._asked += 1
        answer = self._client.get(f"{path}?n={self._asked}")
        if answer.status_code != 200:
            raise RuntimeError(f"{answer.status_code} for {path}")

    def cost_s(self, path: str) -> float:
        """Processor seconds of a page that was made before."""
        self.get(path)
        return min(self._once(path) for _ in range(ROUNDS))

    def _once(self, path: str) -> float:
        began = time.process_time()
        self.get(path)
        return time.process_time() - began


def growth_rows() -> Iterator[Row]:
    yield from _by_batteries()
    yield from _by_tests()
    yield from _by_readings()
    yield from _by_noted()
    yield _memory()


def _beside_plain(what: str, opened: Opened, cost: float, aim: str) -> Row:
    plain = opened.cost_s(PLAIN)
    return Row(what, ms(cost), f"page without computing {ms(plain)}", f"{cost / plain:.1f}", aim)


def _by_batteries() -> Iterator[Row]:
    costs = []
    for count in BATTERIES:
        with tempfile.TemporaryDirectory() as name:
            opened = Opened(Path(name))
            grow_battery(opened.store, 4)
            grow_copies(opened.store, count)
            costs.append(opened.cost_s("/"))
            last = _beside_plain(f"list of {count:,}", opened, costs[-1], "at most 3")
            opened.store.engine.dispose()
    yield growing("list, by batteries", BATTERIES, costs, "1 or below")
    yield last


def _by_tests() -> Iterator[Row]:
    costs, in_full = [], []
    for count in TESTS:
        with tempfile.TemporaryDirectory() as name:
            opened = Opened(Path(name))
            grow_battery(opened.store, count)
            costs.append(opened.cost_s("/batteries/1"))
            in_full.append(opened.cost_s("/batteries/1/tests"))
            opened.store.engine.dispose()
    yield growing("battery's page, by tests", TESTS, costs, "1 or below")
    yield growing("all tests in full", TESTS, in_full, "1 or below")


def _by_readings() -> Iterator[Row]:
    costs = []
    for count in READINGS:
        with tempfile.TemporaryDirectory() as name:
            opened = Opened(Path(name))
            battery = grow_battery(opened.store, 1)
            details = discharge_details(steady(hours=11, step_h=11 / (count - 1)), days_ago=3)
            test = discharges.add_discharge(opened.store, battery, details, MeterKind.SHUNT, NOW)
            costs.append(opened.cost_s(f"/discharges/{test.id}"))
            opened.store.engine.dispose()
    yield growing("page of a test, by readings", READINGS, costs, "1 or below; under 500 ms")


def _by_noted() -> Iterator[Row]:
    costs, first = [], []
    for count in NOTED:
        with tempfile.TemporaryDirectory() as name:
            opened = Opened(Path(name))
            run_id = _running(opened.store, count)
            began = time.process_time()
            opened.get(f"/runs/{run_id}")
            first.append(time.process_time() - began)
            costs.append(opened.cost_s(f"/runs/{run_id}"))
            opened.store.engine.dispose()
    yield growing("page of a running test, by readings", NOTED, costs, "1 or below")
    yield growing("the same, the first after a start", NOTED, first, "1 or below")


def _running(store: Store, count: int) -> int:
    """A running test with that many readings, one a second until now."""
    start = datetime.now(UTC) - timedelta(seconds=count)
    details = RunDetails(start, 0, ChargeCondition.FULL_RESTED, 0)
    run = runs.start_run(store, grow_battery(store, 3), details, MeterKind.SHUNT, start)
    word = runs.open_feed(store, run.id)
    for first in range(0, count, runs.MAX_FED):
        given = [
            ReadingGiven(start + timedelta(seconds=one), 9.0, 13.2 - one / count)
            for one in range(first, min(count, first + runs.MAX_FED))
        ]
        runs.feed_readings(store, run.id, word, given, datetime.now(UTC))
    return run.id


def _memory() -> Row:
    """Every page in its turn, each at an address of its own; the first tenth fills what is kept."""
    with tempfile.TemporaryDirectory() as name:
        opened = Opened(Path(name))
        grow_battery(opened.store, 40)
        grow_copies(opened.store, 50)
        run_id = _running(opened.store, 1_400)
        numbers = range(1, 51)
        paths = ["/", f"/runs/{run_id}", PLAIN, *(f"/batteries/{one}" for one in numbers)]
        paths += [f"/discharges/{one}" for one in numbers]

        def ask(count: int) -> float:
            for one in range(count):
                opened.get(paths[one % len(paths)])
            return _memory_mb()

        before, after = ask(MIXED // 10), ask(MIXED)
        opened.store.engine.dispose()
    return Row(
        f"memory after {MIXED:,} more mixed requests",
        f"{after:.0f} MB",
        f"before them {before:.0f} MB",
        f"{after / before:.2f}",
        "1",
    )


def _memory_mb() -> float:
    """What this process holds now; its most where the system does not tell."""
    status = Path("/proc/self/statm")
    if status.exists():
        return int(status.read_text().split()[1]) * resource.getpagesize() / 2**20
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
