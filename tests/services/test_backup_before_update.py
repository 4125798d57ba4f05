"""An older data file is backed up before it is updated."""

import contextlib
import sqlite3

import pytest

from app.domain.errors import StorageError
from app.domain.records.backup import BackupReason
from app.services.backups import backups
from app.services.backups.data_check import check_file
from app.services.entities import batteries
from app.services.store import open_store
from app.settings import MIGRATIONS
from app.storage.backup.backup_files import backups_in
from app.storage.database.migrations import Standing
from tests.builders import NOW
from tests.old_files import unpacked
from tests.services.backing_up import full

pytestmark = pytest.mark.data_file


def released(folder, name="0001.db.gz"):
    return unpacked(name, folder / "fadeline.db")


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
    again = open_store(
        tmp_path / "again",
        tmp_path / "again" / "f.db",
        tmp_path,
        MIGRATIONS,
        5000,
    )
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
    with pytest.raises(StorageError, match=r"left as it is[.] The disk of .* is full"):
        open_store(tmp_path, database, tmp_path / "staging", MIGRATIONS, 5000)
    with contextlib.closing(sqlite3.connect(database)) as file:
        assert file.execute("SELECT version_num FROM alembic_version").fetchone() == ("0001",)
    assert len(before) == database.stat().st_size


@pytest.mark.parametrize("content", [b"", b"no database"])
def test_a_file_that_is_not_an_older_one_is_not_backed_up_first(tmp_path, content):
    (tmp_path / "f.db").write_bytes(content * 1000)
    with contextlib.suppress(StorageError):
        open_store(tmp_path, tmp_path / "f.db", tmp_path / "s", MIGRATIONS, 200).engine.dispose()
    assert not (tmp_path / "backups").exists()
