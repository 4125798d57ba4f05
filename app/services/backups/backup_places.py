"""Where backups go: the folder the owner chose, and the one beside the data file behind it."""

import re
import sqlite3
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from app.domain.errors import InvalidInput
from app.domain.i18n.marks import N_
from app.domain.i18n.message import joined, say
from app.domain.records.backup import BackupOutcome, BackupReason
from app.storage.backup.backup_files import BackupTrouble, thin
from app.storage.backup.online_backup import SourceTrouble, Stopped, copy_checked, go_on

DEFAULT_NAME = "backups"
NOTE_NAME = "about-fadeline-backups.txt"
_NOTE = """\
Fadeline puts backups of its data file into this folder.

Each is named after its moment in UTC and is whole by itself. Fadeline removes what grows old: all
of a day are kept, one a day for a week, one a week for two months, one a month for two years.
To go back to one, stop Fadeline and run:  fadeline restore FILE
Without this note Fadeline takes the folder for another disk's and puts its backups elsewhere.

These are the backups of the data file """
_NO_NOTE = N_(
    "The folder {folder} lacks the note {note} that Fadeline put there when you chose it. Is it "
    "another disk? If you mean this folder, choose it again on the page Records."
)
_OTHER_NOTE = N_(
    "The folder {folder} holds another data file's note ({note}). Fadeline put its own there "
    "when you chose the folder. Is it another disk? If you mean this folder, choose it again on "
    "the page Records."
)
_OWNER = re.compile("of the data file ([0-9a-f]{32})")


@dataclass(frozen=True)
class BackupFolder:
    """A folder for a backup. thinned says that what grows old there is removed.

    owner is the data file whose note it must carry; empty where it needs none.
    """

    folder: Path
    owner: str = ""
    thinned: bool = True

    @property
    def trouble(self) -> str:
        """Why it is not to be used now, in a sentence; empty where it is."""
        return folder_trouble(self.folder, self.owner) if self.owner else ""


def default_folder(database: Path) -> Path:
    """Where backups go while no other folder was chosen: beside the data file."""
    return database.parent / DEFAULT_NAME


def folder_trouble(folder: Path, owner: str) -> str:
    """Why a chosen folder is not to be used now, in a sentence; empty where it is.

    The folder that a memory stick appears in may stay when the stick is gone; the note does not.
    """
    try:
        if not folder.is_dir():
            return say("The folder {folder} is not there. Was its disk unplugged?", folder=folder)
        named = _noted_owner(folder)
    except OSError as error:
        return say(
            "Fadeline cannot read the folder {folder} ({reason}).",
            folder=folder,
            reason=error.strerror,
        )
    if named == owner:
        return ""
    return say(_NO_NOTE if named is None else _OTHER_NOTE, folder=folder, note=NOTE_NAME)


def _noted_owner(folder: Path) -> str | None:
    """The data file that a folder's note names; None without such a note. Raises OSError."""
    try:
        found = _OWNER.search((folder / NOTE_NAME).read_text(encoding="utf-8", errors="replace"))
    except FileNotFoundError:
        return None
    return None if found is None else found[1]


def prepare_folder(text: str, database: Path, field: str, *, relative: bool = False) -> Path:
    """A folder as typed, made where only its last part is missing. Raises InvalidInput."""
    try:
        folder = Path(text).expanduser()
        if relative:
            folder = folder.absolute()
        elif not folder.is_absolute():
            allowed = say("a whole path such as {example}", example=Path.home() / "backups")
            raise InvalidInput.because(say("folder of backups"), text, allowed, field)
        data_dir = database.parent.resolve()
        inside = folder.resolve()
        kept = inside.is_relative_to(data_dir / DEFAULT_NAME)
        if inside.is_relative_to(data_dir) and not kept:
            allowed = say("a folder outside {folder}, where the data are", folder=data_dir)
            raise InvalidInput.because(say("folder of backups"), text, allowed, field)
        if folder.exists() and not folder.is_dir():
            raise InvalidInput.because(
                say("folder of backups"), text, say("a folder; this is a file"), field
            )
        folder.mkdir(exist_ok=True)
    except FileNotFoundError as error:
        allowed = say("a folder that is there, or a new one in a folder that is there")
        raise InvalidInput.because(say("folder of backups"), text, allowed, field) from error
    except (OSError, ValueError, RuntimeError) as error:
        said = getattr(error, "strerror", None) or str(error)
        allowed = say("a folder that can be used ({reason})", reason=said)
        raise InvalidInput.because(say("folder of backups"), text, allowed, field) from error
    return folder


def leave_note(folder: Path, owner: str, field: str) -> None:
    """Say in the folder what it is for; also the test that it can be written to.

    Raises InvalidInput, also where it is another data file's: each would thin the other's backups.
    """
    try:
        if _noted_owner(folder) not in (None, owner):
            allowed = say(
                "a folder of its own; this one holds backups of another data file ({note} in it "
                "says so)",
                note=NOTE_NAME,
            )
            raise InvalidInput.because(say("folder of backups"), folder, allowed, field)
        (folder / NOTE_NAME).write_text(f"{_NOTE}{owner}.\n", encoding="utf-8")
    except OSError as error:
        allowed = say("a folder that can be written to ({reason})", reason=error.strerror)
        raise InvalidInput.because(say("folder of backups"), folder, allowed, field) from error


def back_up_from(
    source: sqlite3.Connection,
    places: Sequence[BackupFolder],
    now: datetime,
    reason: BackupReason,
    going_on: Callable[[], bool] = go_on,
) -> BackupOutcome:
    """Make one backup in the first of the places that takes it; a place that does not is said.

    Raises Stopped, and SourceTrouble where the data file itself is the trouble.
    """
    troubles: list[str] = []
    for place in places:
        try:
            _make_ready(place)
            made = copy_checked(source, place.folder, now, reason, going_on)
        except (SourceTrouble, Stopped):
            raise
        except BackupTrouble as trouble:
            troubles.append(trouble.words)
            continue
        # What is gone back to must not be thinned away by the going back.
        if place.thinned and reason is not BackupReason.BEFORE_RESTORE:
            thin(place.folder, now)
        if troubles:
            troubles.append(say("The backup went to {folder} instead.", folder=place.folder))
        return BackupOutcome(now, made.path, joined(" ", troubles))
    return BackupOutcome(now, None, joined(" ", troubles))


def _make_ready(place: BackupFolder) -> None:
    """Raises BackupTrouble."""
    if place.trouble:
        raise BackupTrouble(place.trouble)
    if place.owner:
        return
    try:
        place.folder.mkdir(exist_ok=True)
    except OSError as error:
        raise BackupTrouble(
            say(
                "The folder {folder} cannot be made ({reason}).",
                folder=place.folder,
                reason=error.strerror,
            )
        ) from error
