"""One checked copy of the data file, made while it is in use.

Of four ways to copy, measured on a file of 100 MB while another process wrote without a pause:

- SQLite's backup in steps begins anew after every write of somebody else: not done after 12 s.
- The same in one step is done in 0.2 s, but cannot be broken off when the program is told to stop.
- The same in steps inside a read transaction: 0.15 s, never begun anew, can be broken off. The
  transaction pins one state of the write-ahead log; writers go on writing behind it and wait for
  nothing, the log alone cannot be folded into the file until the copy is done.
- VACUUM INTO: 0.2 s, a snapshot too, but it writes the file anew instead of copying it.

The third is what is done here.
"""

import contextlib
import errno
import os
import shutil
import sqlite3
from collections.abc import Callable, Iterator
from datetime import datetime
from pathlib import Path

from app.domain.i18n.message import say
from app.domain.records.backup import Backup, BackupReason, read_backup_name
from app.storage.backup.backup_files import BackupTrouble, reserved, sweep
from app.storage.backup.integrity import (
    fingerprint,
    open_readonly,
    schema_version,
    structural_damage,
)

STEP_PAGES = 1000
# A backup never takes the last of the disk that the data themselves may lie on.
LEFT_FREE_BYTES = 20_000_000


class SourceTrouble(BackupTrouble):
    """The data file itself is in trouble: no other folder would help."""


class Stopped(BackupTrouble):
    """The program is told to stop; nothing of the copy is left."""


def go_on() -> bool:
    """For a copy that nothing breaks off."""
    return True


@contextlib.contextmanager
def opened_source(database: Path, busy_timeout_ms: int = 5000) -> Iterator[sqlite3.Connection]:
    """The data file to copy from. Raises SourceTrouble."""
    if not database.is_file():
        raise SourceTrouble(say("There is no data file {file}.", file=database))
    with saying_source_trouble():
        address = f"{database.resolve().as_uri()}?mode=rw"
        source = sqlite3.connect(
            address, uri=True, isolation_level=None, timeout=busy_timeout_ms / 1000
        )
    with contextlib.closing(source):
        yield source


def copy_checked(
    source: sqlite3.Connection,
    folder: Path,
    made_at: datetime,
    reason: BackupReason,
    going_on: Callable[[], bool] = go_on,
) -> Backup:
    """Copy a data file into a folder, read the copy again and compare, then give it its name.

    Nothing is left of a copy that fails, and no older one is touched. going_on is asked between
    steps. Raises BackupTrouble, SourceTrouble and Stopped.
    """
    with _saying_folder_trouble(folder), _snapshot(source):
        _check_room(source, folder)
        sweep(folder, made_at)
        with reserved(folder, made_at, reason) as (part, final):
            copy_pages(source, part, going_on)
            _flush(part)
            _compare(source, part, folder)
            part.rename(final)
            _flush_folder(folder)
            named = read_backup_name(final.name) or (made_at, reason)
            return Backup(final, *named, final.stat().st_size, whole=True)


def copy_pages(
    source: sqlite3.Connection, target: Path, going_on: Callable[[], bool] = go_on
) -> None:
    """Copy page by page into a file that needs no other beside it. Raises sqlite3.Error."""

    def asked(_status: int, _left: int, _total: int) -> None:
        if not going_on():
            raise Stopped(say("Fadeline stopped during a backup; nothing of that backup is left."))

    with contextlib.closing(sqlite3.connect(target, isolation_level=None)) as copy:
        # Nobody else knows the file yet and it is flushed once, at the end: no journal, no lock
        # file in shared memory, which a network folder may not have.
        for pragma in ("synchronous=OFF", "locking_mode=EXCLUSIVE", "journal_mode=OFF"):
            copy.execute(f"PRAGMA {pragma}")
        source.backup(copy, pages=STEP_PAGES, progress=asked)
        # The copy says of itself that it has a write-ahead log; one without opens anywhere.
        copy.execute("PRAGMA journal_mode=DELETE")


@contextlib.contextmanager
def _snapshot(source: sqlite3.Connection) -> Iterator[None]:
    """One state of the data file, which holds everything acknowledged until now."""
    with saying_source_trouble():
        source.execute("BEGIN")
        # The transaction begins with the first read.
        version = schema_version(source)
    try:
        if version is None:
            raise SourceTrouble(say("The file is no Fadeline data file; no backup was made."))
        yield
    finally:
        if source.in_transaction:
            source.execute("ROLLBACK")


