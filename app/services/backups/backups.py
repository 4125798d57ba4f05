"""Use cases around backups: make one, make one when it is due, choose their folder, show them."""

import json
import logging
import secrets
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path

from sqlalchemy import Engine

from app.domain.errors import FieldError, InvalidInput, StorageError
from app.domain.i18n.marks import N_
from app.domain.i18n.message import say
from app.domain.records.backup import Backup, BackupOutcome, BackupReason
from app.services.backups.backup_places import (
    BackupFolder,
    back_up_from,
    default_folder,
    leave_note,
    prepare_folder,
)
from app.storage.backup.backup_files import backups_in, is_under_way
from app.storage.backup.integrity import file_version
from app.storage.backup.online_backup import SourceTrouble, go_on, opened_source
from app.storage.database.engine import data_file, read_session, write_transaction
from app.storage.database.migrations import Standing, standing
from app.storage.repositories import settings

DUE_AFTER = timedelta(days=1)
CLOCKS_DIFFER = timedelta(minutes=5)
OLD_AFTER = timedelta(days=7)
FOLDER_SETTING = "backup_folder"
OWNER_SETTING = "backup_owner"
STATE_SETTING = "backup_state"
PASSPHRASE_SETTING = "door_passphrase"  # noqa: S105
SESSIONS_SETTING = "door_sessions"
CODES_SETTING, PHONES_SETTING = JOINING_SETTINGS = ("door_codes", "door_phones")
# Where this machine's backups go and how they went, how its pages write a number, and who gets in:
# no part of the records.
SHOWN_SETTINGS = ("shown_language", "shown_temperature", "shown_dates", "shown_decimals")
DOOR_SETTINGS = (PASSPHRASE_SETTING, SESSIONS_SETTING)
OF_THIS_MACHINE = (
    FOLDER_SETTING,
    OWNER_SETTING,
    STATE_SETTING,
    # Earlier versions wrote down here who was making one.
    "backup_turn",
    *SHOWN_SETTINGS,
    *DOOR_SETTINGS,
    *JOINING_SETTINGS,
)
FOLDER_FIELD = "folder"
ON_SERVER = N_(
    "The records lie in a PostgreSQL database, which is backed up by its own tools: let “pg_dump” "
    "write a copy every day to another machine, and try now and then whether “pg_restore” brings "
    "it back (common practice)."
)
log = logging.getLogger("fadeline")


@dataclass(frozen=True)
class BackupState:
    """How the last backup went, and the last good one; None where there was none yet."""

    last: BackupOutcome | None = None
    good_at: datetime | None = None
    good_path: Path | None = None

    def after(self, outcome: BackupOutcome) -> "BackupState":
        if outcome.path is None:
            return replace(self, last=outcome)
        return BackupState(outcome, outcome.at, outcome.path)


@dataclass(frozen=True)
class BackupsView:
    """What there is to show. chosen is None where the folder beside the data file is used."""

    chosen: Path | None
    default: Path
    folder_trouble: str
    state: BackupState
    backups: tuple[Backup, ...]
    total_bytes: int


def database_of(engine: Engine) -> Path:
    """The data file. Raises InvalidInput where the records lie in a database instead."""
    file = data_file(engine)
    if file is None:
        raise InvalidInput([FieldError(say(ON_SERVER), "", "")])
    return file


def back_up(
    engine: Engine,
    now: datetime,
    reason: BackupReason = BackupReason.ROUTINE,
    going_on: Callable[[], bool] = go_on,
) -> BackupOutcome:
    """Make a backup now, in the chosen folder or else beside the data file. Raises Stopped."""
    return _back_up(engine, places(engine), now, reason, going_on)


def back_up_to(engine: Engine, folder: str, now: datetime) -> BackupOutcome:
    """Make a backup in a folder of this once, in which nothing is thinned. Raises InvalidInput."""
    given = prepare_folder(folder, database_of(engine), "to", relative=True)
    return _back_up(engine, [BackupFolder(given, thinned=False)], now, BackupReason.ROUTINE, go_on)


def back_up_when_due(
    engine: Engine, now: datetime, going_on: Callable[[], bool] = go_on
) -> BackupOutcome | None:
    """Make a backup where the last is older than a day; None where none is due. Raises Stopped.

    While the chosen folder gives trouble, the one beside the data file takes one a day. Of several
    processes on one file one makes it; two that begin in the same instant make one each, which is
    one too many until they are thinned, and both are whole.
    """
    due = _due_places(places(engine), now)
    return _back_up(engine, due, now, BackupReason.ROUTINE, going_on) if due else None


def back_up_before_update(engine: Engine, migrations: Path, now: datetime) -> BackupOutcome | None:
    """Before an older file is updated, a backup of it; None where it is not an older one.

    Raises StorageError where none could be made: without a way back nothing is updated.
    """
    file = data_file(engine)
    version = None if file is None else file_version(file)
    if standing(version, migrations) is not Standing.OLDER:
        return None
    outcome = back_up(engine, now, BackupReason.BEFORE_UPDATE)
    if outcome.path is None:
        raise StorageError(
            say(
                "An older Fadeline wrote the data file, so it must be updated, but no backup "
                "could be made first. It was left as it is. {trouble}",
                trouble=outcome.trouble,
            )
        )
    return outcome


