"""What was acknowledged is there after SIGKILL, and nothing is there by half.

KILLS=50 WRITES=1000 python -m pytest tests/test_killed_server.py searches longer than every day.
"""

import os
import random
import signal
import sys
import threading
import time
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

import httpx2
import pytest
from sqlalchemy import text

from app.domain.entities.discharge import ChargeCondition
from app.domain.entities.meter import MeterKind
from app.domain.entities.run import RunDetails
from app.server.application import create_app
from app.services.backups.data_check import check_file
from app.services.entities import batteries, runs
from app.settings import MIGRATIONS, Settings
from app.storage.database.engine import read_session
from app.storage.schema.packing import unpack_readings
from tests.builders import battery_details, form_rows
from tests.live_server import free_port, serve_on, started
from tests.postgres import environment_of, opened

KILLS, WRITES = int(os.environ.get("KILLS", "2")), int(os.environ.get("WRITES", "150"))
BATTERY = {
    "chemistry": "lfp",
    "nominal_v": "12.8",
    "rated_ah": "100",
    "rated_temperature_c": "25",
    "reserve_percent": "0",
    "end_of_life_percent": "80",
    "test_interval_days": "91",
}
TEST = {
    "day": "2026-06-01",
    "start_time": "08:30",
    "charge_condition": "full_rested",
    "end_reason": "protection",
    "meter": "shunt",
    "action": "store",
}
ROWS = [(f"{hour}:00", "9", f"{13.2 - hour * 0.1:.1f}", 22, 100 - 9 * hour) for hour in range(9)]


@dataclass
class Acknowledged:
    """What the server has said it stored: kinds of things, each by a name that no other has."""

    tests: set[str] = field(default_factory=set)
    batteries: set[str] = field(default_factory=set)
    readings: set[float] = field(default_factory=set)
    edits: int = 0

    @property
    def count(self) -> int:
        return len(self.tests) + len(self.batteries) + len(self.readings) + self.edits


class Owner:
    """Three pairs of hands that write at once, until the server is gone."""

    def __init__(self, address: str, run: int, word: str, known: Acknowledged) -> None:
        self._address, self._known = address, known
        self._feed = f"{address}/api/runs/{run}/readings"
        self._word = {"Authorization": f"Bearer {word}"}

    def write(self, most: int) -> None:
        hands = [
            threading.Thread(target=self._while_it_stands, args=(one, most))
            for one in (self._battery_and_test, self._edit, self._reading)
        ]
        for one in hands:
            one.start()
        for one in hands:
            one.join()

    def _while_it_stands(self, write, most: int) -> None:
        goal = self._known.count + most
        with httpx2.Client(timeout=10) as client:
            while self._known.count < goal:
                try:
                    write(client)
                except httpx2.TransportError:
                    return

    def _battery_and_test(self, client: httpx2.Client) -> None:
        name = f"battery {random.random()}"
        place = self._posted(client, "/batteries", BATTERY | {"name": name})
        self._known.batteries.add(name)
        load = f"lamp {random.random()}"
        self._posted(client, f"{place}/discharges", TEST | {"load": load} | form_rows(ROWS))
        self._known.tests.add(load)

    def _edit(self, client: httpx2.Client) -> None:
        following = str(self._known.edits + 1)
        values = BATTERY | {"name": "edited", "notes": following}
        self._posted(client, "/batteries/1", values)
        self._known.edits += 1

    def _reading(self, client: httpx2.Client) -> None:
        amps = round(random.uniform(1, 50), 9)
        at = datetime.now(UTC).isoformat()
        body = {"readings": [{"at": at, "current_a": amps, "voltage_v": 13.0}]}
        answer = client.post(self._feed, json=body, headers=self._word)
        assert answer.status_code == 200, answer.text
        if answer.json()["stored"] == 1:
            self._known.readings.add(amps)

    def _posted(self, client: httpx2.Client, path: str, values: dict[str, str]) -> str:
        """Send a form; returns the path that the answer leads to."""
        answer = client.post(self._address + path, data=values)
        assert answer.status_code == 303, answer.text
        return answer.headers["location"].partition("?")[0]


@pytest.fixture
def grown(tmp_path):
    """A data folder with a battery and a running test, and the word of its feed."""
    store = create_app(Settings(data_dir=tmp_path)).state.store
    battery = batteries.add_battery(store, battery_details(name="edited"))
    start = datetime.now(UTC) - timedelta(hours=1)
    details = RunDetails(start, 0, ChargeCondition.FULL_RESTED, 0)
    run = runs.start_run(store, battery.id, details, MeterKind.SHUNT, start)
    word = runs.open_feed(store, run.id)
    store.engine.dispose()
    return tmp_path, run.id, word


@pytest.mark.skipif(sys.platform == "win32", reason="SIGKILL is a POSIX signal")
def test_every_acknowledged_write_survives_a_killed_server(grown):
    folder, run, word = grown
    known = Acknowledged()
    for kill in range(KILLS):
        port = free_port()
        server = started(port, serve_on(port), env=environment_of(folder))
        owner = Owner(f"http://127.0.0.1:{port}", run, word, known)
        writing = threading.Thread(target=owner.write, args=(WRITES,))
        before = known.count
        writing.start()
        wanted = before + random.randrange(WRITES)
        while writing.is_alive() and known.count < wanted:
            time.sleep(0.001)
        server.send_signal(signal.SIGKILL)
        server.wait(60)
        writing.join(30)
        assert not writing.is_alive()
        print(f"kill {kill + 1}: {known.count - before} writes, {known.count} in all")
        everything_is_there(folder, known)
    assert known.tests
    assert known.edits
    assert known.readings


def everything_is_there(folder, known: Acknowledged) -> None:
    store = opened(folder)
    if not store.on_server:
        assert check_file(folder / "fadeline.db", MIGRATIONS).damages == ()
    with read_session(store.engine) as session:
        stored = dict(session.execute(text("SELECT load, readings FROM discharge")).all())
        assert known.tests <= set(stored)
        lengths = {len(unpack_readings(packed)) for packed in stored.values()}
        assert lengths <= {len(ROWS)}, "half a test"
        named = session.execute(text("SELECT name FROM battery")).scalars()
        assert known.batteries <= set(named)
        read = session.execute(text("SELECT current_a FROM run_reading")).scalars()
        assert known.readings <= set(read)
        notes = session.execute(text("SELECT notes FROM battery WHERE id = 1")).scalar_one()
    store.engine.dispose()
    # Of the edit that was under way, the answer alone may be lost.
    assert int(notes) in (known.edits, known.edits + 1)
    known.edits = int(notes)
