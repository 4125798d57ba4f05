"""Putting other contents into the data file, and being sure that nobody else has it open.

The file is not exchanged for another but written over inside one SQLite transaction: it stays the
same file for a program that opens it at that very moment, its log cannot outlive it and be taken
for the new file's, and a power cut leaves the old contents, which SQLite's journal brings back.
"""

import contextlib
import sqlite3
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

from app.domain.errors import InvalidInput, StorageError
from app.domain.i18n.marks import N_
from app.domain.i18n.message import say
from app.domain.records.backup import BackupReason, backup_name
from app.storage.backup.backup_files import BESIDE
from app.storage.backup.integrity import fingerprint
from app.storage.backup.online_backup import copy_pages

WAIT_S = 1.0
IN_USE = N_(
    "The data file {path} is in use: a running Fadeline or another program has it open. Nothing "
    "was changed; stop it and try again."
)


@contextlib.contextmanager
def exclusively(database: Path) -> Iterator[sqlite3.Connection]:
    """The data file with nobody else on it, made where there is none.

    Raises InvalidInput while in use.

    In WAL mode every open connection, even an idle one, holds a shared lock on the file. Leaving
    that mode needs the lock of all, so it fails while anybody is there, and the system frees the
    locks of a process that was killed. With the exclusive mode the lock is then kept to the end.
    """
    connection = sqlite3.connect(database, isolation_level=None, timeout=WAIT_S)
    with contextlib.closing(connection):
        try:
            connection.execute("PRAGMA locking_mode=EXCLUSIVE")
            (mode,) = connection.execute("PRAGMA journal_mode=DELETE").fetchone()
            connection.execute("PRAGMA synchronous=FULL")
            # The first write takes the lock, and exclusive mode keeps it.
            connection.execute("BEGIN EXCLUSIVE")
            connection.execute("COMMIT")
        except sqlite3.DatabaseError as error:
            if "locked" in str(error):
                raise InvalidInput.because(say(IN_USE, path=database), "", "") from error
            raise StorageError(
                say(
                    "The data file {path} cannot be written to ({reason}). Nothing was changed.",
                    path=database,
                    reason=error,
                )
            ) from error
        if mode != "delete":
            raise InvalidInput.because(say(IN_USE, path=database), "", "")
        yield connection


def put_into(contents: Path, connection: sqlite3.Connection) -> None:
    """Write the pages of a file over those of the data file, all or none, and compare.

    The contents leave WAL mode first: the mode stands in the pages, and the data file would change
    to it under its journal. Raises StorageError.
    """
    try:
        with contextlib.closing(sqlite3.connect(contents, isolation_level=None)) as source:
            source.execute("PRAGMA journal_mode=DELETE")
            source.backup(connection)
            same = fingerprint(source) == fingerprint(connection)
    except sqlite3.Error as error:
        raise StorageError(
            say(
                "The data file could not be written ({reason}). It is as it was; free some space "
                "or check its disk, and try again.",
                reason=error,
            )
        ) from error
    if not same:
        raise StorageError(
            say(
                "The data file does not match the backup that was written into it. Check its "
                "disk, and restore again."
            )
        )


def keep_unchecked(connection: sqlite3.Connection, folder: Path, now: datetime) -> Path:
    """A copy of a damaged data file as it is, under a name that no backup has.

    Raises sqlite3.Error.
    """
    kept = _damaged_name(folder, now)
    copy_pages(connection, kept)
    return kept


def set_aside(database: Path, now: datetime) -> Path:
    """Rename a data file that SQLite does not even open, with what lies beside it.

    Raises OSError.
    """
    kept = _damaged_name(database.parent, now)
    for tail in ("", *BESIDE):
        with contextlib.suppress(FileNotFoundError):
            database.with_name(database.name + tail).rename(kept.with_name(kept.name + tail))
    return kept


def _damaged_name(folder: Path, now: datetime) -> Path:
    return folder / f"damaged-{backup_name(now, BackupReason.BEFORE_RESTORE)}"