def choose_folder(engine: Engine, text: str) -> None:
    """Keep backups in this folder from now on; nothing means beside the data file.

    Raises InvalidInput.

    The old folder's backups stay where they are.
    """
    database = database_of(engine)
    folder: Path | None = None
    if text.strip():
        folder = prepare_folder(text.strip(), database, FOLDER_FIELD)
        if folder.resolve() == default_folder(database).resolve():
            folder = None
        else:
            leave_note(folder, _owner(engine), FOLDER_FIELD)
    with write_transaction(engine) as session:
        settings.put(session, FOLDER_SETTING, None if folder is None else str(folder))


def _owner(engine: Engine) -> str:
    """The name of this data file in its folder's note, made when it is first needed."""
    with write_transaction(engine) as session:
        name = settings.get(session, OWNER_SETTING) or secrets.token_hex(16)
        settings.put(session, OWNER_SETTING, name)
    return name


def places(engine: Engine) -> tuple[BackupFolder, ...]:
    """Where a backup goes: the chosen folder first, the one beside the data file behind it."""
    beside = BackupFolder(default_folder(database_of(engine)))
    with read_session(engine) as session:
        chosen = settings.get(session, FOLDER_SETTING)
        owner = settings.get(session, OWNER_SETTING)
    # A folder without an owner would be one that no note can fit.
    return (BackupFolder(Path(chosen), owner or "nobody"), beside) if chosen else (beside,)


def show_backups(engine: Engine) -> BackupsView:
    """The backups of both folders and how the last one went."""
    there = places(engine)
    found = [backup for place in there for backup in backups_in(place.folder)]
    found.sort(key=lambda backup: backup.made_at, reverse=True)
    return BackupsView(
        chosen=there[0].folder if len(there) > 1 else None,
        default=there[-1].folder,
        folder_trouble=there[0].trouble,
        state=_agreed(kept_state(engine), found),
        backups=tuple(found),
        total_bytes=sum(backup.size for backup in found),
    )


def quiet_note(engine: Engine, now: datetime) -> str:
    """What the owner should know of backups without asking; empty where all is well.

    Looks into no folder: one on a sleeping disk would hold up the first page. Of a database
    nothing is known: its keeper backs it up.
    """
    if data_file(engine) is None:
        return ""
    state = kept_state(engine)
    if state.last is not None and state.last.trouble:
        return say("The last backup had a problem.")
    if state.good_at is None:
        return say("There is no backup yet.")
    if now - state.good_at > OLD_AFTER:
        return say("The last good backup is {days} days old.", days=(now - state.good_at).days)
    return ""


def kept_state(engine: Engine) -> BackupState:
    """How the last backup went, as it was written down."""
    with read_session(engine) as session:
        text = settings.get(session, STATE_SETTING)
    try:
        return _state(json.loads(text or "{}"))
    except (ValueError, TypeError, AttributeError, KeyError):
        # Never worth a page that does not open; “fadeline check” names it.
        return BackupState()


def remember(engine: Engine, outcome: BackupOutcome) -> None:
    """Write down how a backup went. Where that cannot be stored, the window says it."""
    try:
        text = json.dumps(_plain(kept_state(engine).after(outcome)))
        with write_transaction(engine) as session:
            settings.put(session, STATE_SETTING, text)
    except StorageError as trouble:
        log.warning("how the backup went could not be written down: %s", trouble)


# How it went is kept: not in the language of whoever asked for it.
def _back_up(
    engine: Engine,
    there: Sequence[BackupFolder],
    now: datetime,
    reason: BackupReason,
    going_on: Callable[[], bool],
) -> BackupOutcome:
    try:
        with opened_source(database_of(engine)) as source:
            outcome = back_up_from(source, there, now, reason, going_on)
    except SourceTrouble as trouble:
        outcome = BackupOutcome(now, None, str(trouble))
    remember(engine, outcome)
    return outcome


def _due_places(there: Sequence[BackupFolder], now: datetime) -> list[BackupFolder]:
    first, *_, last = (*there, there[-1])
    if first.trouble:
        # It cannot be used now: the folder beside the data file stands in for it.
        return list(there) if _is_due(last, now) else []
    return [place for place in there if _is_due(place, now)] if _is_due(first, now) else []


def _is_due(place: BackupFolder, now: datetime) -> bool:
    """Whether the place has no whole backup of the last day, and none that is being written.

    A future one counts for nothing.
    """
    if is_under_way(place.folder, now):
        return False
    ages = [now - backup.made_at for backup in backups_in(place.folder) if backup.whole]
    return not any(-CLOCKS_DIFFER <= age < DUE_AFTER for age in ages)


def _agreed(state: BackupState, found: Sequence[Backup]) -> BackupState:
    """The state as written down, corrected by what lies in the folders."""
    newest = next((backup for backup in found if backup.whole), None)
    at, path = state.good_at, state.good_path
    if path is not None and path.parent.is_dir() and not path.is_file():
        at, path = None, None
    if newest is not None and (at is None or newest.made_at > at):
        at, path = newest.made_at, newest.path
    return BackupState(state.last, at, path)


def _plain(state: BackupState) -> dict[str, str]:
    values: dict[str, object] = {"good_at": state.good_at, "good_path": state.good_path}
    if state.last is not None:
        values |= {"at": state.last.at, "path": state.last.path, "trouble": state.last.trouble}
    return {name: str(value) for name, value in values.items() if value is not None}


def _state(values: dict[str, str]) -> BackupState:
    last = None
    if "at" in values:
        path = Path(values["path"]) if "path" in values else None
        last = BackupOutcome(datetime.fromisoformat(values["at"]), path, values["trouble"])
    if "good_at" not in values:
        return BackupState(last)
    good_at = datetime.fromisoformat(values["good_at"])
    return BackupState(last, good_at, Path(values["good_path"]))
