"""The use case of going back to a backup."""

import contextlib
import sqlite3
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from app.domain.errors import InvalidInput, StorageError
from app.domain.i18n.marks import N_
from app.domain.i18n.message import joined, say, transformed
from app.domain.records.backup import BackupOutcome, BackupReason
from app.domain.records.integrity_issue import IntegrityIssue
from app.services.backups.backup_places import BackupFolder, back_up_from, default_folder
from app.services.backups.backups import (
    DOOR_SETTINGS,
    FOLDER_SETTING,
    JOINING_SETTINGS,
    OWNER_SETTING,
    SESSIONS_SETTING,
    places,
    remember,
)
from app.services.backups.data_check import Checked, check_file
from app.services.backups.temporary_folder import RESTORING, TemporaryFolder, remove_left_behind
from app.storage.backup.backup_files import has_signature
from app.storage.backup.integrity import fingerprint, is_unopenable, open_readonly
from app.storage.backup.online_backup import SourceTrouble, copy_pages
from app.storage.backup.replace_contents import exclusively, keep_unchecked, put_into, set_aside
from app.storage.database.engine import make_engine, read_session, write_transaction
from app.storage.database.migrations import Standing, upgrade
from app.storage.repositories import settings

TAKES = N_("a backup of Fadeline's data file, as listed on the page Records")
_MAX_SAID = 3


@dataclass(frozen=True)
class Kept:
    """What became of the data file of before: where it lies, and whether it was found sound."""

    path: Path
    sound: bool = True
    outcome: BackupOutcome | None = None


@dataclass(frozen=True)
class Restored:
    """What was done. updated says that the backup had an older schema; kept is None where there
    was no data file before."""

    rows: dict[str, int]
    updated: bool
    kept: Kept | None


def restore_backup(
    database: Path,
    migrations: Path,
    file: Path,
    now: datetime,
    *,
    despite_damage: bool = False,
) -> Restored:
    """Put a backup in the place of the data file, which is itself backed up first.

    The backup is checked, copied, brought to this program's schema and only then, in one
    transaction, written over the data file. despite_damage takes one whose values are damaged,
    never one whose structure is. Raises InvalidInput and StorageError; then nothing was changed.
    """
    checked = _sound(database, migrations, file, despite_damage)
    with _copied(database, file) as prepared:
        updated = checked.standing is Standing.OLDER
        if updated:
            upgrade(prepared, migrations)
        there = _places_of_now(database)
        lock = _door_of_now(database)
        kept = _unopenable_aside(database, now)
        had_one = database.is_file()
        with exclusively(database) as connection:
            if had_one:
                kept = _keep_present(connection, database, there, now)
                _carry_over(prepared, there, kept)
            _keep_door(prepared, lock)
            put_into(prepared, connection)
    return Restored(checked.rows, updated, kept)


def check_kind(file: Path, database: Path | None = None) -> None:
    """Raises InvalidInput for what is no backup by its first bytes, or is the data file itself."""
    try:
        if not file.is_file():
            takes = say(TAKES) if file.exists() else say("a file that is there")
            raise InvalidInput.because(say("file"), file, takes)
        if database is not None and database.exists() and file.samefile(database):
            allowed = say("{backup}; this is the data file itself", backup=say(TAKES))
            raise InvalidInput.because(say("file"), file, allowed)
        if not has_signature(file):
            raise InvalidInput.because(say("file"), file, say(TAKES))
    except OSError as error:
        allowed = say("a readable file ({reason})", reason=error.strerror)
        raise InvalidInput.because(say("file"), file, allowed) from error


def _sound(database: Path, migrations: Path, file: Path, despite_damage: bool) -> Checked:
    """The check of a file that may be restored. Raises InvalidInput for any other."""
    check_kind(file, database)
    checked = check_file(file, migrations)
    if checked.standing is Standing.NEWER:
        allowed = say(
            "a backup from this version or an older one; install the newer Fadeline that made it"
        )
        raise InvalidInput.because(say("file"), file, allowed)
    found = checked.structure or (() if despite_damage else checked.content)
    if found or checked.standing is None:
        raise InvalidInput.because(say("file"), file, _undamaged(checked, found))
    return checked


def _undamaged(checked: Checked, found: Sequence[IntegrityIssue]) -> str:
    """What was expected of a damaged backup: the first of what was found, and the way out."""
    if checked.standing is Standing.FOREIGN:
        return say("{backup}; this is a database of another program", backup=say(TAKES))
    said = [damage.sentence for damage in found[:_MAX_SAID]]
    if len(found) > _MAX_SAID:
        said.append(say("And {count} more.", count=len(found) - _MAX_SAID))
    if not checked.structure:
        said.append(say("With --despite-damage Fadeline restores it as it is"))
    # The sentence around it ends with a full stop of its own.
    damages = transformed(joined(" ", said), lambda text: text.removesuffix("."))
    return say("an undamaged backup; try an older one. Found: {damages}", damages=damages)


