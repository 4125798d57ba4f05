"""An archive is brought into records that are not empty: added to, told of, nothing changed."""

from dataclasses import replace
from datetime import timedelta

import pytest

from app.cli.archive_commands import report_text
from app.domain.entities.discharge import ChargeCondition
from app.domain.entities.event import EventKind
from app.domain.entities.meter import MeterKind
from app.domain.entities.run import ReadingGiven, RunDetails, RunState
from app.domain.errors import InvalidInput
from app.domain.readings import Readings
from app.services.access import shares
from app.services.entities import batteries, discharges, events, meters, runs
from app.services.exchange import records_archive
from tests.archives import exported
from tests.builders import NOW, battery_details, discharge_details, steady
from tests.services.records.held import counts, everything


def test_records_that_are_not_empty_take_the_owner_s_word(other, archive):
    batteries.add_battery(other, battery_details(name="mine"))
    before = everything(other)
    with pytest.raises(InvalidInput, match="Allow adding the archive to the records already here"):
        records_archive.restore_records(other, archive)
    assert everything(other) == before
    assert records_archive.restore_records(other, archive, merge=True).new > 10


def test_the_same_export_twice_changes_nothing(filled, archive):
    before = everything(filled)
    for _ in range(2):
        report = records_archive.restore_records(filled, archive, merge=True)
        assert report.new == 0
        assert report.conflicts == ()
    assert everything(filled) == before


def test_new_things_get_free_numbers_and_keep_what_belongs_to_them(filled, other, archive):
    mine = batteries.add_battery(other, battery_details(name="mine"))
    discharges.add_discharge(other, mine.id, discharge_details(), MeterKind.SHUNT, NOW)
    events.add_event(other, mine.id, NOW.date(), EventKind.REPAIR, "")
    records_archive.restore_records(other, archive, merge=True)
    assert batteries.get_battery(other, mine.id).details.name == "mine"
    (came,) = [
        one
        for one in batteries.list_batteries(other, NOW.date()).shown
        if one.name == "Bench battery"
    ]
    (test,) = came.tests
    assert came.id != 1
    view = discharges.show_discharge(other, test.id)
    assert [file.name for file in view.files] == ["log.csv"]
    assert discharges.original_file(other, view.files[0].id)[1].startswith(b"time_s")
    assert len(view.discharge.details.readings) == 20
    assert shares.open_share(other, "t" * 32, NOW).batteries[0].name == "Bench battery"
    replaced = [row for row in everything(other)["revision"] if row["thing"] == "discharge"]
    assert [(row["thing_id"], row["before"]["battery_id"]) for row in replaced] == [
        (test.id, came.id)
    ]
    assert isinstance(replaced[0]["before"]["readings"], Readings)


def test_merging_twice_changes_nothing_the_second_time(filled, other, archive):
    batteries.add_battery(other, battery_details(name="mine"))
    records_archive.restore_records(other, archive, merge=True)
    before = everything(other)
    report = records_archive.restore_records(other, archive, merge=True)
    assert report.new == 0
    assert report.conflicts == ()
    assert everything(other) == before


def test_what_differs_stays_and_is_named_field_by_field(filled, other, archive):
    records_archive.restore_records(other, archive)
    changed = battery_details(name="Renamed", rated_ah=90.0)
    batteries.change_battery(other, 1, changed, NOW)
    test = discharges.show_discharge(other, 1).discharge
    details = replace(test.details, readings=steady(hours=8, step_h=0.5))
    discharges.change_discharge(other, 1, details, test.details.meter_id or 0, NOW)
    report = records_archive.restore_records(other, archive, merge=True)
    assert report.new == 0
    battery, discharge = report.conflicts
    assert {one.field: (one.here, one.in_archive) for one in battery.differences} == {
        "Name": ("“Renamed”", "“Bench battery”"),
        "Rated capacity": ("90.0", "101.0"),
        "Version": ("3", "2"),
    }
    assert discharge.name == "Renamed, 2026-11-15 12:00:00 UTC"
    assert ("Readings", "17 rows", "20 rows") in [
        (one.field, one.here, one.in_archive) for one in discharge.differences
    ]
    assert batteries.get_battery(other, 1).details.name == "Renamed"


def test_how_often_a_link_was_opened_is_no_conflict(filled, archive):
    with filled.engine.begin() as connection:
        connection.exec_driver_sql("UPDATE share SET views = 7")
    assert records_archive.restore_records(filled, archive, merge=True).conflicts == ()


def test_a_secret_is_not_shown_where_it_differs(filled, archive):
    runs.open_feed(filled, 1)
    (conflict,) = records_archive.restore_records(filled, archive, merge=True).conflicts
    assert "in the archive not shown" in conflict.sentence


def test_another_test_at_the_same_moment_is_left_out_with_what_belongs_to_it(
    filled, other, archive, tmp_path
):
    records_archive.restore_records(other, archive)
    for store in (filled, other):
        twin = discharge_details(days_ago=3)
        test = discharges.add_discharge(store, 1, twin, MeterKind.SHUNT, NOW)
        discharges.leave_out(store, test.id, "a twin", NOW)
    exported(filled, tmp_path / "b.zip")
    report = records_archive.restore_records(other, tmp_path / "b.zip", merge=True)
    (conflict,) = report.conflicts
    assert "another test of this battery starts at that moment" in conflict.sentence
    assert counts(report)["Capacity tests"] == (0, 1, 0, 1)
    assert counts(report)["Replaced rows"][3] == 1
    assert len(batteries.show_battery(other, 1, NOW.date()).report.tests) == 2


