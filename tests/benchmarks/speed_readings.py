"""Readings: one that is stored, a file of a million, a result by their number."""

import importlib.util
import io
import json
import math
import sqlite3
import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np

from app.analysis.evidence.result import analyse
from app.domain.entities.discharge import ChargeCondition
from app.domain.entities.meter import MeterKind
from app.domain.entities.run import RunDetails
from app.ingest.reader import read_file
from app.server.application import create_app
from app.services.entities import runs
from app.settings import Settings
from tests.benchmarks.grown import grow_battery
from tests.benchmarks.served import Visitor, serving
from tests.benchmarks.speed_row import Row, compared, growing, in_turns
from tests.builders import steady

ROWS = 1_000_000
SIZES = (12, 120, 1_200, 12_000, 120_000, 1_000_000)


def make_file(rows: int) -> bytes:
    """A plain file of a logger: seconds, volts, amps, °C."""
    text = io.StringIO()
    text.write("time_s,voltage_v,current_a,temperature_c\n")
    for i in range(rows):
        volts = 13.2 - 1.2 * i / rows
        text.write(f"{i},{volts:.3f},{-9 - 0.05 * math.sin(i / 50):.3f},{24 + i % 7 / 10:.1f}\n")
    return text.getvalue().encode()


def reading_rows() -> Iterator[Row]:
    yield stored()
    data = make_file(ROWS)
    for name, read in general_readers(data).items():
        ours, its = in_turns(lambda: read_file(data), read, rounds=3)
        yield compared(f"file of {ROWS:,} rows, {len(data) / 1e6:.0f} MB, read", ours, name, its)
    costs = []
    for size in SIZES:
        readings = steady(hours=10, step_h=10 / (size - 1))
        costs.append(in_turns(lambda readings=readings: analyse(readings, rated_ah=100.0))[0])
    yield growing("result of a test, by readings", SIZES, costs, "1 or below")


def general_readers(data: bytes) -> dict[str, Callable[[], object]]:
    """General readers of CSV that are here; they only make columns of numbers."""
    found: dict[str, Callable[[], object]] = {}
    if importlib.util.find_spec("pyarrow") is not None:
        from pyarrow import csv

        found["pyarrow"] = lambda: csv.read_csv(io.BytesIO(data))
    found["numpy.loadtxt"] = lambda: np.loadtxt(io.BytesIO(data), delimiter=",", skiprows=1)
    return found


def stored() -> Row:
    """One reading by the feed of a running test, beside one row of it that SQLite commits."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        store = create_app(Settings(data_dir=folder)).state.store
        start = datetime.now(UTC) - timedelta(hours=1)
        details = RunDetails(start, 0, ChargeCondition.FULL_RESTED, 0)
        run = runs.start_run(store, grow_battery(store, 1), details, MeterKind.SHUNT, start)
        word = runs.open_feed(store, run.id)
        store.engine.dispose()
        with (
            serving(folder) as served,
            closing(Visitor(served.address)) as visitor,
            closing(sqlite3.connect(folder / "bare.db", isolation_level=None)) as bare,
        ):
            bare.execute("PRAGMA journal_mode=WAL")
            bare.execute("PRAGMA synchronous=FULL")
            bare.execute("CREATE TABLE reading (at TEXT, current_a REAL, voltage_v REAL)")
            moments = (start + timedelta(seconds=one) for one in range(100_000))

            def feed() -> None:
                reading = {"at": next(moments).isoformat(), "current_a": 9.0, "voltage_v": 13.0}
                visitor.post(
                    f"/api/runs/{run.id}/readings",
                    json.dumps({"readings": [reading]}).encode(),
                    f"Authorization: Bearer {word}",
                    "Content-Type: application/json",
                )

            def commit() -> None:
                row = (next(moments).isoformat(), 9.0, 13.0)
                bare.execute("INSERT INTO reading VALUES (?, ?, ?)", row)

            ours, its = in_turns(feed, commit, rounds=200)
    return compared("one reading stored, through the server", ours, "bare SQLite commit", its)