@contextlib.contextmanager
def _copied(database: Path, file: Path) -> Iterator[Path]:
    """A copy of the backup beside the data file, to be brought up to date; gone afterwards."""
    with contextlib.ExitStack() as stack:
        try:
            database.parent.mkdir(parents=True, exist_ok=True)
            # What an earlier one left that was killed has the size of the data file.
            remove_left_behind(database.parent, RESTORING)
            folder = TemporaryFolder(RESTORING, database.parent)
            prepared = stack.enter_context(folder) / database.name
            _copy_compared(file, prepared)
        except (OSError, sqlite3.DatabaseError) as error:
            raise StorageError(
                say(
                    "The backup could not be copied to {folder} ({reason}). Nothing was changed.",
                    folder=database.parent,
                    reason=getattr(error, "strerror", None) or error,
                )
            ) from error
        yield prepared


def _copy_compared(file: Path, prepared: Path) -> None:
    with contextlib.closing(open_readonly(file)) as source:
        wanted = fingerprint(source)
        copy_pages(source, prepared)
    with contextlib.closing(open_readonly(prepared)) as copy:
        if fingerprint(copy) != wanted:
            raise StorageError(
                say(
                    "The copy in {file} does not match its original. Nothing was changed; check "
                    "the disk.",
                    file=prepared,
                )
            )


def _places_of_now(database: Path) -> tuple[BackupFolder, ...]:
    """Where backups go now; none where that cannot be read."""
    if not database.is_file():
        return ()
    engine = make_engine(database)
    try:
        return places(engine)
    except StorageError:
        return ()
    finally:
        # An open connection of our own would be somebody else to the lock.
        engine.dispose()


def _door_of_now(database: Path) -> dict[str, str | None]:
    """The passphrase and the sessions of now; no sessions alone where nothing says it.

    No phone stays in a running test: that may be another one in the backup.
    """
    nobody: dict[str, str | None] = dict.fromkeys(JOINING_SETTINGS)
    unknown = {SESSIONS_SETTING: None, **nobody}
    if not database.is_file():
        return unknown
    engine = make_engine(database)
    try:
        with read_session(engine) as session:
            return {name: settings.get(session, name) for name in DOOR_SETTINGS} | nobody
    except StorageError:
        return unknown
    finally:
        engine.dispose()


def _keep_door(prepared: Path, lock: dict[str, str | None]) -> None:
    """Who gets in stays as it is: a session that was ended does not come back with a backup.

    Where nothing says how it is, the passphrase is the backup's and every device signs in anew.
    """
    engine = make_engine(prepared)
    try:
        with write_transaction(engine) as session:
            for name, value in lock.items():
                settings.put(session, name, value)
    finally:
        engine.dispose()


def _unopenable_aside(database: Path, now: datetime) -> Kept | None:
    """Put aside a data file whose head is damaged so that SQLite opens nothing of it."""
    if not database.is_file() or not is_unopenable(database):
        return None
    try:
        return Kept(set_aside(database, now), sound=False)
    except OSError as error:
        raise StorageError(
            say(
                "The data file is damaged and could not be put aside ({reason}). Move it away by "
                "hand and try again.",
                reason=error.strerror,
            )
        ) from error


def _keep_present(
    connection: sqlite3.Connection, database: Path, there: Sequence[BackupFolder], now: datetime
) -> Kept:
    """Back up what is there now; a damaged file as it is, under a name that no backup has."""
    try:
        there = there or (BackupFolder(default_folder(database)),)
        outcome = back_up_from(connection, there, now, BackupReason.BEFORE_RESTORE)
    except SourceTrouble:
        return Kept(_keep_damaged(connection, database, now), sound=False)
    if outcome.path is None:
        raise StorageError(
            say(
                "The present data file could not be backed up first, so nothing was changed. "
                "{trouble}",
                trouble=outcome.trouble,
            )
        )
    return Kept(outcome.path, outcome=outcome)


def _keep_damaged(connection: sqlite3.Connection, database: Path, now: datetime) -> Path:
    folder = default_folder(database)
    try:
        folder.mkdir(exist_ok=True)
        return keep_unchecked(connection, folder, now)
    except (OSError, sqlite3.DatabaseError) as error:
        raise StorageError(
            say(
                "The present data file is damaged and could not be put aside in {folder} "
                "({reason}), so nothing was changed. Copy it somewhere by hand, move it away "
                "and try again.",
                folder=folder,
                reason=error,
            )
        ) from error


def _carry_over(prepared: Path, there: Sequence[BackupFolder], kept: Kept) -> None:
    """What belongs to this machine and not to the records: the folder, and the last backup."""
    chosen = [place for place in there if place.owner]
    engine = make_engine(prepared)
    try:
        with write_transaction(engine) as session:
            settings.put(session, FOLDER_SETTING, str(chosen[0].folder) if chosen else None)
            if chosen:
                settings.put(session, OWNER_SETTING, chosen[0].owner)
        if kept.outcome is not None:
            remember(engine, kept.outcome)
    finally:
        engine.dispose()
