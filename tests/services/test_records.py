import csv
import io
import os
import shutil
import zipfile
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from sqlalchemy import update
from sqlmodel import Session

from app.archive import limits
from app.archive.reader import open_archive
from app.domain.discharge import ChargeCondition
from app.domain.errors import Refused, StorageTrouble
from app.domain.event import EventKind
from app.domain.meter import MeterKind
from app.domain.readings import Readings
from app.domain.run import ReadingGiven, RunDetails, RunState
from app.ingest.text import UPLOAD_LIMIT_MB
from app.recording import report_text
from app.services import backups, batteries, discharges, events, meters, records, runs, shares
from app.services.demo import fill_with_demo
from app.storage.engine import reading
from app.storage.record_tables import record_table, record_tables, rows
from app.storage.tables import AttachmentRow, SettingRow
from tests.archives import empty_store, entries_of, exported, fill, spoiled
from tests.builders import NOW, battery_details, discharge_details, steady
from tests.pictures import PHOTO
from tests.servers import another_writing


@pytest.fixture
def filled(store):
    fill(store)
    return store


@pytest.fixture
def other(tmp_path):
    made = empty_store(tmp_path / "other")
    yield made
    made.engine.dispose()


@pytest.fixture
def archive(filled, tmp_path):
    exported(filled, tmp_path / "a.zip")
    return tmp_path / "a.zip"


def everything(store):
    with reading(store.engine) as session:
        return {table.name: list(rows(session, table)) for table in record_tables()}


def counts(report):
    return {one.title: (one.new, one.same, one.differing, one.left_out) for one in report.counts}


def test_every_table_of_the_example_holds_something(filled):
    assert [name for name, some in everything(filled).items() if not some] == []


def test_what_went_out_comes_back_byte_for_byte(filled, other, archive, tmp_path):
    report = records.restore_records(other, archive)
    assert report.was_empty
    assert report.conflicts == ()
    assert everything(other) == everything(filled)
    assert exported(other, tmp_path / "b.zip") == archive.read_bytes()


def test_the_demo_comes_back_byte_for_byte(store, other, tmp_path):
    fill_with_demo(store)
    first = exported(store, tmp_path / "a.zip")
    records.restore_records(other, tmp_path / "a.zip")
    assert exported(other, tmp_path / "b.zip") == first
    today = NOW.date()
    assert (
        batteries.list_batteries(other, today).shown == batteries.list_batteries(store, today).shown
    )


def test_the_same_records_give_the_same_bytes(filled, tmp_path):
    assert exported(filled, tmp_path / "a.zip") == exported(filled, tmp_path / "b.zip")
    with zipfile.ZipFile(tmp_path / "a.zip") as opened:
        assert opened.testzip() is None
        assert {info.date_time for info in opened.infolist()} == {(1980, 1, 1, 0, 0, 0)}


def test_readings_are_a_table_and_files_are_as_they_came(filled, archive):
    entries = entries_of(archive)
    readings = [name for name in entries if name.startswith("readings/") and ".csv" in name]
    assert len(readings) == 1
    assert entries[readings[0]].splitlines()[0].decode().split(",") == [
        "elapsed_s",
        "current_a",
        "voltage_v",
        "temperature_c",
        "gauge_percent",
    ]
    assert len([name for name in entries if name.startswith("replaced/")]) == 1
    assert [data for name, data in entries.items() if name.startswith("originals/")] == [
        b"time_s,A\r\n0,9\r\n36000,9\r\n"
    ]
    assert [data for name, data in entries.items() if name.startswith("photos/")] == [PHOTO]


def test_a_link_and_a_feed_go_on_working_where_they_are_restored(filled, other, tmp_path):
    share = shares.share_battery(filled, 1, "", None, NOW)
    word = runs.open_feed(filled, 1)
    exported(filled, tmp_path / "a.zip")
    records.restore_records(other, tmp_path / "a.zip")
    assert shares.open_share(other, share.token, NOW).batteries[0].name == "Bench battery"
    given = ReadingGiven(NOW + timedelta(minutes=1), 9.0)
    assert runs.feed_readings(other, 1, word, [given], NOW).stored == 1


