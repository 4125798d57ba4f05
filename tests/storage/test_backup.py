"""Copies of a data file: made under way, compared, and gone without a trace where they fail."""

import contextlib
import errno
import os
import shutil
import sqlite3
import subprocess
import sys
import threading
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from app.domain.backup import BackupReason, backup_name, read_backup_name
from app.services import batteries
from app.services.store import open_store
from app.settings import MIGRATIONS, ROOT
from app.storage import backup
from app.storage.backup import SourceTrouble, Stopped, copy_checked, opened_source
from app.storage.backup_files import BackupTrouble, backups_in, sweep, thin
from app.storage.integrity import fingerprint, open_readonly, structural_damage
from tests.builders import NOW, battery_details

pytestmark = pytest.mark.data_file

WRITER = """
import sys
from pathlib import Path
from app.services import batteries
from app.services.store import Store
from app.storage.engine import make_engine
from tests.builders import battery_details
store = Store(make_engine(Path(sys.argv[1])), Path("unused"))
for number in range(1000):
    batteries.add_battery(store, battery_details(name=f"written {number}", notes="n" * 2000))
    print(number + 1, flush=True)
"""


@pytest.fixture
def database(tmp_path):
    """A data file of some megabytes."""
    store = open_store(
        tmp_path / "data", tmp_path / "data" / "f.db", tmp_path / "data" / "s", MIGRATIONS, 5000
    )
    for number in range(30):
        batteries.add_battery(store, battery_details(name=f"old {number}", notes="x" * 4000))
    store.engine.dispose()
    path = tmp_path / "data" / "f.db"
    with contextlib.closing(sqlite3.connect(path)) as file, file:
        file.execute("CREATE TABLE ballast (x)")
        file.executemany("INSERT INTO ballast VALUES (randomblob(100000))", [()] * 100)
    return path


@pytest.fixture
def folder(tmp_path):
    made = tmp_path / "stick"
    made.mkdir()
    return made


def copy(database, folder, now=NOW, reason=BackupReason.ROUTINE, **more):
    with opened_source(database) as source:
        return copy_checked(source, folder, now, reason, **more)


def names(folder):
    return sorted(path.name for path in folder.iterdir())


def test_a_copy_opens_alone_holds_the_same_and_is_named_after_its_moment(database, folder):
    made = copy(database, folder)
    assert names(folder) == ["fadeline-2026-11-25T120000Z.db"]
    assert (made.made_at, made.whole) == (NOW, True)
    with contextlib.closing(open_readonly(made.path)) as one:
        assert one.execute("PRAGMA journal_mode").fetchone() == ("delete",)
        with contextlib.closing(open_readonly(database)) as other:
            assert fingerprint(one) == fingerprint(other)
    assert names(folder) == [made.path.name], "opening it lays nothing beside it"


def test_a_copy_during_a_thousand_writes_loses_none_that_was_acknowledged(database, folder):
    writer = subprocess.Popen(
        [sys.executable, "-c", WRITER, str(database)],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )
    acknowledged = [0]

    def listen():
        for line in writer.stdout:
            acknowledged.append(int(line))

    listener = threading.Thread(target=listen)
    listener.start()
    overlapped = 0
    taken = []
    while acknowledged[-1] < 1000 and writer.poll() is None:
        if acknowledged[-1] == 0:
            time.sleep(0.01)
            continue
        before = acknowledged[-1]
        made = copy(database, folder, NOW + timedelta(seconds=len(taken)))
        overlapped += before < acknowledged[-1] < 1000
        taken.append((before, made))
    listener.join()
    writer.stdout.close()
    assert writer.wait(60) == 0
    assert acknowledged[-1] == 1000
    assert overlapped >= 3, "backups were really made while somebody wrote"
    for before, made in taken:
        with contextlib.closing(open_readonly(made.path)) as file:
            assert structural_damage(file) == []
            query = "SELECT name FROM battery WHERE name LIKE 'written %' ORDER BY id"
            stored = [name for (name,) in file.execute(query)]
        assert stored == [f"written {number}" for number in range(len(stored))]
        assert len(stored) >= before


def test_a_writer_goes_on_while_a_copy_is_held_in_the_middle(database, folder):
    """The copy waits at its first step until five writes were acknowledged by the same file."""
    seen = []

    def writes():
        if not seen:
            with contextlib.closing(sqlite3.connect(database, timeout=0.1)) as other:
                for number in range(5):
                    with other:
                        other.execute("INSERT INTO ballast VALUES (?)", (number,))
                    seen.append(number)
        return True

    made = copy(database, folder, going_on=writes)
    assert seen == [0, 1, 2, 3, 4]
    with contextlib.closing(open_readonly(made.path)) as file:
        assert file.execute("SELECT count(*) FROM ballast").fetchone() == (100,)


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
        monkeypatch.setattr(backup.os, "fsync", full)
    else:
        monkeypatch.setattr(backup, failing, full)
    with pytest.raises(BackupTrouble, match="is full"):
        copy(database, folder, NOW + timedelta(hours=1))
    assert names(folder) == [before.path.name]
    assert before.path.read_bytes() == content


