"""When a backup is made, where it goes, and what is said when that goes wrong."""

import contextlib
import gzip
import sqlite3
from datetime import timedelta
from pathlib import Path

import pytest

from app.domain.backup import BackupReason
from app.domain.errors import Refused, StorageTrouble
from app.services import backup_places, backups, batteries
from app.services.backup_places import NOTE_NAME
from app.services.checking import check_file
from app.services.store import open_store
from app.settings import MIGRATIONS
from app.storage import settings_kept
from app.storage.backup_files import BackupTrouble, backups_in
from app.storage.engine import writing
from app.storage.migrate import Standing
from tests.builders import NOW, battery_details

pytestmark = pytest.mark.data_file

RELEASED = Path(__file__).parent.parent / "storage" / "released"
DAY, HOUR = timedelta(days=1), timedelta(hours=1)


@pytest.fixture
def engine(store):
    batteries.add_battery(store, battery_details())
    return store.engine


@pytest.fixture
def default(engine):
    return backups.show_backups(engine).default


@pytest.fixture
def stick(tmp_path):
    made = tmp_path / "stick"
    made.mkdir()
    return made


@pytest.fixture
def chosen(engine, stick):
    backups.choose_folder(engine, str(stick))
    return stick


def full(monkeypatch, folder):
    """Let this folder's disk be full."""
    real = backup_places.copy_checked

    def copy(source, where, *rest):
        if where == folder:
            raise BackupTrouble(f"The disk of {where} is full.")
        return real(source, where, *rest)

    monkeypatch.setattr(backup_places, "copy_checked", copy)


def folder_of(engine):
    return backups.show_backups(engine).chosen


def note(engine, now=NOW):
    return backups.quiet_note(engine, now)


def test_without_a_choice_it_goes_beside_the_data_file(engine, default):
    assert note(engine) == "There is no backup yet."
    outcome = backups.back_up(engine, NOW)
    assert outcome.path.parent == default
    assert outcome.trouble == ""
    assert note(engine) == ""
    assert backups.show_backups(engine).state.good_path == outcome.path


def test_the_chosen_folder_takes_it_and_carries_a_note(engine, chosen, default):
    assert (chosen / NOTE_NAME).read_text().startswith("Fadeline puts backups")
    assert backups.back_up(engine, NOW).path.parent == chosen
    assert not default.exists()


def test_an_empty_choice_goes_back_beside_the_data_file_and_keeps_the_old_ones(
    engine, chosen, default
):
    made = backups.back_up(engine, NOW).path
    backups.choose_folder(engine, "")
    assert backups.back_up(engine, NOW).path.parent == default
    assert made.exists()
    backups.choose_folder(engine, str(default))
    assert folder_of(engine) is None


def test_a_backup_a_day_is_due_and_no_more(engine):
    assert backups.back_up_when_due(engine, NOW) is not None
    for later in (timedelta(0), HOUR, DAY - HOUR):
        assert backups.back_up_when_due(engine, NOW + later) is None
    assert backups.back_up_when_due(engine, NOW + DAY) is not None


def test_a_clock_that_was_set_back_does_not_stop_the_backups(engine):
    backups.back_up(engine, NOW + 3000 * DAY)
    assert backups.back_up_when_due(engine, NOW) is not None
    assert note(engine) == ""


def test_a_backup_that_was_cut_short_does_not_count(engine):
    made = backups.back_up(engine, NOW).path
    made.write_bytes(made.read_bytes()[:1000])
    assert backups.back_up_when_due(engine, NOW + HOUR) is not None
    assert [backup.whole for backup in backups.show_backups(engine).backups] == [True, False]


def test_an_unplugged_stick_is_said_and_the_other_folder_stands_in(engine, chosen, default):
    gone = chosen.rename(chosen.with_name("gone"))
    outcome = backups.back_up_when_due(engine, NOW)
    assert outcome.path.parent == default
    assert "is not there. Was its disk unplugged?" in outcome.trouble
    assert f"went to {default} instead" in outcome.trouble
    assert not chosen.exists(), "no folder is made where the stick should be"
    assert note(engine) == "The last backup had trouble."
    assert backups.back_up_when_due(engine, NOW + HOUR) is None, "one a day stands in"
    gone.rename(chosen)
    outcome = backups.back_up_when_due(engine, NOW + HOUR)
    assert outcome.path.parent == chosen, "back again it wants one at once"
    assert note(engine, NOW + HOUR) == ""