def test_links_can_be_left_out(filled, other, tmp_path):
    path = tmp_path / "a.zip"
    records.export_records(filled, path, with_links=False)
    entries = entries_of(path)
    assert b"t" * 32 not in b"".join(entries.values())
    assert b"Read-only links were left out" in entries["README.txt"]
    records.restore_records(other, path)
    assert everything(other)["share"] == everything(other)["share_beside"] == []
    again = tmp_path / "b.zip"
    records.export_records(other, again, with_links=False)
    assert again.read_bytes() == path.read_bytes()


def test_looking_changes_nothing_and_says_what_would_come_in(filled, other, archive):
    looked = records.look_at_archive(other, archive)
    assert not records.holds_records(other)
    assert looked == records.restore_records(other, archive)
    assert counts(looked)["Capacity tests"] == (1, 0, 0, 0)


def test_records_that_are_not_empty_take_the_owner_s_word(other, archive):
    batteries.add_battery(other, battery_details(name="mine"))
    before = everything(other)
    with pytest.raises(Refused, match="the word to add to them"):
        records.restore_records(other, archive)
    assert everything(other) == before
    assert records.restore_records(other, archive, merge=True).new > 10


def test_settings_alone_are_no_records(other, archive):
    with Session(other.engine) as session, session.begin():
        session.add(SettingRow(name="greeting", value="mine"))
    report = records.restore_records(other, archive)
    assert report.was_empty
    (conflict,) = report.conflicts
    assert conflict.sentence == (
        "Setting “greeting”: what is here differs and stays "
        "(Value: here “mine”, in the archive “”)."
    )
    assert everything(other)["setting"][0]["value"] == "mine"


@pytest.mark.data_file
def test_the_folder_of_backups_of_one_machine_goes_to_no_other(filled, other, tmp_path):
    before = exported(filled, tmp_path / "before.zip")
    (tmp_path / "stick").mkdir()
    backups.choose_folder(filled.engine, str(tmp_path / "stick"))
    backups.back_up(filled.engine, NOW)
    assert exported(filled, tmp_path / "a.zip") == before
    more = b"backup_folder,/elsewhere\r\nbackup_owner,somebody\r\n"

    def name_a_folder(entries):
        entries["tables/setting.csv"] += more

    path = spoiled(tmp_path / "a.zip", tmp_path / "b.zip", name_a_folder)
    records.restore_records(other, path)
    assert backups.show_backups(other.engine).chosen is None


def test_the_same_export_twice_changes_nothing(filled, archive):
    before = everything(filled)
    for _ in range(2):
        report = records.restore_records(filled, archive, merge=True)
        assert report.new == 0
        assert report.conflicts == ()
    assert everything(filled) == before


def test_new_things_get_free_numbers_and_keep_what_belongs_to_them(filled, other, archive):
    mine = batteries.add_battery(other, battery_details(name="mine"))
    discharges.add_discharge(other, mine.id, discharge_details(), MeterKind.SHUNT, NOW)
    events.add_event(other, mine.id, NOW.date(), EventKind.REPAIR, "")
    records.restore_records(other, archive, merge=True)
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
    records.restore_records(other, archive, merge=True)
    before = everything(other)
    report = records.restore_records(other, archive, merge=True)
    assert report.new == 0
    assert report.conflicts == ()
    assert everything(other) == before


def test_what_differs_stays_and_is_named_field_by_field(filled, other, archive):
    records.restore_records(other, archive)
    changed = battery_details(name="Renamed", rated_ah=90.0)
    batteries.change_battery(other, 1, changed, NOW)
    test = discharges.show_discharge(other, 1).discharge
    details = replace(test.details, readings=steady(hours=8, step_h=0.5))
    discharges.change_discharge(other, 1, details, test.details.meter_id or 0, NOW)
    report = records.restore_records(other, archive, merge=True)
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
    assert records.restore_records(filled, archive, merge=True).conflicts == ()


def test_a_secret_is_not_shown_where_it_differs(filled, archive):
    runs.open_feed(filled, 1)
    (conflict,) = records.restore_records(filled, archive, merge=True).conflicts
    assert "in the archive not shown" in conflict.sentence


def test_another_test_at_the_same_moment_is_left_out_with_what_belongs_to_it(
    filled, other, archive, tmp_path
):
    records.restore_records(other, archive)
    for store in (filled, other):
        twin = discharge_details(days_ago=3)
        test = discharges.add_discharge(store, 1, twin, MeterKind.SHUNT, NOW)
        discharges.leave_out(store, test.id, "a twin", NOW)
    exported(filled, tmp_path / "b.zip")
    report = records.restore_records(other, tmp_path / "b.zip", merge=True)
    (conflict,) = report.conflicts
    assert "another test of this battery starts at that moment" in conflict.sentence
    assert counts(report)["Capacity tests"] == (0, 1, 0, 1)
    assert counts(report)["Replaced rows"][3] == 1
    assert len(batteries.show_battery(other, 1, NOW.date()).report.tests) == 2


