"""Going back to a backup: all of it is back, and there is a way back from there."""

import shutil
from datetime import timedelta
from pathlib import Path

import pytest

from app.domain.entities.discharge import ChargeCondition
from app.domain.entities.meter import MeterKind
from app.domain.entities.run import RunDetails
from app.domain.joining import PhoneStanding
from app.services.access import auth, joining
from app.services.backups import backups
from app.services.backups.backups import back_up_to
from app.services.backups.data_check import check_file
from app.services.backups.restoring import restore_backup
from app.services.entities import batteries, runs
from app.settings import MIGRATIONS
from tests.builders import NOW, battery_details
from tests.old_files import unpacked
from tests.services.restoring.backed_up import LATER, held, names, open_at, restore
from tests.web.auth_client import PASSPHRASE

pytestmark = pytest.mark.data_file


def test_what_was_then_is_back_and_what_was_since_is_kept(data, database, saved):
    done = restore(database, saved)
    assert names(data) == ["then"]
    assert done.kept.sound
    assert done.kept.path.name == "fadeline-2026-11-25T130000Z-before-restore.db"
    assert held(saved) != held(done.kept.path)
    restore(database, done.kept.path)
    assert names(data) == ["since", "then"], "and there is a way back from there"
    assert not [path.name for path in data.iterdir() if path.name.startswith("restoring")]


def test_the_folder_and_the_last_backup_are_this_machine_s(data, database, saved, tmp_path):
    (tmp_path / "stick").mkdir()
    store = open_at(data)
    backups.choose_folder(store.engine, str(tmp_path / "stick"))
    store.engine.dispose()
    done = restore(database, saved)
    store = open_at(data)
    assert backups.show_backups(store.engine).chosen == tmp_path / "stick"
    assert backups.kept_state(store.engine).good_path == done.kept.path
    assert done.kept.path.parent == tmp_path / "stick"
    assert backups.back_up(store.engine, LATER + timedelta(days=1)).trouble == ""
    store.engine.dispose()


def test_a_daily_backup_that_was_gone_back_to_keeps_no_backup_of_now_waiting(data, database):
    """Nothing in that file says that somebody is making one still."""
    store = open_at(data)
    daily = backups.back_up_when_due(store.engine, NOW).path
    store.engine.dispose()
    shutil.copy(daily, data / "elsewhere.db")
    done = restore_backup(database, MIGRATIONS, data / "elsewhere.db", NOW)
    for made in (daily, done.kept.path):
        made.unlink()
    store = open_at(data)
    soon = NOW + timedelta(minutes=10)
    assert backups.back_up_when_due(store.engine, soon) is not None
    store.engine.dispose()


def test_going_back_thins_no_backup_away(data, database):
    """Not the older ones of one day either, of which one may be what is gone back to next."""
    store = open_at(data)
    for hours in range(3):
        backups.back_up(store.engine, NOW + timedelta(hours=hours))
    store.engine.dispose()
    chosen, *others = sorted((data / "backups").glob("*.db"))
    month_later = NOW + timedelta(days=30)
    done = restore_backup(database, MIGRATIONS, chosen, month_later)
    assert {chosen, *others, done.kept.path} == set((data / "backups").glob("*.db"))
    store = open_at(data)
    backups.back_up(store.engine, month_later)
    left = {backup.path for backup in backups.show_backups(store.engine).backups}
    assert chosen not in left, "an ordinary one a month later thins that day"
    store.engine.dispose()


def test_a_new_machine_needs_nothing_but_the_backup(tmp_path, saved):
    new = tmp_path / "new" / "machine"
    done = restore(new / "fadeline.db", saved)
    assert done.kept is None
    assert done.rows["battery"] == 1
    assert names(new) == ["then"]


def test_a_backup_in_a_folder_that_takes_nothing_is_read_and_nothing_laid_beside_it(
    data, database, saved, tmp_path
):
    stick = tmp_path / "stick"
    stick.mkdir()
    file = Path(shutil.move(saved, stick))
    before = file.read_bytes()
    file.chmod(0o400)
    stick.chmod(0o500)
    try:
        restore(database, file)
        assert list(stick.iterdir()) == [file]
        assert file.read_bytes() == before
    finally:
        stick.chmod(0o700)
    assert names(data) == ["then"]


def test_a_backup_of_an_older_schema_is_updated_on_the_way(data, database, saved, tmp_path):
    old = unpacked("0001.db.gz", tmp_path / "old.db")
    before = old.read_bytes()
    done = restore(database, old)
    assert done.updated
    assert done.rows["discharge"] == 27
    assert len(names(data)) == 3
    assert check_file(database, MIGRATIONS).damages == ()
    assert old.read_bytes() == before, "the backup itself is left as it is"


def test_a_file_copied_by_hand_onto_a_write_protected_stick_is_read(
    data, database, saved, tmp_path
):
    """It still says that it has a write-ahead log, which cannot be made there."""
    names(data)
    stick = tmp_path / "stick"
    stick.mkdir()
    file = Path(shutil.copy(database, stick / "mine.db"))
    assert file.read_bytes()[18:20] == b"\2\2"
    file.chmod(0o400)
    stick.chmod(0o500)
    try:
        restore(tmp_path / "new" / "fadeline.db", file)
    finally:
        stick.chmod(0o700)
    assert names(tmp_path / "new") == ["since", "then"]


def test_who_gets_in_stays_as_it_is_and_an_ended_session_does_not_come_back(store, tmp_path, quick):
    auth.set_passphrase(store, PASSPHRASE)
    ended = auth.begin_session(store, NOW)
    (tmp_path / "stick").mkdir()
    kept = back_up_to(store.engine, str(tmp_path / "stick"), NOW).path
    auth.set_passphrase(store, "seven drifting copper lamps")
    going_on = auth.begin_session(store, NOW)
    battery = batteries.add_battery(store, battery_details())
    details = RunDetails(NOW, 0, ChargeCondition.FULL_RESTED, 0)
    run = runs.start_run(store, battery.id, details, MeterKind.SHUNT, NOW)
    phone = joining.join(store, run.id, joining.make_code(store, run.id, NOW).code, NOW)
    with_phone = back_up_to(store.engine, str(tmp_path / "stick"), NOW + timedelta(hours=1)).path
    database = Path(store.engine.url.database)
    store.engine.dispose()
    restore_backup(database, MIGRATIONS, kept, NOW)
    assert auth.find_session(store, ended.secret, NOW, uses=False) is None
    assert auth.find_session(store, going_on.secret, NOW, uses=False) == going_on.session
    assert not auth.is_passphrase(store, PASSPHRASE)
    assert auth.is_passphrase(store, "seven drifting copper lamps")
    store.engine.dispose()
    restore_backup(database, MIGRATIONS, with_phone, NOW)
    standing = joining.find_phone(store, run.id, phone, NOW, uses=False)
    assert standing is PhoneStanding.UNKNOWN


def test_a_backup_on_another_machine_brings_its_passphrase_and_no_session(store, tmp_path, quick):
    auth.set_passphrase(store, PASSPHRASE)
    auth.begin_session(store, NOW)
    (tmp_path / "stick").mkdir()
    kept = back_up_to(store.engine, str(tmp_path / "stick"), NOW).path
    elsewhere = tmp_path / "other" / "fadeline.db"
    restore_backup(elsewhere, MIGRATIONS, kept, NOW)
    other = open_at(elsewhere.parent)
    assert auth.is_passphrase(other, PASSPHRASE)
    assert auth.list_sessions(other, NOW) == []
    other.engine.dispose()
