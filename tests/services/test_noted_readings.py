"""The columns kept of a running test against those read anew."""

import contextlib
from dataclasses import fields
from datetime import timedelta

import numpy as np
import pytest

from app.analysis.counting.run_columns import RunColumns
from app.domain.entities.discharge import ChargeCondition
from app.domain.entities.meter import MeterKind
from app.domain.entities.run import ReadingGiven, RunDetails
from app.services import noted_readings
from app.services.entities import batteries, runs
from app.storage.database.engine import read_session, write_transaction
from app.storage.repositories import runs as stored
from tests.builders import NOW, battery_details

START = NOW - timedelta(hours=10)


@pytest.fixture
def read(monkeypatch):
    """How many rows each reading of columns brought."""
    counts = []

    def counted(rows):
        counts.append(len(rows))
        return columns(rows)

    columns = noted_readings._columns
    monkeypatch.setattr(noted_readings, "_columns", counted)
    return counts


def started(store):
    battery = batteries.add_battery(store, battery_details())
    details = RunDetails(START, 60, ChargeCondition.FULL_RESTED, 0)
    return runs.start_run(store, battery.id, details, MeterKind.SHUNT, START)


@pytest.fixture
def run(store):
    return started(store)


def note(store, run, *minutes, **more):
    for minute in minutes:
        given = ReadingGiven(START + timedelta(minutes=minute), 9.0, 13.0, **more)
        runs.note_reading(store, run.id, given, NOW)


def same_as_anew(store, *of_runs):
    """How many readings these runs have together."""
    with read_session(store.engine) as session:
        kept = store.noted.columns(session, of_runs)
        anew = {run.id: RunColumns.of(stored.readings(session, run.id)) for run in of_runs}
    assert kept.keys() == anew.keys()
    for run_id, columns in anew.items():
        for one in fields(RunColumns):
            np.testing.assert_array_equal(
                getattr(kept[run_id], one.name), getattr(columns, one.name)
            )
    return sum(map(len, kept.values()))


def test_only_what_came_since_is_read_again(store, run, read):
    note(store, run, 10, 20, 30)
    assert same_as_anew(store, run) == 3
    note(store, run, 40, temperature_c=25.0)
    # One that was noted later, of before.
    note(store, run, 15, counted_ah=2.0)
    assert same_as_anew(store, run) == 5
    assert read == [3, 2]


def test_of_several_runs_each_gets_its_own(store, run, read):
    ahead, quiet, new = (started(store) for _ in range(3))
    note(store, run, 10)
    note(store, quiet, 10, 20)
    note(store, ahead, 10, 20, 30)
    assert same_as_anew(store, run, quiet, ahead, new) == 6
    read.clear()
    note(store, run, 20)
    note(store, new, 10)
    note(store, ahead, 40, 35)
    assert same_as_anew(store, run, quiet, ahead, new) == 10
    assert sorted(read) == [1, 1, 2], "what was known is not read again"


def test_an_edit_of_any_reading_is_seen(store, run):
    note(store, run, 10, 20, 30)
    same_as_anew(store, run)
    first = runs.show_run(store, run.id, NOW).readings[0]
    runs.strike_reading(store, run.id, first.id, "misread", NOW)
    same_as_anew(store, run)
    moved = ReadingGiven(START + timedelta(minutes=35), 12.0, None)
    runs.correct_reading(store, run.id, first.id, moved, NOW)
    same_as_anew(store, run)
    runs.strike_reading(store, run.id, first.id, "", NOW)
    same_as_anew(store, run)
    assert runs.show_run(store, run.id, NOW).readings[-1].given == moved


def test_what_was_rolled_back_is_not_kept(store, run):
    note(store, run, 10)
    same_as_anew(store, run)
    with contextlib.suppress(RuntimeError), write_transaction(store.engine) as session:
        stored.add_readings(session, run.id, [ReadingGiven(NOW, 1.0)], "page")
        raise RuntimeError
    note(store, run, 20)
    assert same_as_anew(store, run) == 2


def test_a_long_run_lists_its_newest_and_tells_of_all(store, run):
    count = 250
    note(store, run, 0, counted_ah=1.0)
    word = runs.open_feed(store, run.id)
    given = [ReadingGiven(START + timedelta(minutes=1 + n), 9.0) for n in range(count)]
    runs.feed_readings(store, run.id, word, given, NOW)
    view = runs.show_run(store, run.id, NOW)
    assert (view.count, len(view.report.hours), view.counters) == (count + 1, count + 1, True)
    assert [one.given for one in view.readings] == given[-200:]
    assert view.last == view.readings[-1]
