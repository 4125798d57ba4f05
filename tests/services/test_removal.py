"""What is removed for good takes along all that belongs to it, and nothing else."""

from datetime import timedelta

import pytest
from sqlalchemy import select

from app.domain.entities.event import EventKind
from app.domain.entities.meter import MeterKind
from app.domain.entities.run import ReadingGiven
from app.domain.errors import NotFound, StaleEdit
from app.services.entities import batteries, discharges, events, purge
from app.storage.database.engine import read_session, write_transaction
from app.storage.repositories import runs as run_rows
from app.storage.schema.tables import metadata
from tests.builders import NOW, battery_details, discharge_details, steady
from tests.postgres import file_damages, opened
from tests.storage.every_table import grow

TABLES = (
    "battery",
    "meter",
    "discharge",
    "event",
    "share",
    "share_beside",
    "run",
    "run_reading",
    "attachment",
    "photo",
    "place",
    "stay",
    "temperature_log",
    "temperature_day",
    "revision",
    "setting",
)


@pytest.fixture
def full(tmp_path):
    """Records with something in every table: two batteries, three tests, two runs."""
    folder = tmp_path / "full"
    folder.mkdir()
    store = opened(folder)
    grow(store)
    yield store
    store.engine.dispose()


def rows(store):
    with read_session(store.engine) as session:
        return {
            name: set(map(tuple, session.execute(select(metadata.tables[name])))) for name in TABLES
        }


def removed(before, after):
    """How many rows of each table are gone; nothing is new or different."""
    assert all(after[name] <= before[name] for name in TABLES)
    gone = {name: len(before[name]) - len(after[name]) for name in TABLES}
    return {name: count for name, count in gone.items() if count}


def remove(store, kind, item_id):
    """What goes for good with one thing of the bin: rows of each table."""
    before = rows(store)
    seen = purge.what_goes(store, kind, item_id).seen
    purge.remove_for_good(store, kind, item_id, seen)
    return removed(before, rows(store))


def sound(store):
    return file_damages(store) == ()


def test_a_battery_goes_with_its_tests_files_photos_links_events_and_versions(full):
    batteries.bin_battery(full, 1, NOW)
    assert purge.what_goes(full, "battery", 1).goes == (
        "2 capacity tests",
        "1 event",
        "1 original file",
        "1 photo",
        "1 read-only link",
        "1 entry on a link to several",
        "1 stay at a place",
        "2 earlier versions",
    )
    assert remove(full, "battery", 1) == {
        "battery": 1,
        "discharge": 2,
        "event": 1,
        "stay": 1,
        "attachment": 1,
        "photo": 1,
        "share": 1,
        "share_beside": 1,
        "revision": 2,
    }
    assert sound(full)
    assert len(batteries.show_battery(full, 2, NOW.date()).report.tests) == 1


def test_a_battery_goes_with_its_runs_and_leaves_the_links_of_others(full):
    batteries.bin_battery(full, 2, NOW)
    assert remove(full, "battery", 2) == {
        "battery": 1,
        "discharge": 1,
        "share_beside": 1,
        "run": 2,
        "run_reading": 4,
        "revision": 2,
    }
    assert sound(full)


def test_a_test_goes_with_what_was_noted_while_it_ran(full):
    discharges.bin_discharge(full, 3, NOW)
    assert purge.what_goes(full, "discharge", 3).goes == (
        "1 test noted while it ran",
        "4 readings noted on the way",
        "2 earlier versions",
    )
    assert remove(full, "discharge", 3) == {
        "discharge": 1,
        "run": 1,
        "run_reading": 4,
        "revision": 2,
    }
    assert sound(full)


def test_an_event_goes_alone(full):
    events.bin_event(full, 1, NOW)
    assert remove(full, "event", 1) == {"event": 1}


def test_what_does_not_lie_in_the_bin_is_not_removed(full):
    before = rows(full)
    for kind in ("battery", "discharge", "event"):
        with pytest.raises(StaleEdit, match="is not in the bin"):
            purge.remove_for_good(full, kind, 1, "")
        with pytest.raises(NotFound):
            purge.remove_for_good(full, kind, 99, "")
    with pytest.raises(NotFound):
        purge.what_goes(full, "meter", 1)
    assert rows(full) == before


def test_nothing_is_removed_that_the_page_did_not_name(full):
    discharges.bin_discharge(full, 1, NOW)
    before = purge.what_goes(full, "discharge", 1).seen
    discharges.restore_discharge(full, 1)
    discharges.leave_out(full, 1, "cold", NOW)
    discharges.bin_discharge(full, 1, NOW)
    state = rows(full)
    with pytest.raises(StaleEdit, match="differ from the ones this page showed"):
        purge.remove_for_good(full, "discharge", 1, before)
    assert rows(full) == state


def test_a_long_run_goes_in_one_transaction(full):
    given = [ReadingGiven(NOW + timedelta(seconds=second), 9.0) for second in range(3000)]
    with write_transaction(full.engine) as session:
        run_rows.add_readings(session, 2, given, "feed")
    batteries.bin_battery(full, 2, NOW)
    remove(full, "battery", 2)
    assert rows(full)["run_reading"] == set()


@pytest.mark.data_file
def test_a_new_test_that_gets_the_number_of_a_removed_one_is_judged_itself(store):
    battery = batteries.add_battery(store, battery_details())
    first = discharges.add_discharge(store, battery.id, discharge_details(), MeterKind.SHUNT, NOW)
    old = discharges.show_discharge(store, first.id).report.delivered_ah
    discharges.bin_discharge(store, first.id, NOW)
    remove(store, "discharge", first.id)
    details = discharge_details(steady(hours=5))
    again = discharges.add_discharge(store, battery.id, details, MeterKind.SHUNT, NOW)
    assert again.id == first.id
    assert discharges.show_discharge(store, again.id).report.delivered_ah == pytest.approx(old / 2)


def test_a_start_that_a_removed_test_had_is_free_again(store):
    battery = batteries.add_battery(store, battery_details())
    events.add_event(store, battery.id, NOW.date(), EventKind.OTHER, "")
    for _ in range(2):
        test = discharges.add_discharge(
            store, battery.id, discharge_details(), MeterKind.SHUNT, NOW - timedelta(days=1)
        )
        discharges.bin_discharge(store, test.id, NOW)
        remove(store, "discharge", test.id)
    assert len(batteries.show_battery(store, battery.id, NOW.date()).report.events) == 1
