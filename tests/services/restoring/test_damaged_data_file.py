"""A data file that is damaged, or left half written, is no reason to lose anything."""

import contextlib
import sqlite3

import pytest

from app.services.backups.data_check import check_file
from app.settings import MIGRATIONS
from app.storage.backup.backup_files import backups_in
from tests.concurrency import run_through
from tests.services.restoring.backed_up import names, restore

pytestmark = pytest.mark.data_file


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
from app.services.backups import restoring
from app.settings import MIGRATIONS
from tests.services.restoring.backed_up import LATER
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
from app.storage.backup import replace_contents as replacing
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
    ended, _, errors = run_through(PUT, database, saved)
    assert ended == 9, errors
    assert (data / "fadeline.db-journal").is_file()
    assert database.read_bytes() != content, "it died with half of it written"
    assert names(data) == before == ["since", "then"]
    assert check_file(database, MIGRATIONS).damages == ()
