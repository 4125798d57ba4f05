"""Two processes at once on the same records: of two that want the same, the second is told."""

import contextlib
import subprocess
import sys
import threading
from datetime import UTC, datetime, timedelta

import pytest

from app.domain.entities.discharge import ChargeCondition
from app.domain.entities.meter import MeterKind
from app.domain.entities.run import RunDetails
from app.domain.entity_kind import EntityKind
from app.domain.errors import InvalidInput, StaleEdit
from app.domain.records.backup import BackupReason, backup_name
from app.services.backups import backups
from app.services.entities import batteries, discharges, history, runs
from app.storage.backup.backup_files import PART, backups_in
from tests.builders import NOW, battery_details, discharge_details
from tests.concurrency import OURS, at_once, process
from tests.postgres import environment_of, opened

UNDO = """
import sys
from pathlib import Path
from app.domain.errors import StaleEdit
from app.domain.entity_kind import EntityKind
from app.services.entities import history
from app.services.store import open_store
from app.settings import MIGRATIONS, Settings
from tests.builders import NOW

folder, test_id, number, seen = sys.argv[1:]
settings = Settings(data_dir=Path(folder))
store = open_store(Path(folder), settings.address, settings.staging, MIGRATIONS, 5000)
print("ready", flush=True)
sys.stdin.readline()
try:
    history.bring_back(store, EntityKind.DISCHARGE, int(test_id), int(number), int(seen), NOW)
    print("stored")
except StaleEdit:
    print("told")
"""


@pytest.fixture
def folder(tmp_path):
    made = tmp_path / "shared"
    made.mkdir()
    return made


@pytest.fixture
def two(folder):
    """Two processes' stores on the same records, with connections of their own."""
    stores = opened(folder, 5000), opened(folder, 5000)
    yield stores
    for store in stores:
        store.engine.dispose()


@pytest.fixture
def meeting(monkeypatch):
    """Lets a step of a use case wait for the other process to get there, if it is let there."""

    def meet_in(place):
        there, real = threading.Barrier(2), place_of(place)

        def step(*given, **named):
            with contextlib.suppress(threading.BrokenBarrierError):
                there.wait(0.5)
            return real(*given, **named)

        monkeypatch.setattr(place, step)

    return meet_in


def place_of(name):
    module, _, attribute = name.rpartition(".")
    return getattr(sys.modules[module], attribute)


def kinds_of_ends(*calls):
    """How the calls ended, all begun at once: the kind of each error, sorted by name."""
    return sorted((type(error) for error in at_once(*calls)), key=lambda kind: kind.__name__)


def edited_test(store):
    """A battery's test that was edited once: its number, and the edit's."""
    battery = batteries.add_battery(store, battery_details())
    test = discharges.add_discharge(store, battery.id, discharge_details(), MeterKind.SHUNT, NOW)
    meter = test.details.meter_id
    again = discharge_details(notes="read again")
    discharges.change_discharge(store, test.id, again, meter, NOW)
    last = history.last_edit(store, EntityKind.DISCHARGE, test.id, 1)
    return test.id, last.edit.number


def test_of_two_who_undo_the_same_edit_of_a_test_the_second_is_told(two, meeting):
    test_id, number = edited_test(two[0])
    meeting("app.services.entities.history.same")
    undo = [
        lambda store=store: history.bring_back(store, EntityKind.DISCHARGE, test_id, number, 2, NOW)
        for store in two
    ]
    assert kinds_of_ends(*undo) == [type(None), StaleEdit]
    shown = history.show_history(two[0], EntityKind.DISCHARGE, test_id)
    assert shown.current.version == 3


def test_of_two_processes_that_undo_the_same_edit_one_is_told(folder, two):
    test_id, number = edited_test(two[0])
    more = {"env": environment_of(folder) | OURS, "stdin": subprocess.PIPE}
    processes = [process(UNDO, folder, test_id, number, 2, **more) for _ in two]
    for one in processes:
        assert one.stdout.readline() == "ready\n"
    for one in processes:
        one.stdin.write("\n")
        one.stdin.flush()
    assert sorted(one.communicate(timeout=60)[0] for one in processes) == [
        "stored\n",
        "told\n",
    ]


def test_of_two_tests_that_start_at_one_moment_the_second_is_refused(two, meeting):
    battery = batteries.add_battery(two[0], battery_details())
    meeting("app.services.entities.discharges._judged")
    add = [
        lambda store=store: discharges.add_discharge(
            store, battery.id, discharge_details(), MeterKind.SHUNT, NOW
        )
        for store in two
    ]
    assert kinds_of_ends(*add) == [InvalidInput, type(None)]


def test_of_two_who_start_a_test_of_one_battery_the_second_is_refused(two, meeting):
    battery = batteries.add_battery(two[0], battery_details())
    details = RunDetails(NOW, 60, ChargeCondition.FULL, 0)
    meeting("app.services.entities.runs.settle")
    start = [
        lambda store=store: runs.start_run(store, battery.id, details, MeterKind.SHUNT, NOW)
        for store in two
    ]
    assert kinds_of_ends(*start) == [InvalidInput, type(None)]
    assert len(batteries.show_battery(two[0], battery.id, NOW.date()).runs) == 1


@pytest.fixture
def two_files(folder):
    """Two processes' stores on one data file, of which a backup is due."""
    stores = opened(folder, 5000), opened(folder, 5000)
    batteries.add_battery(stores[0], battery_details())
    yield tuple(store.engine for store in stores)
    for store in stores:
        store.engine.dispose()


def copies(engine):
    return backups_in(backups.show_backups(engine).default)


@pytest.mark.data_file
def test_while_one_makes_the_backup_of_the_day_no_other_does(two_files):
    first, second = two_files
    now, meanwhile = datetime.now(UTC), []

    def looks():
        meanwhile.append(backups.back_up_when_due(second, now + timedelta(minutes=5)))
        return True

    assert backups.back_up_when_due(first, now, looks) is not None
    assert meanwhile
    assert set(meanwhile) == {None}
    assert backups.back_up_when_due(second, now + timedelta(minutes=5)) is None
    assert len(copies(first)) == 1


@pytest.mark.data_file
def test_of_two_that_begin_in_one_instant_each_makes_a_whole_one_and_one_is_thinned(
    two_files, monkeypatch
):
    now, both_looked, real = datetime.now(UTC), threading.Barrier(2), backups._due_places

    def looks(*given):
        due = real(*given)
        both_looked.wait(10)
        return due

    monkeypatch.setattr(backups, "_due_places", looks)
    at_once(*(lambda engine=engine: backups.back_up_when_due(engine, now) for engine in two_files))
    made = copies(two_files[0])
    assert [one.whole for one in made] == [True] * 2
    assert backups.kept_state(two_files[0]).last.trouble == ""
    monkeypatch.setattr(backups, "_due_places", real)
    for days in range(1, 41):
        backups.back_up_when_due(two_files[0], now + timedelta(days=days))
    assert not {one.path for one in made} <= {one.path for one in copies(two_files[0])}


@pytest.mark.data_file
def test_the_copy_of_a_process_that_was_killed_holds_up_the_next_one_for_an_hour(two_files):
    engine, _ = two_files
    folder, now = backups.show_backups(engine).default, datetime.now(UTC)
    folder.mkdir()
    part = folder / f"{backup_name(now, BackupReason.ROUTINE)}{PART}"
    part.write_bytes(b"half of it")
    assert backups.back_up_when_due(engine, now + timedelta(minutes=59)) is None
    assert backups.back_up_when_due(engine, now + timedelta(minutes=61)) is not None
    assert not part.exists()