def test_a_test_in_the_bin_leaves_its_moment_to_another(filled, other, archive, tmp_path):
    records_archive.restore_records(other, archive)
    for store in (filled, other):
        discharges.add_discharge(store, 1, discharge_details(days_ago=3), MeterKind.SHUNT, NOW)
    discharges.bin_discharge(other, 2, NOW)
    exported(filled, tmp_path / "b.zip")
    assert records_archive.restore_records(other, tmp_path / "b.zip", merge=True).conflicts == ()
    assert len(batteries.show_battery(other, 1, NOW.date()).report.tests) == 2


@pytest.mark.parametrize("moved", ["here", "there", "both"])
def test_a_reading_whose_time_was_corrected_does_not_come_in_twice(
    filled, other, archive, tmp_path, moved
):
    records_archive.restore_records(other, archive)
    for number, store in enumerate((other, filled), start=1):
        if moved == "both" or moved == ("here" if store is other else "there"):
            runs.strike_reading(store, 1, 1, "", NOW)
            given = ReadingGiven(NOW + timedelta(minutes=number), 9.0)
            runs.correct_reading(store, 1, 1, given, NOW + timedelta(hours=1))
    exported(filled, tmp_path / "b.zip")
    report = records_archive.restore_records(other, tmp_path / "b.zip", merge=True)
    assert counts(report)["Readings of running tests"] == (0, 0, 1, 0)
    assert any(one.field == "Moment" for one in report.conflicts[-1].differences)
    assert len(everything(other)["run_reading"]) == 1


def test_a_meter_that_changed_here_is_used_with_its_own_limits(filled, other, archive):
    records_archive.restore_records(other, archive)
    details = meters.get_meter(other, 1).details
    meters.change_meter(other, 1, replace(details, gain_limit_percent=2.0), NOW)
    report = records_archive.restore_records(other, archive, merge=True)
    assert [one.thing for one in report.conflicts] == ["Meter"]
    assert meters.get_meter(other, 1).details.gain_limit_percent == 2.0


def test_a_test_that_cannot_be_judged_with_what_is_here_brings_in_nothing(
    filled, other, archive, tmp_path
):
    records_archive.restore_records(other, archive)
    batteries.change_battery(other, 1, battery_details(cut_off_v=13.1), NOW)
    high = discharge_details(steady(last_v=12.0), days_ago=2)
    late = Readings.of([0.0, 3600.0, 7200.0], [9.0] * 3, [13.0, 12.9, 12.8])
    discharges.add_discharge(filled, 1, replace(high, readings=late), MeterKind.SHUNT, NOW)
    exported(filled, tmp_path / "b.zip")
    before = everything(other)
    with pytest.raises(InvalidInput, match="Bench battery, capacity test of 23 Nov 2026"):
        records_archive.restore_records(other, tmp_path / "b.zip", merge=True)
    assert everything(other) == before


def test_a_battery_in_the_bin_gets_no_test_that_would_stop_every_page(
    filled, other, archive, tmp_path
):
    records_archive.restore_records(other, archive)
    batteries.change_battery(other, 1, battery_details(cut_off_v=13.1), NOW)
    batteries.bin_battery(other, 1, NOW)
    late = Readings.of([0.0, 3600.0, 7200.0], [9.0] * 3, [13.0, 12.9, 12.8])
    discharges.add_discharge(filled, 1, discharge_details(late, days_ago=2), MeterKind.SHUNT, NOW)
    exported(filled, tmp_path / "b.zip")
    with pytest.raises(InvalidInput, match="Bench battery, capacity test of 23 Nov 2026"):
        records_archive.restore_records(other, tmp_path / "b.zip", merge=True)
    batteries.restore_battery(other, 1)
    assert len(batteries.list_batteries(other, NOW.date()).shown) == 2


def test_of_two_running_tests_of_a_battery_the_one_that_comes_in_is_given_up(
    filled, other, archive, tmp_path
):
    records_archive.restore_records(other, archive)
    for store, amps in ((other, 7.0), (filled, 8.0)):
        run = runs.start_run(
            store, 1, RunDetails(NOW, 0, ChargeCondition.FULL, 0), MeterKind.SHUNT, NOW
        )
        runs.note_reading(store, run.id, ReadingGiven(NOW, amps), NOW)
        runs.open_feed(store, run.id)
    exported(filled, tmp_path / "b.zip")
    looked = records_archive.look_at_archive(other, tmp_path / "b.zip")
    report = records_archive.restore_records(other, tmp_path / "b.zip", merge=True)
    (sentence,) = report.changed
    assert looked.changed == (sentence,)
    assert "given up, because another test of this battery is running" in sentence
    assert sentence in report_text(report, happened=True)
    assert counts(report)["Running tests"] == (1, 1, 0, 0)
    here, came = (runs.show_run(other, number, NOW) for number in (2, 3))
    assert (here.run.state, here.run.fed) == (RunState.RUNNING, True)
    assert (came.run.state, came.run.fed) == (RunState.ABANDONED, False)
    assert [one.given.current_a for one in came.readings] == [8.0]
    runs.abandon_run(other, 2)
    assert runs.resume_run(other, 3).state is RunState.RUNNING
