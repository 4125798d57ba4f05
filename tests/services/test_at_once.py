"""Two processes at once on the same records: of two that want the same, the second is told."""

import contextlib
import subprocess
import sys
import threading
from datetime import timedelta

import pytest

from app.domain.discharge import ChargeCondition
from app.domain.errors import Outdated, Refused
from app.domain.meter import MeterKind
from app.domain.run import RunDetails
from app.domain.thing import Thing
from app.services.backups.lease import taking_turns
from app.services.entities import batteries, discharges, history, runs
from tests.beside import OURS, at_once, process
from tests.builders import NOW, battery_details, discharge_details
from tests.servers import environment_of, opened

WITHIN = timedelta(hours=1)
UNDO = """
import sys
from pathlib import Path
from app.domain.errors import Outdated
from app.domain.thing import Thing
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
    history.bring_back(store, Thing.DISCHARGE, int(test_id), int(number), int(seen), NOW)
    print("stored")
except Outdated:
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
    last = history.last_edit(store, Thing.DISCHARGE, test.id, 1)
    return test.id, last.edit.number


def test_of_two_who_undo_the_same_edit_of_a_test_the_second_is_told(two, meeting):
    test_id, number = edited_test(two[0])
    meeting("app.services.entities.history.same")
    undo = [
        lambda store=store: history.bring_back(store, Thing.DISCHARGE, test_id, number, 2, NOW)
        for store in two
    ]
    assert kinds_of_ends(*undo) == [type(None), Outdated]
    shown = history.show_history(two[0], Thing.DISCHARGE, test_id)
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
    assert kinds_of_ends(*add) == [type(None), Refused]


def test_of_two_who_start_a_test_of_one_battery_the_second_is_refused(two, meeting):
    battery = batteries.add_battery(two[0], battery_details())
    details = RunDetails(NOW, 60, ChargeCondition.FULL, 0)
    meeting("app.services.entities.runs.settle")
    start = [
        lambda store=store: runs.start_run(store, battery.id, details, MeterKind.SHUNT, NOW)
        for store in two
    ]
    assert kinds_of_ends(*start) == [type(None), Refused]
    assert len(batteries.show_battery(two[0], battery.id, NOW.date()).runs) == 1


def test_work_is_done_in_turns_and_the_next_one_may_come_after_it(two):
    first, second = (store.engine for store in two)
    with taking_turns(first, "turn", NOW, WITHIN) as mine:
        with taking_turns(second, "turn", NOW + timedelta(minutes=5), WITHIN) as other:
            assert (mine, other) == (True, False)
        with taking_turns(second, "turn", NOW + timedelta(minutes=9), WITHIN) as still:
            assert not still, "who had no turn gives none back"
    with taking_turns(second, "turn", NOW, WITHIN) as then:
        assert then


def test_who_was_slow_does_not_give_back_the_turn_of_the_one_after(two):
    first, second = (store.engine for store in two)
    after = NOW + timedelta(minutes=61)
    with contextlib.ExitStack() as later:
        with taking_turns(first, "turn", NOW, WITHIN) as slow:
            assert slow
            # An hour has gone by: the turn has lapsed, and another process has begun.
            assert later.enter_context(taking_turns(second, "turn", after, WITHIN))
        with taking_turns(first, "turn", after, WITHIN) as third:
            assert not third, "the turn of the second still is the second's"
    with taking_turns(first, "turn", after, WITHIN) as then:
        assert then


def test_of_several_that_ask_at_once_one_has_the_turn(two, meeting):
    meeting("app.services.backups.lease._holds")
    mine, both_asked = [], threading.Barrier(2)

    def ask(store):
        with taking_turns(store.engine, "turn", NOW, WITHIN) as turn:
            mine.append(turn)
            with contextlib.suppress(threading.BrokenBarrierError):
                both_asked.wait(10)

    at_once(*(lambda store=store: ask(store) for store in two))
    assert sorted(mine) == [False, True]


def test_the_turn_of_a_process_that_was_killed_lapses(two):
    first, second = (store.engine for store in two)
    killed = taking_turns(first, "turn", NOW, WITHIN)
    assert killed.__enter__()
    for later, has in ((timedelta(minutes=59), False), (timedelta(minutes=61), True)):
        with taking_turns(second, "turn", NOW + later, WITHIN) as mine:
            assert mine is has
