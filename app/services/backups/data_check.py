"""The use case of looking through a whole data file or backup for damage."""

import contextlib
import os
import sqlite3
from dataclasses import dataclass, replace
from errno import EACCES
from pathlib import Path

from app.domain.errors import InvalidInput
from app.domain.i18n.marks import N_
from app.domain.i18n.message import say
from app.domain.records.integrity_issue import IntegrityIssue
from app.storage.backup.content_check import content_damage, row_counts
from app.storage.backup.integrity import (
    length_damage,
    open_readonly,
    schema_version,
    structural_damage,
)
from app.storage.database.migrations import Standing, standing

_OTHER_BACKUP = N_("Do not go back to this file. Check another backup with “fadeline check FILE”")
_DESPITE_DAMAGE = N_(
    "Check another backup with “fadeline check FILE”. If each has damaged values, “fadeline "
    "restore FILE --despite-damage” takes one as it is"
)
_OTHER_FILE = N_("Look for the right file; the page Records lists the backups")


@dataclass(frozen=True)
class Checked:
    """What a check found. standing is None where the file cannot be opened as a database."""

    path: Path
    standing: Standing | None
    rows: dict[str, int]
    structure: tuple[IntegrityIssue, ...]
    content: tuple[IntegrityIssue, ...] = ()

    @property
    def damages(self) -> tuple[IntegrityIssue, ...]:
        return (*self.structure, *self.content)


def check_file(path: Path, migrations: Path) -> Checked:
    """Look through a data file or backup, which may be in use.

    Raises InvalidInput where there is none.

    Contents are looked at where the schema is this program's or an older one.
    """
    _need_file(path)
    try:
        with contextlib.closing(open_readonly(path)) as connection:
            return _checked(path, connection, migrations)
    except sqlite3.DatabaseError as error:
        todo = say("If it should be a data file, go back to a backup with “fadeline restore FILE”")
        what = say("cannot be read as a database ({error})", error=error)
        return Checked(path, None, {}, (IntegrityIssue(say("the file"), what, todo),))


def _need_file(path: Path) -> None:
    """Raises InvalidInput where there is no file that can be read."""
    try:
        if not path.is_file():
            raise InvalidInput.because(say("file"), path, say("a data file or a backup of one"))
        # The data file in use is not opened for this: closing it lets go of SQLite's locks.
        if not os.access(path, os.R_OK):
            raise PermissionError(EACCES, os.strerror(EACCES))
    except OSError as error:
        allowed = say("a readable file ({reason})", reason=error.strerror)
        raise InvalidInput.because(say("file"), path, allowed) from error


def for_backup(checked: Checked) -> Checked:
    """What was found in a backup, with what to do about one: Fadeline does not run on it."""
    stands = checked.standing
    if stands is Standing.NEWER:
        return checked
    structure = _OTHER_FILE if stands is Standing.FOREIGN else _OTHER_BACKUP
    return replace(
        checked,
        structure=tuple(replace(one, todo=say(structure)) for one in checked.structure),
        content=tuple(replace(one, todo=say(_DESPITE_DAMAGE)) for one in checked.content),
    )


def _checked(path: Path, connection: sqlite3.Connection, migrations: Path) -> Checked:
    # One state of the file, whatever is written meanwhile.
    connection.execute("BEGIN")
    stands = standing(schema_version(connection), migrations)
    structure = (*length_damage(path, connection), *structural_damage(connection))
    if stands not in (Standing.CURRENT, Standing.OLDER):
        return Checked(path, stands, {}, structure + _strangeness(stands))
    content = content_damage(connection, current=stands is Standing.CURRENT)
    return Checked(path, stands, row_counts(connection), structure, tuple(content))


def _strangeness(stands: Standing) -> tuple[IntegrityIssue, ...]:
    if stands is Standing.NEWER:
        what = say("was written by a newer Fadeline")
        todo = say("Install that version; nothing is wrong")
    else:
        what = say("does not identify itself as a Fadeline data file")
        todo = say("Look for the right file, or go back to a backup with “fadeline restore FILE”")
    return (IntegrityIssue(say("the file"), what, todo),)