def _check_room(source: sqlite3.Connection, folder: Path) -> None:
    (pages,) = source.execute("PRAGMA page_count").fetchone()
    (page,) = source.execute("PRAGMA page_size").fetchone()
    needed, free = pages * page + LEFT_FREE_BYTES, shutil.disk_usage(folder).free
    if free < needed:
        raise BackupTrouble(
            say(
                "The disk of {folder} is full: a backup needs {needed:.0f} MB with some to spare, "
                "{free:.0f} MB are free. Free some space or choose another folder.",
                folder=folder,
                needed=needed / 1e6,
                free=free / 1e6,
            )
        )


def _flush(path: Path) -> None:
    """Bring a file to its disk, and let what is read next come from there."""
    with path.open("rb+") as file:
        os.fsync(file.fileno())
        if hasattr(os, "posix_fadvise"):
            os.posix_fadvise(file.fileno(), 0, 0, os.POSIX_FADV_DONTNEED)


def _flush_folder(folder: Path) -> None:
    """Bring a new name to the disk; where folders cannot be opened there is nothing to do."""
    if not hasattr(os, "O_DIRECTORY"):
        return
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        # Some network folders refuse it; the file itself is on the disk already.
        with contextlib.suppress(OSError):
            os.fsync(handle)
    finally:
        os.close(handle)


def _compare(source: sqlite3.Connection, part: Path, folder: Path) -> None:
    """The copy must be sound and hold, value by value, what the data file holds."""
    with saying_source_trouble():
        wanted = fingerprint(source)
    wrong = say(
        "The backup in {folder} does not match the data file; try another disk.",
        folder=folder,
    )
    try:
        with contextlib.closing(open_readonly(part)) as copy:
            same = fingerprint(copy) == wanted
            damaged = structural_damage(copy)
    except sqlite3.DatabaseError as error:
        raise BackupTrouble(wrong) from error
    if same and not damaged:
        return
    with saying_source_trouble():
        own = structural_damage(source)
    if same and own:
        raise SourceTrouble(
            say(
                "The data file is damaged: {damage} No backup was made of it and older ones were "
                "left alone; “fadeline check” says more.",
                damage=own[0].sentence,
            )
        )
    raise BackupTrouble(wrong)


@contextlib.contextmanager
def saying_source_trouble() -> Iterator[None]:
    """Turn SQLite's complaints about the file that is copied into SourceTrouble."""
    try:
        yield
    except sqlite3.DatabaseError as error:
        if "locked" in str(error) or "busy" in str(error):
            raise SourceTrouble(
                say("Another program holds the data file; no backup was made.")
            ) from error
        raise SourceTrouble(
            say(
                "The data file cannot be read ({reason}); no backup was made and older ones were "
                "left alone. “fadeline check” says more.",
                reason=error,
            )
        ) from error


@contextlib.contextmanager
def _saying_folder_trouble(folder: Path) -> Iterator[None]:
    """Turn every complaint about the folder of backups into what the owner can do."""
    try:
        yield
    except (OSError, sqlite3.DatabaseError) as error:
        raise BackupTrouble(_folder_sentence(folder, error)) from error


def _folder_sentence(folder: Path, error: OSError | sqlite3.DatabaseError) -> str:
    code = error.errno if isinstance(error, OSError) else None
    name = getattr(error, "sqlite_errorname", "")
    if not folder.exists():
        return say("The folder {folder} is not there. Was its disk unplugged?", folder=folder)
    if not folder.is_dir():
        return say("{folder} is a file, not a folder.", folder=folder)
    if code in (errno.ENOSPC, errno.EDQUOT) or name == "SQLITE_FULL":
        return say(
            "The disk of {folder} is full. Free some space or choose another folder.",
            folder=folder,
        )
    if code in (errno.EACCES, errno.EPERM, errno.EROFS) or name.startswith(
        ("SQLITE_READONLY", "SQLITE_CANTOPEN", "SQLITE_PERM")
    ):
        return say(
            "The folder {folder} cannot be written to; check its rights or choose another.",
            folder=folder,
        )
    said = error.strerror if isinstance(error, OSError) else str(error)
    return say(
        "The disk of {folder} gives an error ({reason}); check that it is still there.",
        folder=folder,
        reason=said,
    )
