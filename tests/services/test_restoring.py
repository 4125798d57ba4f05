"""Going back to a backup: all of it or nothing, and never without a way back from there."""

import contextlib
import gzip
import os
import shutil
import sqlite3
import subprocess
import sys
from datetime import timedelta
from pathlib import Path

import pytest

from app.domain.errors import Refused, StorageTrouble
from app.services import backups, batteries, door, restoring
from app.services.backups import back_up_to
from app.services.checking import check_file
from app.services.restoring import restore_backup
from app.services.store import in_use, open_store
from app.settings import MIGRATIONS, ROOT
from app.storage.backup_files import backups_in
from app.storage.integrity import fingerprint, open_readonly
from tests.builders import NOW, battery_details

pytestmark = pytest.mark.data_file

RELEASED = Path(__file__).parent.parent / "storage" / "released" / "0001.db.gz"
LATER = NOW + timedelta(hours=1)


def open_at(folder):
    return open_store(folder, folder / "fadeline.db", folder / "staging", MIGRATIONS, 1000)


def names(folder):
    store = open_at(folder)
    try:
        return [report.name for report in batteries.list_batteries(store, NOW.date()).shown]
    finally:
        store.engine.dispose()


def held(path):
    with contextlib.closing(open_readonly(path)) as file:
        return fingerprint(file)


@pytest.fixture
def data(tmp_path):
    return tmp_path / "data"


@pytest.fixture
def database(data):
    return data / "fadeline.db"


@pytest.fixture
def saved(data):
    """A data file that has gone on since its backup."""
    store = open_at(data)
    batteries.add_battery(store, battery_details(name="then", notes="x" * 4000))
    path = backups.back_up(store.engine, NOW).path
    batteries.add_battery(store, battery_details(name="since"))
    store.engine.dispose()
    return path


def restore(database, file, **more):
    return restore_backup(database, MIGRATIONS, file, LATER, **more)


def refused(database, file, error=Refused):
    """The sentence of a refusal, after which everything is as it was."""
    before = held(database)
    there = sorted(database.parent.iterdir())
    with pytest.raises(error) as caught:
        restore(database, file)
    assert held(database) == before
    assert sorted(set(database.parent.iterdir()) - set(there)) == []
    assert [b for b in backups_in(database.parent / "backups") if b.made_at == LATER] == []
    return str(caught.value)


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
    old = tmp_path / "old.db"
    old.write_bytes(gzip.decompress(RELEASED.read_bytes()))
    before = old.read_bytes()
    done = restore(database, old)
    assert done.updated
    assert done.rows["discharge"] == 27
    assert len(names(data)) == 3
    assert check_file(database, MIGRATIONS).damages == ()
    assert old.read_bytes() == before, "the backup itself is left as it is"


def test_an_update_that_fails_changes_nothing(database, saved, tmp_path, monkeypatch):
    old = tmp_path / "old.db"
    old.write_bytes(gzip.decompress(RELEASED.read_bytes()))

    def fails(*_):
        raise StorageTrouble("Updating the data file would orphan 2 rows; it was left as it was.")

    monkeypatch.setattr(restoring, "upgrade", fails)
    assert "would orphan" in refused(database, old, StorageTrouble)


def test_what_is_no_backup_is_refused(database, saved, tmp_path):
    (tmp_path / "notes.txt").write_text("these are my notes")
    with contextlib.closing(sqlite3.connect(tmp_path / "other.db")) as other, other:
        other.execute("CREATE TABLE battery (x)")
    assert "got “" in refused(database, tmp_path / "notes.txt")
    assert "expected a backup" in refused(database, tmp_path / "gone.db")
    assert "expected a backup" in refused(database, database.parent)
    assert "this is the data file itself" in refused(database, database)
    assert "database of another program" in refused(database, tmp_path / "other.db")


def test_a_backup_of_a_newer_program_is_refused(database, saved):
    with contextlib.closing(sqlite3.connect(saved)) as file, file:
        file.execute("UPDATE alembic_version SET version_num = '9999'")
    assert "newer Fadeline" in refused(database, saved)


@pytest.mark.parametrize("share", [0.3, 0.7, 0.99])
def test_a_truncated_backup_is_refused(database, saved, share):
    data = saved.read_bytes()
    saved.write_bytes(data[: int(len(data) * share)])
    assert "an undamaged backup; try an older one" in refused(database, saved)


@pytest.mark.parametrize("at", [0.2, 0.4, 0.6, 0.8])
def test_a_backup_with_spoilt_pages_is_refused(database, saved, at):
    data = bytearray(saved.read_bytes())
    # A page is spoilt where it is used: inside the tree of the schema or of a table.
    page = int(len(data) * at) // 4096 * 4096
    data[page : page + 100] = bytes(byte ^ 0xFF for byte in data[page : page + 100])
    saved.write_bytes(data)
    sentence = refused(database, saved)
    assert "Found: " in sentence
    assert "--despite-damage" not in sentence


def test_damaged_values_are_refused_but_may_be_taken_as_they_are(data, database, saved):
    with contextlib.closing(sqlite3.connect(saved)) as file, file:
        file.execute("UPDATE battery SET rated_temperature_c = 999")
    sentence = refused(database, saved)
    assert "rated temperature c is “999.0”" in sentence
    assert "--despite-damage" in sentence
    restore(database, saved, despite_damage=True)
    assert names(data) == ["then"]


def test_while_the_data_file_is_in_use_nothing_is_restored(data, database, saved):
    store = open_at(data)
    with in_use(store):
        assert "is in use" in refused(database, saved)
        batteries.add_battery(store, battery_details(name="written meanwhile"))
    store.engine.dispose()
    restore(database, saved)
    assert names(data) == ["then"]


