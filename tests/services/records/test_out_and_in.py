"""All records go out into an archive and come back whole."""

import csv
import io
import shutil
import zipfile
from datetime import timedelta

import pytest
from sqlmodel import Session

from app.archive import limits
from app.archive.reader import open_archive
from app.domain.entities.discharge import ChargeCondition
from app.domain.entities.meter import MeterKind
from app.domain.entities.run import ReadingGiven, RunDetails
from app.domain.errors import InvalidInput
from app.ingest.text import UPLOAD_LIMIT_MB
from app.services.access import shares
from app.services.backups import backups
from app.services.entities import batteries, runs
from app.services.example.demo import fill_with_demo
from app.services.exchange import records_archive
from app.storage.records.tables_as_rows import record_table
from app.storage.schema.tables import SettingRow
from tests.archives import entries_of, exported, spoiled
from tests.builders import NOW
from tests.pictures import PHOTO
from tests.services.records.held import counts, everything


def test_every_table_of_the_example_holds_something(filled):
    assert [name for name, some in everything(filled).items() if not some] == []


def test_what_went_out_comes_back_byte_for_byte(filled, other, archive, tmp_path):
    report = records_archive.restore_records(other, archive)
    assert report.was_empty
    assert report.conflicts == ()
    assert everything(other) == everything(filled)
    assert exported(other, tmp_path / "b.zip") == archive.read_bytes()


def test_the_demo_comes_back_byte_for_byte(store, other, tmp_path):
    fill_with_demo(store)
    first = exported(store, tmp_path / "a.zip")
    records_archive.restore_records(other, tmp_path / "a.zip")
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
    assert readings == ["readings/0001.csv"]
    assert entries[readings[0]].splitlines()[0].decode().split(",") == [
        "test",
        "elapsed_s",
        "current_a",
        "voltage_v",
        "temperature_c",
        "gauge_percent",
        "counted_ah",
    ]
    assert len([name for name in entries if name.startswith("replaced/")]) == 2, "and a schema"
    assert [data for name, data in entries.items() if name.startswith("originals/")] == [
        b"time_s,A\r\n0,9\r\n36000,9\r\n"
    ]
    assert [data for name, data in entries.items() if name.startswith("photos/")] == [PHOTO]


def test_a_link_and_a_feed_go_on_working_where_they_are_restored(filled, other, tmp_path):
    share = shares.share_battery(filled, 1, "", None, NOW)
    word = runs.open_feed(filled, 1)
    exported(filled, tmp_path / "a.zip")
    records_archive.restore_records(other, tmp_path / "a.zip")
    assert shares.open_share(other, share.token, NOW).batteries[0].name == "Bench battery"
    given = ReadingGiven(NOW + timedelta(minutes=1), 9.0)
    assert runs.feed_readings(other, 1, word, [given], NOW).stored == 1


def test_links_can_be_left_out(filled, other, tmp_path):
    path = tmp_path / "a.zip"
    records_archive.export_records(filled, path, with_links=False)
    entries = entries_of(path)
    assert b"t" * 32 not in b"".join(entries.values())
    assert b"Read-only links were left out" in entries["README.txt"]
    records_archive.restore_records(other, path)
    assert everything(other)["share"] == everything(other)["share_beside"] == []
    again = tmp_path / "b.zip"
    records_archive.export_records(other, again, with_links=False)
    assert again.read_bytes() == path.read_bytes()


def test_looking_changes_nothing_and_says_what_would_come_in(filled, other, archive):
    looked = records_archive.look_at_archive(other, archive)
    assert not records_archive.holds_records(other)
    assert looked == records_archive.restore_records(other, archive)
    assert counts(looked)["Capacity tests"] == (1, 0, 0, 0)


def test_settings_alone_are_no_records(other, archive):
    with Session(other.engine) as session, session.begin():
        session.add(SettingRow(name="greeting", value="mine"))
    report = records_archive.restore_records(other, archive)
    assert report.was_empty
    (conflict,) = report.conflicts
    assert conflict.sentence == (
        "Setting “greeting”: yours differs and stays (Value: here “mine”, in the archive “”)."
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
    records_archive.restore_records(other, path)
    assert backups.show_backups(other.engine).chosen is None


def test_a_run_keeps_its_readings_and_goes_on(filled, other, archive):
    records_archive.restore_records(other, archive)
    view = runs.show_run(other, 1, NOW + timedelta(minutes=5))
    assert [one.given.current_a for one in view.readings] == [0.1 + 0.2]
    runs.note_reading(other, 1, ReadingGiven(NOW + timedelta(minutes=1), 9.0), NOW)
    details = RunDetails(NOW, 0, ChargeCondition.FULL, 0)
    with pytest.raises(InvalidInput, match="End the running test first"):
        runs.start_run(other, 2, details, MeterKind.SHUNT, NOW)


def test_a_file_from_a_form_always_fits_into_an_archive():
    assert limits.MAX_FILE_BYTES > UPLOAD_LIMIT_MB * 1_000_000


def test_an_archive_that_was_unpacked_and_packed_again_is_as_good(archive, other, tmp_path):
    with zipfile.ZipFile(archive) as opened:
        opened.extractall(tmp_path / "loose")
    again = shutil.make_archive(str(tmp_path / "again"), "zip", tmp_path / "loose")
    records_archive.restore_records(other, tmp_path / "again.zip")
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
    records_archive.restore_records(other, old)
    first = batteries.list_batteries(other, NOW.date()).shown[0]
    about = batteries.get_battery(other, first.id).details
    assert (about.waits_at_low_share, about.appliances, about.warranty_years) == (0.5, (), None)