def test_a_test_in_the_bin_leaves_its_moment_to_another(filled, other, archive, tmp_path):
    records.restore_records(other, archive)
    for store in (filled, other):
        discharges.add_discharge(store, 1, discharge_details(days_ago=3), MeterKind.SHUNT, NOW)
    discharges.bin_discharge(other, 2, NOW)
    exported(filled, tmp_path / "b.zip")
    assert records.restore_records(other, tmp_path / "b.zip", merge=True).conflicts == ()
    assert len(batteries.show_battery(other, 1, NOW.date()).report.tests) == 2


@pytest.mark.parametrize("moved", ["here", "there", "both"])
def test_a_reading_whose_time_was_corrected_does_not_come_in_twice(
    filled, other, archive, tmp_path, moved
):
    records.restore_records(other, archive)
    for number, store in enumerate((other, filled), start=1):
        if moved == "both" or moved == ("here" if store is other else "there"):
            runs.strike_reading(store, 1, 1, "", NOW)
            given = ReadingGiven(NOW + timedelta(minutes=number), 9.0)
            runs.correct_reading(store, 1, 1, given, NOW + timedelta(hours=1))
    exported(filled, tmp_path / "b.zip")
    report = records.restore_records(other, tmp_path / "b.zip", merge=True)
    assert counts(report)["Readings of running tests"] == (0, 0, 1, 0)
    assert any(one.field == "Moment" for one in report.conflicts[-1].differences)
    assert len(everything(other)["run_reading"]) == 1


def test_a_meter_that_changed_here_is_used_with_its_own_limits(filled, other, archive):
    records.restore_records(other, archive)
    details = meters.get_meter(other, 1).details
    meters.change_meter(other, 1, replace(details, gain_limit_percent=2.0), NOW)
    report = records.restore_records(other, archive, merge=True)
    assert [one.thing for one in report.conflicts] == ["Meter"]
    assert meters.get_meter(other, 1).details.gain_limit_percent == 2.0


def test_a_test_that_cannot_be_judged_with_what_is_here_brings_in_nothing(
    filled, other, archive, tmp_path
):
    records.restore_records(other, archive)
    batteries.change_battery(other, 1, battery_details(cut_off_v=13.1), NOW)
    high = discharge_details(steady(last_v=12.0), days_ago=2)
    late = Readings.of([0.0, 3600.0, 7200.0], [9.0] * 3, [13.0, 12.9, 12.8])
    discharges.add_discharge(filled, 1, replace(high, readings=late), MeterKind.SHUNT, NOW)
    exported(filled, tmp_path / "b.zip")
    before = everything(other)
    with pytest.raises(Refused, match="Bench battery, capacity test of 23 Nov 2026"):
        records.restore_records(other, tmp_path / "b.zip", merge=True)
    assert everything(other) == before


def test_a_battery_in_the_bin_gets_no_test_that_would_stop_every_page(
    filled, other, archive, tmp_path
):
    records.restore_records(other, archive)
    batteries.change_battery(other, 1, battery_details(cut_off_v=13.1), NOW)
    batteries.bin_battery(other, 1, NOW)
    late = Readings.of([0.0, 3600.0, 7200.0], [9.0] * 3, [13.0, 12.9, 12.8])
    discharges.add_discharge(filled, 1, discharge_details(late, days_ago=2), MeterKind.SHUNT, NOW)
    exported(filled, tmp_path / "b.zip")
    with pytest.raises(Refused, match="Bench battery, capacity test of 23 Nov 2026"):
        records.restore_records(other, tmp_path / "b.zip", merge=True)
    batteries.restore_battery(other, 1)
    assert len(batteries.list_batteries(other, NOW.date()).shown) == 2


def test_a_name_that_is_taken_is_refused_and_kept(filled, tmp_path):
    taken = tmp_path / "a.zip"
    taken.write_text("mine")
    with pytest.raises(Refused, match="a name that is free"):
        records.export_records(filled, taken)
    assert taken.read_text() == "mine"
    records.export_records(filled, taken, replace=True)
    assert zipfile.is_zipfile(taken)