def test_a_disk_without_room_for_it_is_not_begun(database, folder, monkeypatch):
    monkeypatch.setattr(backup.shutil, "disk_usage", lambda _: shutil._ntuple_diskusage(9, 8, 1000))
    with pytest.raises(BackupTrouble, match=r"needs 3\d MB .*0 MB are free"):
        copy(database, folder)
    assert names(folder) == []


@pytest.mark.skipif(sys.platform == "win32", reason="limits of file sizes are POSIX")
def test_a_write_that_fails_in_the_middle_leaves_no_trace(database, folder):
    """A real failing write: the system refuses to let any file grow past a megabyte."""
    code = (
        "import resource, sys; from pathlib import Path\n"
        "from tests.storage.test_backup import copy\n"
        "from app.storage.backup_files import BackupTrouble\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (1_000_000, 1_000_000))\n"
        "try: copy(Path(sys.argv[1]), Path(sys.argv[2]))\n"
        "except BackupTrouble as trouble: print(trouble)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(database), str(folder)],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )
    assert "gives an error" in done.stdout
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
    flush = backup._flush

    def spoil(part):
        data = bytearray(part.read_bytes())
        at = data.find(b"x" * 3000)
        data[at + 100] ^= 1
        part.write_bytes(data)
        with contextlib.closing(open_readonly(part)) as file:
            assert structural_damage(file) == []
        flush(part)

    monkeypatch.setattr(backup, "_flush", spoil)
    with pytest.raises(BackupTrouble, match="does not read back as it was") as caught:
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
    with pytest.raises(SourceTrouble, match=r"damaged .*battery that is not there.*fadeline check"):
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


def test_a_program_told_to_stop_breaks_the_copy_off(database, folder):
    with pytest.raises(Stopped):
        copy(database, folder, going_on=lambda: False)
    assert names(folder) == []


def test_two_in_one_second_both_get_a_name(database, folder):
    assert copy(database, folder).made_at == NOW
    assert copy(database, folder).made_at == NOW + timedelta(seconds=1)
    assert len(backups_in(folder)) == 2


def test_two_at_once_never_write_to_the_same_file(database, folder):
    made = []
    # The real moment: what is half written is told from what was left by the time of its file.
    now = datetime.now(UTC)
    threads = [
        threading.Thread(target=lambda: made.append(copy(database, folder, now))) for _ in range(4)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len({one.path for one in made}) == 4
    assert len(names(folder)) == 4


def test_half_copies_of_a_killed_program_are_swept_and_young_ones_are_not(folder):
    old, young = (folder / f"{backup_name(NOW, reason)}.part" for reason in list(BackupReason)[:2])
    for part in (old, young, folder / "diary.part"):
        part.write_bytes(b"half")
        os.utime(part, (NOW.timestamp() - 60,) * 2)
    os.utime(old, (NOW.timestamp() - 7200,) * 2)
    os.utime(folder / "diary.part", (0, 0))
    sweep(folder, NOW)
    assert names(folder) == sorted([young.name, "diary.part"])


def test_thinning_touches_nothing_but_its_own_and_each_kind_by_itself(database, folder):
    whole = copy(database, folder, NOW).path.read_bytes()
    for days in range(1, 30):
        for reason in (BackupReason.ROUTINE, BackupReason.BEFORE_UPDATE):
            (folder / backup_name(NOW - timedelta(days=days), reason)).write_bytes(whole)
    others = ("holiday.jpg", "fadeline-copy.db", "fadeline-2020-01-01T000000Z.db.bak")
    for name in others:
        (folder / name).write_text("mine")
    cut = folder / backup_name(NOW - timedelta(hours=30), BackupReason.ROUTINE)
    cut.write_bytes(whole[:5000])
    removed = thin(folder, NOW)
    assert removed
    assert {*others, cut.name} <= set(names(folder))
    assert [b.whole for b in backups_in(folder) if b.path == cut] == [False]
    updates = [b for b in backups_in(folder) if b.reason is BackupReason.BEFORE_UPDATE]
    assert updates[0].made_at == NOW - timedelta(days=1), "the last before an update stays"
    assert 10 <= len(updates) <= 13


def test_names_sort_by_their_moment_and_read_back():
    for reason in BackupReason:
        assert read_backup_name(backup_name(NOW, reason)) == (NOW, reason)
    earlier = backup_name(NOW - timedelta(seconds=1), BackupReason.BEFORE_RESTORE)
    assert earlier < backup_name(NOW, BackupReason.ROUTINE)
    for other in (
        "fadeline.db",
        "fadeline-2026-13-01T000000Z.db",
        "x" + earlier,
        earlier + ".part",
    ):
        assert read_backup_name(other) is None
