"""Whether a SQLite file is sound, and whether two of them hold the same."""

import contextlib
import hashlib
import marshal
import sqlite3
from pathlib import Path

from app.domain.i18n.marks import N_
from app.domain.i18n.message import say
from app.domain.records.integrity_issue import IntegrityIssue
from app.storage.schema.computed_table import computed_metadata

MAX_LINES = 50
_RESTORE = N_(
    "Stop Fadeline, put a copy of this file aside and go back to a backup with “fadeline restore”"
)


def open_readonly(path: Path) -> sqlite3.Connection:
    """A connection that never writes. Raises sqlite3.Error where there is nothing to open.

    A file with a log beside it needs a folder that can be written to; one without is read as it
    is even from a write-protected stick.
    """
    address = path.resolve().as_uri()
    try:
        return _opened(f"{address}?mode=ro")
    except sqlite3.OperationalError as error:
        denied = error.sqlite_errorcode & 0xFF in (sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_READONLY)
        if not denied or not path.is_file() or path.with_name(f"{path.name}-wal").exists():
            raise
        return _opened(f"{address}?mode=ro&immutable=1")


def _opened(address: str) -> sqlite3.Connection:
    connection = sqlite3.connect(address, uri=True, isolation_level=None, check_same_thread=False)
    try:
        connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
    except sqlite3.Error:
        connection.close()
        raise
    return connection


def structural_damage(connection: sqlite3.Connection) -> list[IntegrityIssue]:
    """What SQLite's own checks find: pages, indexes, rules of the tables, rows pointing nowhere."""
    found: list[IntegrityIssue] = []
    try:
        for (line,) in connection.execute(f"PRAGMA integrity_check({MAX_LINES})"):
            if line != "ok":
                found += [
                    IntegrityIssue(say("the file"), part, say(_RESTORE))
                    for part in line.splitlines()
                ]
        for table, row_id, parent, _ in connection.execute("PRAGMA foreign_key_check"):
            what = say("points to a {thing} that is not there", thing=parent.replace("_", " "))
            found.append(IntegrityIssue(f"{table.replace('_', ' ')} {row_id}", what, say(_RESTORE)))
    except sqlite3.DatabaseError as error:
        what = say("cannot be read through ({reason})", reason=error)
        found.append(IntegrityIssue(say("the file"), what, say(_RESTORE)))
    return found


def length_damage(path: Path, connection: sqlite3.Connection) -> list[IntegrityIssue]:
    """A file cut short inside its last page, which SQLite reads as if zeros stood there.

    Only where no log lies beside it: with one, the file may be behind. The length is asked of the
    system and not by opening the file, whose closing would let go of SQLite's locks on it.
    """
    log = path.with_name(f"{path.name}-wal")
    if log.exists() and log.stat().st_size:
        return []
    (pages,) = connection.execute("PRAGMA page_count").fetchone()
    (page,) = connection.execute("PRAGMA page_size").fetchone()
    size = path.stat().st_size
    if size == pages * page:
        return []
    what = say("is {size} bytes long and should have {expected}", size=size, expected=pages * page)
    return [IntegrityIssue(say("the file"), what, say(_RESTORE))]


def table_names(connection: sqlite3.Connection) -> list[str]:
    """Tables of the program's own making. Raises sqlite3.Error."""
    query = "SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name"
    names = [name for (name,) in connection.execute(query)]
    return [name for name in names if not name.startswith("sqlite_")]


def schema_version(connection: sqlite3.Connection) -> str | None:
    """Which migration the file was last brought to; None where it is no data file of ours.

    Raises sqlite3.Error.
    """
    if "alembic_version" not in table_names(connection):
        return None
    row = connection.execute("SELECT version_num FROM alembic_version").fetchone()
    return None if row is None else str(row[0])


def file_version(path: Path) -> str | None:
    """The version of a file; None where there is none, or none that can be read."""
    try:
        with contextlib.closing(open_readonly(path)) as connection:
            return schema_version(connection)
    except sqlite3.DatabaseError:
        return None


def is_unopenable(path: Path) -> bool:
    """Whether the head of a file is so damaged that SQLite opens nothing of it."""
    try:
        open_readonly(path).close()
    except sqlite3.DatabaseError as error:
        return error.sqlite_errorcode & 0xFF in (sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_CORRUPT)
    return False


def fingerprint(connection: sqlite3.Connection) -> str:
    """A hash over every value of every row, in one order: equal where two files hold the same.

    What was computed of the records does not count: it comes and goes. SQLite keeps no checksums: a
    copy whose bytes were spoilt on the way can pass its own checks.
    Raises sqlite3.Error.
    """
    digest = hashlib.sha256()
    names = [name for name in table_names(connection) if name not in computed_metadata.tables]
    kept, connection.text_factory = connection.text_factory, bytes
    try:
        for name in names:
            digest.update(marshal.dumps(name, 2))
            for row in connection.execute(f'SELECT rowid, * FROM "{name}" ORDER BY rowid'):  # noqa: S608
                # Format 2 knows no references between objects: equal rows give equal bytes.
                digest.update(marshal.dumps(row, 2))
    finally:
        connection.text_factory = kept
    return digest.hexdigest()
