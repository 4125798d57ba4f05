from dataclasses import replace
from datetime import date, timedelta

import pytest
from sqlalchemy import delete

from app.analysis.plausibility.readings_changes import compare_readings
from app.domain.entities.discharge import EndReason
from app.domain.entities.event import EventKind
from app.domain.entities.meter import MeterKind, typical
from app.domain.entity_kind import EntityKind
from app.domain.errors import InvalidInput, NotFound, StaleEdit
from app.domain.readings import Readings
from app.services.entities import batteries, discharges, events, history, meters
from app.storage.database.engine import write_transaction
from app.storage.repositories import events as event_rows
from app.storage.schema.tables import MeterRow
from tests.builders import NOW, battery_details, discharge_details, steady

LATER = NOW + timedelta(hours=3)


@pytest.fixture
def battery(store):
    return batteries.add_battery(store, battery_details())


@pytest.fixture
def test(store, battery):
    return discharges.add_discharge(store, battery.id, discharge_details(), MeterKind.SHUNT, NOW)


def told(store, thing, thing_id):
    return [
        [change.words for change in edit.changes]
        for edit in history.show_history(store, thing, thing_id).edits
    ]


def edit(store, test, **changes):
    details = replace(test.details, **changes)
    return discharges.change_discharge(store, test.id, details, test.details.meter_id, NOW)


def bring_back(store, thing, thing_id, version, now=LATER):
    shown = history.show_history(store, thing, thing_id)
    number = next(one.number for one in shown.edits if one.version == version)
    return history.bring_back(store, thing, thing_id, number, shown.current.version, now)


def test_each_edit_says_what_it_changed_with_units_the_newest_first(store, battery):
    batteries.change_battery(store, battery.id, battery_details(rated_ah=90.0), NOW)
    details = battery_details(
        rated_ah=90.0,
        reserve_share=0.25,
        in_service_since=date(2020, 2, 1),
        corrects_rate=False,
        price=None,
        notes="",
    )
    batteries.change_battery(store, battery.id, details, LATER)
    assert told(store, EntityKind.BATTERY, battery.id) == [
        [
            "In service since nothing → 1 Feb 2020",
            "Corrects rate yes → no",
            "Reserve 20 % → 25 %",
            "Price 987654 → nothing",
            "Notes “SECRETNOTES” → nothing",
        ],
        ["Rated capacity 100 Ah → 90 Ah"],
    ]


def test_a_test_s_changes_are_told_as_its_form_names_them(store, test):
    other = meters.add_meter(store, typical(MeterKind.CLAMP))
    moved = replace(
        test.details,
        started_at=test.details.started_at + timedelta(seconds=90),
        end_reason=EndReason.TIME,
        load="heater",
    )
    discharges.change_discharge(store, test.id, moved, other.id, NOW)
    assert told(store, EntityKind.DISCHARGE, test.id) == [
        [
            "Start 15 Nov 2026, 13:00 (UTC+01:00) → 15 Nov 2026, 13:01:30 (UTC+01:00)",
            "End reason the battery's protection switched it off → time ran out",
            "Meter “Shunt with display” → “Clamp meter”",
            "Load “lamps” → “heater”",
        ]
    ]


def test_an_edit_that_changes_nothing_is_none(store, battery, test):
    assert batteries.change_battery(store, battery.id, battery_details(), NOW).version == 1
    assert edit(store, test).version == 1
    assert (
        told(store, EntityKind.BATTERY, battery.id)
        == told(store, EntityKind.DISCHARGE, test.id)
        == []
    )


def test_long_texts_are_shown_around_what_differs(store, battery):
    start = "All is well. " * 100
    for end in ("Then it froze.", "Then it thawed."):
        batteries.change_battery(store, battery.id, battery_details(notes=start + end), NOW)
    (words,), _ = told(store, EntityKind.BATTERY, battery.id)
    assert words == "Notes “…ll is well. Then it froze.” → “…ll is well. Then it thawed.”"


def test_texts_that_differ_in_spaces_alone_are_told_apart(store, battery):
    for notes in ("one two", "one\ntwo"):
        batteries.change_battery(store, battery.id, battery_details(notes=notes), NOW)
    assert "with other spaces" in told(store, EntityKind.BATTERY, battery.id)[0][0]


