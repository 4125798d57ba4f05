"""A copy that cannot be made says why and leaves no trace."""

import contextlib
import errno
import os
import shutil
import sqlite3
import sys
from datetime import timedelta
from pathlib import Path

import pytest

from app.storage.backup import online_backup
from app.storage.backup.backup_files import BackupTrouble
from app.storage.backup.integrity import open_readonly, structural_damage
from app.storage.backup.online_backup import SourceTrouble
from tests.builders import NOW
from tests.concurrency import run_through
from tests.storage.copies import copy, names

pytestmark = pytest.mark.data_file


def full(*_):
    raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def denied(*_):
    raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))


@pytest.mark.parametrize("failing", ["copy_pages", "_flush", "_flush_folder"])
def test_a_disk_that_fills_up_is_a_sentence_and_leaves_no_trace(
    database, folder, failing, monkeypatch
):
    before = copy(database, folder)
    content = before.path.read_bytes()
    if failing == "_flush_folder":
        monkeypatch.setattr(online_backup.os, "fsync", full)
    else:
        monkeypatch.setattr(online_backup, failing, full)
    with pytest.raises(BackupTrouble, match="is full"):
        copy(database, folder, NOW + timedelta(hours=1))
    assert names(folder) == [before.path.name]
    assert before.path.read_bytes() == content


def test_a_disk_without_room_for_it_is_not_begun(database, folder, monkeypatch):
    monkeypatch.setattr(
        online_backup.shutil, "disk_usage", lambda _: shutil._ntuple_diskusage(9, 8, 1000)
    )
    with pytest.raises(BackupTrouble, match=r"needs 3\d MB .*0 MB are free"):
        copy(database, folder)
    assert names(folder) == []


@pytest.mark.skipif(sys.platform == "win32", reason="limits of file sizes are POSIX")
def test_a_write_that_fails_in_the_middle_leaves_no_trace(database, folder):
    """A real failing write: the system refuses to let any file grow past a megabyte."""
    code = (
        "import resource, sys; from pathlib import Path\n"
        "from tests.storage.copies import copy\n"
        "from app.storage.backup.backup_files import BackupTrouble\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (1_000_000, 1_000_000))\n"
        "try: copy(Path(sys.argv[1]), Path(sys.argv[2]))\n"
        "except BackupTrouble as trouble: print(trouble)\n"
    )
    ended, said, errors = run_through(code, database, folder)
    assert ended == 0, errors
    assert "gives an error" in said
    assert names(folder) == []


def test_a_folder_that_vanishes_midway_is_a_sentence(database, folder):
    asked = []

    def unplugs():
        asked.append(1)
        if len(asked) == 2:
            shutil.rmtree(folder)
        return True

    with pytest.raises(BackupTrouble, match="is not there"):
        copy(database, folder, going_on=unplugs)
    assert not folder.exists()


def test_a_folder_that_is_a_file_is_a_sentence(database, tmp_path):
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(BackupTrouble, match="is a file, not a folder"):
        copy(database, tmp_path / "file")
    assert (tmp_path / "file").read_text() == "in the way"


def test_a_folder_that_cannot_be_written_to_is_a_sentence(database, folder, monkeypatch):
    monkeypatch.setattr(Path, "open", denied)
    with pytest.raises(BackupTrouble, match="cannot be written to"):
        copy(database, folder)
    assert names(folder) == []


@pytest.mark.skipif(
    sys.platform == "win32" or os.geteuid() == 0, reason="rights do not bind the administrator"
)
def test_a_folder_without_rights_is_a_sentence(database, folder):
    folder.chmod(0o500)
    with pytest.raises(BackupTrouble, match="cannot be written to"):
        copy(database, folder)
    folder.chmod(0o700)
    assert names(folder) == []


def test_a_copy_whose_bytes_are_spoilt_on_the_way_never_gets_its_name(
    database, folder, monkeypatch
):
    """One bit inside a stored value: SQLite's own checks do not see it."""
    flush = online_backup._flush

    def spoil(part):
        data = bytearray(part.read_bytes())
        at = data.find(b"x" * 3000)
        data[at + 100] ^= 1
        part.write_bytes(data)
        with contextlib.closing(open_readonly(part)) as file:
            assert structural_damage(file) == []
        flush(part)

    monkeypatch.setattr(online_backup, "_flush", spoil)
    with pytest.raises(BackupTrouble, match="does not match the data file") as caught:
        copy(database, folder)
    assert not isinstance(caught.value, SourceTrouble)
    assert names(folder) == []


def test_a_damaged_data_file_makes_no_backup_and_is_called_damaged(database, folder):
    good = copy(database, folder)
    with contextlib.closing(sqlite3.connect(database)) as file, file:
        file.execute("PRAGMA foreign_keys=OFF")
        file.execute(
            "INSERT INTO event (uid, battery_id, on_date, kind, note, version) "
            "VALUES ('0', 999, '2026-01-01', 'other', '', 1)"
        )
    with pytest.raises(SourceTrouble, match=r"battery that is not there.*fadeline check"):
        copy(database, folder, NOW + timedelta(hours=1))
    assert names(folder) == [good.path.name]


@pytest.mark.parametrize("content", [b"", b"no database at all, not even close" * 300])
def test_what_is_no_data_file_makes_no_backup(tmp_path, folder, content):
    (tmp_path / "f.db").write_bytes(content)
    with pytest.raises(SourceTrouble):
        copy(tmp_path / "f.db", folder)
    assert names(folder) == []


def test_a_data_file_that_is_not_there_makes_no_backup_and_no_data_file(tmp_path, folder):
    with pytest.raises(SourceTrouble, match="no data file"):
        copy(tmp_path / "f.db", folder)
    assert not (tmp_path / "f.db").exists()