def test_a_folder_that_is_not_there_is_a_sentence(filled, tmp_path):
    with pytest.raises(StorageTrouble, match="choose another place"):
        records.export_records(filled, tmp_path / "none" / "a.zip")


def test_a_damaged_original_leaves_no_half_archive(filled, tmp_path):
    with filled.engine.begin() as connection:
        connection.execute(update(AttachmentRow).values(packed=b"\0"))
    folder = tmp_path / "out"
    folder.mkdir()
    with pytest.raises(StorageTrouble, match=r"log\.csv is damaged"):
        records.export_records(filled, folder / "a.zip")
    assert list(folder.iterdir()) == []


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
def test_a_full_disk_is_a_sentence(filled, monkeypatch):
    part = os.open("/dev/null", os.O_WRONLY)
    monkeypatch.setattr(records.tempfile, "mkstemp", lambda **_: (part, "/dev/full"))
    monkeypatch.setattr(Path, "unlink", lambda *_, **__: None)
    with pytest.raises(StorageTrouble, match="No space left"):
        records.export_records(filled, Path("/nowhere.zip"))


def test_a_locked_data_file_is_a_sentence_and_stays_as_it_is(filled, other, archive):
    with another_writing(other), pytest.raises(StorageTrouble, match="Another program"):
        records.restore_records(other, archive)
    assert not records.holds_records(other)


def test_a_run_keeps_its_readings_and_goes_on(filled, other, archive):
    records.restore_records(other, archive)
    view = runs.show_run(other, 1, NOW + timedelta(minutes=5))
    assert [one.given.current_a for one in view.readings] == [0.1 + 0.2]
    runs.note_reading(other, 1, ReadingGiven(NOW + timedelta(minutes=1), 9.0), NOW)
    details = RunDetails(NOW, 0, ChargeCondition.FULL, 0)
    with pytest.raises(Refused, match="running one ended first"):
        runs.start_run(other, 2, details, MeterKind.SHUNT, NOW)


def test_of_two_running_tests_of_a_battery_the_one_that_comes_in_is_given_up(
    filled, other, archive, tmp_path
):
    records.restore_records(other, archive)
    for store, amps in ((other, 7.0), (filled, 8.0)):
        run = runs.start_run(
            store, 1, RunDetails(NOW, 0, ChargeCondition.FULL, 0), MeterKind.SHUNT, NOW
        )
        runs.note_reading(store, run.id, ReadingGiven(NOW, amps), NOW)
        runs.open_feed(store, run.id)
    exported(filled, tmp_path / "b.zip")
    looked = records.look_at_archive(other, tmp_path / "b.zip")
    report = records.restore_records(other, tmp_path / "b.zip", merge=True)
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


def test_a_file_from_a_form_always_fits_into_an_archive():
    assert limits.MOST_FILE_BYTES > UPLOAD_LIMIT_MB * 1_000_000


def test_an_archive_that_was_unpacked_and_packed_again_is_as_good(archive, other, tmp_path):
    with zipfile.ZipFile(archive) as opened:
        opened.extractall(tmp_path / "loose")
    again = shutil.make_archive(str(tmp_path / "again"), "zip", tmp_path / "loose")
    records.restore_records(other, tmp_path / "again.zip")
    assert exported(other, tmp_path / "b.zip") == archive.read_bytes()
    open_archive(tmp_path / again).close()


def test_an_archive_of_before_there_were_places_and_terms_is_brought_back(archive, other, tmp_path):
    def as_before(entries):
        for name in ("place", "stay", "temperature_log", "temperature_day"):
            del entries[f"tables/{name}.csv"]
        later = {c.name: c.added_later for c in record_table("battery").columns}
        lines = list(csv.reader(io.StringIO(entries["tables/battery.csv"].decode(), newline="")))
        keep = [i for i, name in enumerate(lines[0]) if not later[name]]
        out = io.StringIO(newline="")
        csv.writer(out, lineterminator="\r\n").writerows([[row[i] for i in keep] for row in lines])
        entries["tables/battery.csv"] = out.getvalue().encode()

    old = spoiled(archive, tmp_path / "old.zip", as_before)
    records.restore_records(other, old)
    first = batteries.list_batteries(other, NOW.date()).shown[0]
    about = batteries.get_battery(other, first.id).details
    assert (about.waits_at_low_share, about.appliances, about.warranty_years) == (0.5, (), None)
