"""A backup that cannot be gone back to is refused, and everything stays as it was."""

import contextlib
import sqlite3
import subprocess

import pytest

from app.domain.errors import InvalidInput, StorageError
from app.services.backups import backups, restoring
from app.services.entities import batteries
from app.services.store import in_use
from app.storage.backup.backup_files import backups_in
from tests.builders import battery_details
from tests.concurrency import process
from tests.old_files import unpacked
from tests.services.restoring.backed_up import LATER, held, names, open_at, restore

pytestmark = pytest.mark.data_file


def refused(database, file, error=InvalidInput):
    """The sentence of a refusal, after which everything is as it was."""
    before = held(database)
    there = sorted(database.parent.iterdir())
    with pytest.raises(error) as caught:
        restore(database, file)
    assert held(database) == before
    assert sorted(set(database.parent.iterdir()) - set(there)) == []
    assert [b for b in backups_in(database.parent / "backups") if b.made_at == LATER] == []
    return str(caught.value)


def test_an_update_that_fails_changes_nothing(database, saved, tmp_path, monkeypatch):
    old = unpacked("0001.db.gz", tmp_path / "old.db")

    def fails(*_):
        raise StorageError("Updating the data file would leave 2 rows without what they belong to.")

    monkeypatch.setattr(restoring, "upgrade", fails)
    assert "would leave 2 rows" in refused(database, old, StorageError)


def test_what_is_no_backup_is_refused(database, saved, tmp_path):
    (tmp_path / "notes.txt").write_text("these are my notes")
    with contextlib.closing(sqlite3.connect(tmp_path / "other.db")) as other, other:
        other.execute("CREATE TABLE battery (x)")
    assert "It needs a backup" in refused(database, tmp_path / "notes.txt")
    assert "It needs a file that is there" in refused(database, tmp_path / "gone.db")
    assert "It needs a backup" in refused(database, database.parent)
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
    with process(HOLDER, data, stdin=subprocess.PIPE) as holder:
        assert holder.stdout.readline() == "holding\n"
        assert "is in use" in refused(database, saved)
        holder.kill()
        holder.wait(10)
    restore(database, saved)
    assert names(data) == ["then"]


KILLED = """
import os, sys
from datetime import UTC, datetime
from pathlib import Path
from app.services.backups import restoring
from app.settings import MIGRATIONS
restoring.put_into = lambda *_: os._exit(9)
restoring.restore_backup(Path(sys.argv[1]), MIGRATIONS, Path(sys.argv[2]), datetime.now(UTC))
"""


def test_what_a_killed_restore_left_goes_with_the_next_one(data, database, saved):
    own = data / "restoring-my-own"
    own.mkdir()
    with process(KILLED, database, saved) as killed:
        assert killed.wait(60) == 9
    (left,) = set(data.glob("restoring-*")) - {own}
    assert (left / database.name).stat().st_size > 100_000
    restore(database, saved)
    assert list(data.glob("restoring-*")) == [own]


def test_without_room_to_keep_what_is_there_nothing_is_restored(data, database, saved, monkeypatch):
    outcome = backups.BackupOutcome(LATER, None, "The disk is full.")
    monkeypatch.setattr(restoring, "back_up_from", lambda *_: outcome)
    assert "could not be backed up first, so nothing was changed" in refused(
        database, saved, StorageError
    )