def test_leaving_out_is_an_edit_with_its_reason(store, test):
    discharges.leave_out(store, test.id, "cold", NOW)
    assert told(store, EntityKind.DISCHARGE, test.id) == [["Left out because nothing → “cold”"]]


def test_a_corrected_reading_is_told_by_its_number(store, test):
    readings = replace(test.details.readings, current_a=test.details.readings.current_a[:])
    readings.current_a[3] = 9.1
    edit(store, test, readings=readings)
    assert told(store, EntityKind.DISCHARGE, test.id) == [
        ["Readings 11 → 11 rows (1 changed: #4 current 9 → 9.1 A)"]
    ]


HOURS = [0.0, 3600.0, 7200.0, 10800.0]
FOUR = Readings.of(HOURS, [9.0, 9.1, 9.2, 9.3])


@pytest.mark.parametrize(
    ("after", "moved_s", "words"),
    [
        (
            Readings.of([*HOURS, 14400.0], [9.0, 9.1, 9.2, 9.3, 9.4]),
            0,
            "1 added: #5 at 4:00 with 9.4 A",
        ),
        (
            Readings.of([0.0, 7200.0, 10800.0], [9.0, 9.2, 9.3]),
            0,
            "1 removed: #2 at 1:00 with 9.1 A",
        ),
        # A first reading that was forgotten moves the start.
        (
            Readings.of([0.0, 1800.0, 5400.0, 9000.0, 12600.0], [8.0, 9.0, 9.1, 9.2, 9.3]),
            -1800,
            "1 added: #1 at 0:00 with 8 A",
        ),
        (
            Readings.of([0.0, 3630.5, 7200.0, 10800.0], [9.0, 9.1, 9.2, 9.3]),
            0,
            "1 changed: #2 time 1:00 → 1:00:30.5",
        ),
        (
            Readings.of(HOURS, [9.0, 9.1, 9.2, -9.3], [None, 13.0, None, None]),
            0,
            "2 changed: #2 voltage nothing → 13 V, #4 current 9.3 → −9.3 A",
        ),
    ],
)
def test_readings_are_known_again_by_row_time_or_moment(after, moved_s, words):
    assert compare_readings(FOUR, after, moved_s).words == words


def test_many_changed_readings_are_counted_and_few_are_told():
    one, other = steady(step_h=0.01), steady(step_h=0.01, amps=9.5)
    change = compare_readings(one, other)
    assert change.changed == 1001
    assert change.words.endswith(" and 998 more")
    assert len(change.words) < 300


@pytest.mark.parametrize("hours", [0, 3])
def test_a_version_brought_back_equals_what_was_entered(store, battery, hours):
    first = battery_details(rated_ah=101.23456789, in_service_since=date(2019, 5, 4))
    batteries.change_battery(store, battery.id, first, NOW)
    batteries.change_battery(store, battery.id, battery_details(name="Other"), NOW)
    back = bring_back(store, EntityKind.BATTERY, battery.id, 2, NOW + timedelta(hours=hours))
    assert back.entered == first
    assert batteries.get_battery(store, battery.id).version == 4
    # That is an edit too: it can be undone.
    assert bring_back(store, EntityKind.BATTERY, battery.id, 3).entered == battery_details(
        name="Other"
    )


def test_a_test_brought_back_has_its_readings_to_the_last_bit(store, test):
    edit(store, test, readings=steady(hours=9, amps=8.123456789), notes="other")
    back = bring_back(store, EntityKind.DISCHARGE, test.id, 1).entered
    assert back.readings.digest == test.details.readings.digest
    assert replace(back, readings=test.details.readings) == test.details


def test_an_older_edit_of_a_meter_comes_back(store):
    meter = meters.add_meter(store, typical(MeterKind.CLAMP))
    changed = replace(meter.details, gain_limit_percent=0.5)
    meters.change_meter(store, meter.id, changed, NOW)
    assert told(store, EntityKind.METER, meter.id) == [["Gain limit 3 % → 0.5 %"]]
    assert bring_back(store, EntityKind.METER, meter.id, 1).entered == meter.details