def test_an_empty_place_where_the_stick_was_is_not_taken_for_it(engine, chosen, default):
    (chosen / NOTE_NAME).unlink()
    outcome = backups.back_up(engine, NOW)
    assert outcome.path.parent == default
    assert "choose it again" in outcome.trouble
    assert list(chosen.iterdir()) == []


def test_a_folder_of_another_data_file_is_left_to_it(engine, chosen, default, tmp_path):
    """Two that thinned one folder would each remove what the other needs."""
    database = tmp_path / "other" / "f.db"
    other = open_store(database.parent, database, tmp_path / "other" / "s", MIGRATIONS, 200)
    backups.back_up(engine, NOW)
    assert "holds backups of another data file" in refused(other.engine, str(chosen))
    backups.choose_folder(engine, str(chosen))
    text = (chosen / NOTE_NAME).read_text()
    (chosen / NOTE_NAME).write_text(text.replace(text[-20:], "0" * 18 + ".\n"))
    outcome = backups.back_up(engine, NOW)
    assert outcome.path.parent == default
    assert "another data file's note" in outcome.trouble
    other.engine.dispose()


def test_a_full_stick_is_said_and_tried_again_without_filling_the_other(
    engine, chosen, default, monkeypatch
):
    full(monkeypatch, chosen)
    assert backups.back_up_when_due(engine, NOW).path.parent == default
    again = backups.back_up_when_due(engine, NOW + HOUR)
    assert again.path is None
    assert "full" in again.trouble
    assert len(backups_in(default)) == 1
    state = backups.kept_state(engine)
    assert state.last.path is None
    assert state.good_at == NOW, "the last good one is still known"


def test_where_no_folder_takes_it_that_is_said_and_nothing_raised(engine, chosen, monkeypatch):
    def copy(*_):
        raise BackupTrouble("It is full.")

    monkeypatch.setattr(backup_places, "copy_checked", copy)
    outcome = backups.back_up(engine, NOW)
    assert outcome.path is None
    assert outcome.trouble == "It is full. It is full."
    assert note(engine) == "The last backup had trouble."


def test_a_default_folder_that_is_a_file_is_said(engine, default):
    default.write_text("in the way")
    outcome = backups.back_up(engine, NOW)
    assert outcome.path is None
    assert "cannot be made" in outcome.trouble or "is a file" in outcome.trouble
    assert default.read_text() == "in the way"


@pytest.mark.parametrize("days", [8, 30])
def test_an_old_backup_is_said(engine, days):
    backups.back_up(engine, NOW)
    assert note(engine, NOW + 7 * DAY) == ""
    assert note(engine, NOW + days * DAY) == f"The last good backup is {days} days old."


def test_a_good_backup_that_was_removed_by_hand_is_no_longer_shown(engine):
    first = backups.back_up(engine, NOW - DAY).path
    second = backups.back_up(engine, NOW).path
    second.unlink()
    state = backups.show_backups(engine).state
    assert (state.good_at, state.good_path) == (NOW - DAY, first)


@pytest.mark.parametrize("text", ["{", "[]", '{"at": "soon"}', '{"good_at": "2026-01-01"}', "7"])
def test_an_unreadable_state_is_none(engine, text):
    with writing(engine) as session:
        settings_kept.put(session, backups.STATE_SETTING, text)
    assert note(engine) == "There is no backup yet."
    assert backups.back_up(engine, NOW).path is not None
    assert note(engine) == ""


def test_a_state_that_cannot_be_written_down_costs_no_backup(engine, monkeypatch, caplog):
    held = sqlite3.connect(engine.url.database, isolation_level=None)
    held.execute("BEGIN IMMEDIATE")
    with contextlib.closing(held):
        assert backups.back_up(engine, NOW).path.is_file()
    assert "could not be written down" in caplog.text


def refused(engine, text):
    with pytest.raises(Refused) as caught:
        backups.choose_folder(engine, text)
    (problem,) = caught.value.problems
    assert problem.field == "folder"
    return problem.sentence


def test_a_folder_that_cannot_be_is_refused_and_the_choice_stays(engine, chosen, tmp_path):
    (tmp_path / "file").write_text("in the way")
    assert "whole path" in refused(engine, "backups")
    assert "this is a file" in refused(engine, str(tmp_path / "file"))
    assert "used (Not a directory)" in refused(engine, str(tmp_path / "file" / "in"))
    assert "a folder that is there" in refused(engine, str(tmp_path / "no" / "such"))
    assert "too long" in refused(engine, str(tmp_path / ("x" * 300)))
    data = Path(str(engine.url.database)).parent
    assert "outside" in refused(engine, str(data))
    assert "outside" in refused(engine, str(data / "staging"))
    assert not (tmp_path / "no").exists()
    assert folder_of(engine) == chosen


