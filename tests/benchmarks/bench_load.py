"""A club's records under load: 2,000 batteries of 40 tests, eight people at once for a minute.

Run by hand: python -m tests.benchmarks.bench_load [batteries] [seconds] [processes]
Each looks at the list, a battery, a shared page and feeds a running test, all of them by chance.
Half of the looks go to twenty batteries that everybody talks about. The list was worked out before
the server starts, as it is on any day but that of an update. The people are shared out among that
many server processes. The last lines are the size of the file and the most memory that the first of
them took. On PostgreSQL:
bash .ci/with-postgresql .venv/bin/python -m tests.benchmarks.bench_load
"""

import contextlib
import random
import statistics
import sys
import tempfile
import threading
import time
from collections import defaultdict
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import httpx2

from app.domain.entities.discharge import ChargeCondition
from app.domain.entities.meter import MeterKind
from app.domain.entities.run import RunDetails
from app.domain.local_clock import day_here
from app.server.application import create_app
from app.services.access import shares
from app.services.entities import batteries, runs
from app.services.entities.list_filling import fill_list
from app.services.store import Store
from app.settings import Settings
from app.web.pages.battery_list import CARDS
from tests.benchmarks.grown import grow_battery, grow_copies
from tests.benchmarks.served import serving
from tests.builders import NOW
from tests.postgres import SERVER, databases, let_folders_stand_for_databases

PEOPLE, TESTS, TALKED_ABOUT, SHARED = 8, 40, 20, 50


def links(store: Store) -> list[str]:
    return [
        shares.share_battery(store, number, "", None, NOW).token for number in range(1, SHARED + 1)
    ]


def feeds(store: Store) -> list[tuple[int, str]]:
    """A running test and the word of its feed for each of the people."""
    made = []
    for number in range(1, PEOPLE + 1):
        start = datetime.now(UTC) - timedelta(hours=1)
        details = RunDetails(start, 0, ChargeCondition.FULL_RESTED, 0)
        run = runs.start_run(store, number, details, MeterKind.SHUNT, start)
        made.append((run.id, runs.open_feed(store, run.id)))
    return made


def fill(store: Store) -> None:
    """What the server does beside its pages after a change of the method, at once."""
    fill_list(store, day_here(datetime.now(UTC)), CARDS, lambda _: False, lambda *_: None)


class Person(threading.Thread):
    """Asks for one thing after the other until the time is over; notes how long each took."""

    def __init__(self, address: str, until: float, count: int, tokens: list[str], feed: Any):
        super().__init__()
        self._address, self._until, self._count = address, until, count
        self._tokens, (self._run, self._word) = tokens, feed
        self.taken: dict[str, list[float]] = defaultdict(list)
        self.faults: list[str] = []

    def run(self) -> None:
        kinds = (self._list, self._battery, self._shared, self._feed)
        with httpx2.Client(timeout=120) as client:
            while time.monotonic() < self._until:
                ask = random.choice(kinds)
                began = time.perf_counter()
                answer = ask(client)
                self.taken[ask.__name__.strip("_")].append(1000 * (time.perf_counter() - began))
                if answer.status_code != 200:
                    self.faults.append(f"{answer.status_code} {answer.url}")

    def _anyone(self) -> int:
        talked_about = random.random() < 0.5
        return random.randint(1, min(TALKED_ABOUT, self._count) if talked_about else self._count)

    def _list(self, client: httpx2.Client) -> httpx2.Response:
        first = (self._anyone() - 1) // batteries.A_PAGE * batteries.A_PAGE
        return client.get(f"{self._address}/?first={first}")

    def _battery(self, client: httpx2.Client) -> httpx2.Response:
        return client.get(f"{self._address}/batteries/{self._anyone()}")

    def _shared(self, client: httpx2.Client) -> httpx2.Response:
        return client.get(f"{self._address}/shared/{random.choice(self._tokens)}")

    def _feed(self, client: httpx2.Client) -> httpx2.Response:
        reading = {"at": datetime.now(UTC).isoformat(), "current_a": 9.0, "voltage_v": 13.0}
        return client.post(
            f"{self._address}/api/runs/{self._run}/readings",
            json={"readings": [reading]},
            headers={"Authorization": f"Bearer {self._word}"},
        )


def told(people: list[Person], seconds: float) -> None:
    together: dict[str, list[float]] = defaultdict(list)
    for person in people:
        for kind, taken in person.taken.items():
            together[kind] += taken
    print(f"{'':8} {'requests':>9} {'median ms':>10} {'99 % ms':>9}")
    for kind, taken in sorted(together.items()):
        worst = statistics.quantiles(taken, n=100)[-1]
        print(f"{kind:8} {len(taken):9} {statistics.median(taken):10.0f} {worst:9.0f}")
    total = sum(map(len, together.values()))
    print(f"in all   {total:9}, {total / seconds:.0f} a second")
    faults = [fault for person in people for fault in person.faults]
    print(f"errors   {len(faults):9} {' '.join(faults[:5])}")


def main(count: int = 2000, seconds: float = 60.0, processes: int = 1) -> None:
    if SERVER:
        let_folders_stand_for_databases()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        store = create_app(Settings(data_dir=folder)).state.store
        _timed("growing", lambda: (grow_battery(store, TESTS), grow_copies(store, count)))
        tokens, fed = links(store), feeds(store)
        _timed("working out the list", lambda: fill(store))
        store.engine.dispose()
        with contextlib.ExitStack() as at_last:
            servers = [at_last.enter_context(serving(folder)) for _ in range(processes)]
            served = servers[0]
            print(f"start to the first page {served.start_s:.2f} s")
            for first in (count // 2, count // 4):
                began = time.perf_counter()
                httpx2.get(f"{served.address}/batteries?first={first}").raise_for_status()
                print(f"a page of the list after that {time.perf_counter() - began:.3f} s")
            until = time.monotonic() + seconds
            people = [
                Person(servers[number % processes].address, until, count, tokens, one)
                for number, one in enumerate(fed)
            ]
            for person in people:
                person.start()
            for person in people:
                person.join()
            told(people, seconds)
            print(f"server's most memory {served.memory_mb('VmHWM'):.0f} MB")
            if not store.on_server:
                print(f"data file {(folder / 'fadeline.db').stat().st_size / 1e6:.0f} MB")
    databases.drop_all()


def _timed(what: str, do: Callable[[], object]) -> None:
    began = time.perf_counter()
    do()
    print(f"{what} {time.perf_counter() - began:.1f} s")


if __name__ == "__main__":
    given = [kind(one) for kind, one in zip((int, float, int), sys.argv[1:], strict=False)]
    main(*given)