def test_an_event_s_versions_are_shown_and_brought_back(store, battery):
    event = events.add_event(store, battery.id, date(2026, 1, 5), EventKind.MOVED, "shade")
    with write_transaction(store.engine) as session:
        event_rows.change(session, event.id, date(2026, 1, 6), EventKind.OTHER, "sun", NOW)
    assert told(store, EntityKind.EVENT, event.id) == [
        ["Date 5 Jan 2026 → 6 Jan 2026", "Kind moved → other", "Note “shade” → “sun”"]
    ]
    back = bring_back(store, EntityKind.EVENT, event.id, 1).entered
    assert (back.on_date, back.kind, back.note) == (date(2026, 1, 5), EventKind.MOVED, "shade")


def test_a_version_whose_meter_is_gone_is_refused(store, test):
    other = meters.add_meter(store, typical(MeterKind.CLAMP))
    discharges.change_discharge(store, test.id, test.details, other.id, NOW)
    with store.engine.begin() as connection:
        connection.execute(delete(MeterRow).where(MeterRow.id == test.details.meter_id))
    assert "which is gone" in told(store, EntityKind.DISCHARGE, test.id)[0][0]
    with pytest.raises(InvalidInput, match=r"Version 1 cannot be brought back\. There is no meter"):
        bring_back(store, EntityKind.DISCHARGE, test.id, 1)
    assert history.show_history(store, EntityKind.DISCHARGE, test.id).current.version == 2


def test_a_version_whose_start_another_test_has_taken_is_refused(store, battery, test):
    edit(store, test, started_at=test.details.started_at + timedelta(days=1))
    discharges.add_discharge(store, battery.id, discharge_details(), MeterKind.SHUNT, NOW)
    with pytest.raises(InvalidInput, match=r"brought back\. Please check “start of the test”"):
        bring_back(store, EntityKind.DISCHARGE, test.id, 1)
    assert len(told(store, EntityKind.DISCHARGE, test.id)) == 1


def test_of_two_pages_that_undo_the_second_is_told(store, battery):
    batteries.change_battery(store, battery.id, battery_details(name="One"), NOW)
    edit_shown = history.show_history(store, EntityKind.BATTERY, battery.id).edits[0]
    history.bring_back(store, EntityKind.BATTERY, battery.id, edit_shown.number, 2, NOW)
    with pytest.raises(StaleEdit, match="changed again after this page was opened"):
        history.bring_back(store, EntityKind.BATTERY, battery.id, edit_shown.number, 2, NOW)
    with pytest.raises(StaleEdit, match="already matches version 1"):
        history.bring_back(store, EntityKind.BATTERY, battery.id, edit_shown.number, 3, NOW)
    assert batteries.get_battery(store, battery.id).version == 3


def test_a_version_of_another_thing_is_not_found(store, battery):
    other = batteries.add_battery(store, battery_details(name="Other"))
    batteries.change_battery(store, other.id, battery_details(name="Third"), NOW)
    number = history.show_history(store, EntityKind.BATTERY, other.id).edits[0].number
    for wrong in (number, 10**9):
        with pytest.raises(NotFound):
            history.bring_back(store, EntityKind.BATTERY, battery.id, wrong, 1, NOW)


def test_a_long_history_is_shown_in_parts(store, battery):
    for i in range(history.MAX_SHOWN + 5):
        batteries.change_battery(store, battery.id, battery_details(rated_ah=101.0 + i), NOW)
    first = history.show_history(store, EntityKind.BATTERY, battery.id)
    assert len(first.edits) == history.MAX_SHOWN
    rest = history.show_history(store, EntityKind.BATTERY, battery.id, first.older)
    assert [one.version for one in rest.edits] == [5, 4, 3, 2, 1]
    assert rest.older is None
    assert rest.edits[0].changes[0].words == "Rated capacity 104 Ah → 105 Ah"


def test_nothing_in_the_bin_has_a_history_to_go_back_in(store, battery, test):
    edit(store, test, notes="x")
    batteries.bin_battery(store, battery.id, NOW)
    for thing, number in ((EntityKind.BATTERY, battery.id), (EntityKind.DISCHARGE, test.id)):
        with pytest.raises(NotFound, match="bin"):
            history.show_history(store, thing, number)