def test_a_folder_that_cannot_be_written_to_is_refused(engine, stick, monkeypatch):
    def denied(*_, **__):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "write_text", denied)
    assert "can be written to (Permission denied)" in refused(engine, str(stick))
    assert folder_of(engine) is None


def test_a_new_folder_in_one_that_is_there_is_made(engine, stick):
    backups.choose_folder(engine, str(stick / "fadeline"))
    assert backups.back_up(engine, NOW).path.parent == stick / "fadeline"


def test_a_folder_of_this_once_is_not_thinned(engine, stick):
    for days in range(3):
        for hours in range(3):
            moment = NOW - 30 * DAY - days * DAY - hours * HOUR
            assert backups.back_up_to(engine, str(stick), moment).path.parent == stick
    backups.back_up_to(engine, str(stick), NOW)
    assert len(backups_in(stick)) == 10
    assert not (stick / NOTE_NAME).exists()


def test_the_daily_one_thins_its_folder(engine):
    for hours in range(30):
        backups.back_up(engine, NOW + hours * HOUR)
    backups.back_up(engine, NOW + 10 * DAY)
    left = [backup.made_at for backup in backups.show_backups(engine).backups]
    assert len(left) == 2
    assert left[0] == NOW + 10 * DAY


def released(folder, name="0001.db.gz"):
    database = folder / "fadeline.db"
    database.write_bytes(gzip.decompress((RELEASED / name).read_bytes()))
    return database


def test_a_migration_leaves_a_backup_of_the_old_file_that_opens(tmp_path):
    database = released(tmp_path)
    store = open_store(tmp_path, database, tmp_path / "staging", MIGRATIONS, 5000)
    (kept,) = backups_in(tmp_path / "backups")
    assert kept.reason is BackupReason.BEFORE_UPDATE
    checked = check_file(kept.path, MIGRATIONS)
    assert (checked.standing, checked.damages) == (Standing.OLDER, ())
    assert checked.rows["discharge"] == 27
    assert backups.kept_state(store.engine).good_path == kept.path
    store.engine.dispose()
    again = open_store(tmp_path / "again", tmp_path / "again" / "f.db", tmp_path, MIGRATIONS, 5000)
    again.engine.dispose()
    open_store(tmp_path, database, tmp_path / "staging", MIGRATIONS, 5000).engine.dispose()
    assert backups_in(tmp_path / "backups") == [kept], "a second start needs none"
    assert not (tmp_path / "again" / "backups").exists(), "nor does a new file"


def test_an_old_backup_goes_through_the_same_migration(tmp_path):
    open_store(tmp_path, released(tmp_path), tmp_path / "s", MIGRATIONS, 5000).engine.dispose()
    (kept,) = backups_in(tmp_path / "backups")
    store = open_store(kept.path.parent, kept.path, tmp_path / "s", MIGRATIONS, 5000)
    reports = batteries.list_batteries(store, NOW.date()).shown
    assert sum(len(report.tests) for report in reports) == 26
    store.engine.dispose()


def test_nothing_is_updated_without_a_way_back(tmp_path, monkeypatch):
    database = released(tmp_path)
    before = database.read_bytes()
    full(monkeypatch, tmp_path / "backups")
    with pytest.raises(StorageTrouble, match=r"left as it is[.] The disk of .* is full"):
        open_store(tmp_path, database, tmp_path / "staging", MIGRATIONS, 5000)
    with contextlib.closing(sqlite3.connect(database)) as file:
        assert file.execute("SELECT version_num FROM alembic_version").fetchone() == ("0001",)
    assert len(before) == database.stat().st_size


@pytest.mark.parametrize("content", [b"", b"no database"])
def test_a_file_that_is_not_an_older_one_is_not_backed_up_first(tmp_path, content):
    (tmp_path / "f.db").write_bytes(content * 1000)
    with contextlib.suppress(StorageTrouble):
        open_store(tmp_path, tmp_path / "f.db", tmp_path / "s", MIGRATIONS, 200).engine.dispose()
    assert not (tmp_path / "backups").exists()