HOLDER = """
import sys
from pathlib import Path
from app.services.store import in_use, open_store
from app.settings import MIGRATIONS
folder = Path(sys.argv[1])
store = open_store(folder, folder / "fadeline.db", folder / "staging", MIGRATIONS, 1000)
with in_use(store):
    print("holding", flush=True)
    sys.stdin.read()
"""


def test_another_idle_program_is_seen_and_a_killed_one_is_not(data, database, saved):
    with subprocess.Popen(
        [sys.executable, "-c", HOLDER, str(data)],
        cwd=ROOT,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    ) as holder:
        assert holder.stdout.readline() == "holding\n"
        assert "is in use" in refused(database, saved)
        holder.kill()
        holder.wait(10)
    restore(database, saved)
    assert names(data) == ["then"]


def test_without_room_to_keep_what_is_there_nothing_is_restored(data, database, saved, monkeypatch):
    outcome = backups.BackupOutcome(LATER, None, "The disk is full.")
    monkeypatch.setattr(restoring, "back_up_from", lambda *_: outcome)
    assert "could not be backed up first, so nothing was changed" in refused(
        database, saved, StorageTrouble
    )


def test_a_damaged_data_file_is_kept_as_it_is_and_the_backup_restored(data, database, saved):
    with contextlib.closing(sqlite3.connect(database)) as file:
        (root,) = file.execute(
            "SELECT rootpage FROM sqlite_master WHERE name = 'ix_battery_deleted_at'"
        ).fetchone()
    spoilt = bytearray(database.read_bytes())
    spoilt[(root - 1) * 4096 : (root - 1) * 4096 + 50] = b"\xff" * 50
    database.write_bytes(spoilt)
    done = restore(database, saved)
    assert not done.kept.sound
    assert done.kept.path.name == "damaged-fadeline-2026-11-25T130000Z-before-restore.db"
    assert check_file(done.kept.path, MIGRATIONS).structure
    assert done.kept.path not in [backup.path for backup in backups_in(data / "backups")]
    assert names(data) == ["then"]


@pytest.mark.parametrize("content", [b"\0" * 9000, b"no database at all" * 300])
def test_a_data_file_that_sqlite_does_not_open_is_put_aside(data, database, saved, content):
    database.write_bytes(content)
    done = restore(database, saved)
    assert not done.kept.sound
    assert done.kept.path.read_bytes() == content
    assert names(data) == ["then"]


PUT = """
import os, sqlite3, sys
from pathlib import Path
from app.services import restoring
from app.settings import MIGRATIONS
from tests.services.test_restoring import LATER
real = sqlite3.Connection.backup
class Dying(sqlite3.Connection):
    def backup(self, target, **more):
        def die(status, left, total):
            if left < total // 2:
                os._exit(9)
        # A small cache, so that pages are in the file itself before the transaction ends.
        target.execute("PRAGMA cache_size=5")
        return super().backup(target, pages=5, progress=die)
connect = sqlite3.connect
def dying(path, *a, **k):
    if "restoring-" in str(path):
        k["factory"] = Dying
    return connect(path, *a, **k)
from app.storage import replacing
class Module:
    def __getattr__(self, name):
        return dying if name == "connect" else getattr(sqlite3, name)
replacing.sqlite3 = Module()
restoring.restore_backup(Path(sys.argv[1]), MIGRATIONS, Path(sys.argv[2]), LATER)
"""


def test_killed_in_the_middle_of_the_writing_the_old_contents_are_there(data, database, saved):
    before = names(data)
    with contextlib.closing(sqlite3.connect(database)) as file:
        file.execute("PRAGMA journal_mode=DELETE")
    content = database.read_bytes()
    done = subprocess.run(
        [sys.executable, "-c", PUT, str(database), str(saved)],
        cwd=ROOT,
        check=False,
        capture_output=True,
        text=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )
    assert done.returncode == 9, done.stderr
    assert (data / "fadeline.db-journal").is_file()
    assert database.read_bytes() != content, "it died with half of it written"
    assert names(data) == before == ["since", "then"]
    assert check_file(database, MIGRATIONS).damages == ()


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


def test_who_gets_in_stays_as_it_is_and_an_ended_session_does_not_come_back(store, tmp_path):
    door.set_passphrase(store, "copper lantern drift seven")
    ended = door.begin_session(store, NOW)
    (tmp_path / "stick").mkdir()
    kept = back_up_to(store.engine, str(tmp_path / "stick"), NOW).path
    door.set_passphrase(store, "seven drifting copper lamps")
    going_on = door.begin_session(store, NOW)
    database = Path(store.engine.url.database)
    store.engine.dispose()
    restore_backup(database, MIGRATIONS, kept, NOW)
    assert door.find_session(store, ended.secret, NOW, uses=False) is None
    assert door.find_session(store, going_on.secret, NOW, uses=False) == going_on.session
    assert not door.is_passphrase(store, "copper lantern drift seven")
    assert door.is_passphrase(store, "seven drifting copper lamps")


def test_a_backup_on_another_machine_brings_its_passphrase_and_no_session(store, tmp_path):
    door.set_passphrase(store, "copper lantern drift seven")
    door.begin_session(store, NOW)
    (tmp_path / "stick").mkdir()
    kept = back_up_to(store.engine, str(tmp_path / "stick"), NOW).path
    elsewhere = tmp_path / "other" / "fadeline.db"
    restore_backup(elsewhere, MIGRATIONS, kept, NOW)
    other = open_at(elsewhere.parent)
    assert door.is_passphrase(other, "copper lantern drift seven")
    assert door.list_sessions(other, NOW) == []
    other.engine.dispose()
