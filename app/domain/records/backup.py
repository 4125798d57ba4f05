"""Backups of the data file: what they are called, why they were made, how one went."""

import re
from dataclasses import dataclass
from datetime import UTC, datetime
from enum import StrEnum
from pathlib import Path

from app.domain.i18n.message import say


class BackupReason(StrEnum):
    """Why a backup was made; the value stands in the file's name, but for the routine one."""

    ROUTINE = "routine"
    BEFORE_UPDATE = "before-update"
    BEFORE_RESTORE = "before-restore"

    @property
    def label(self) -> str:
        return {
            BackupReason.ROUTINE: say("daily or on request"),
            BackupReason.BEFORE_UPDATE: say("before an update"),
            BackupReason.BEFORE_RESTORE: say("before a restore"),
        }[self]


@dataclass(frozen=True)
class Backup:
    """A file in a folder of backups. whole is False where a part of it is plainly missing."""

    path: Path
    made_at: datetime
    reason: BackupReason
    size: int
    whole: bool


@dataclass(frozen=True)
class BackupOutcome:
    """How one backup went. path is None where none was made; trouble is empty where all went well.

    Both are there where it went to another folder than the chosen one.
    """

    at: datetime
    path: Path | None
    trouble: str


_NAME = re.compile(
    r"fadeline-(\d{4}-\d{2}-\d{2}T\d{6})Z(?:-(before-update|before-restore))?\.db", re.ASCII
)
_MOMENT = "%Y-%m-%dT%H%M%S"


def backup_name(made_at: datetime, reason: BackupReason) -> str:
    """A file name that sorts by its moment, which is aware and told to the second."""
    tail = "" if reason is BackupReason.ROUTINE else f"-{reason.value}"
    return f"fadeline-{made_at.astimezone(UTC):{_MOMENT}}Z{tail}.db"


def read_backup_name(name: str) -> tuple[datetime, BackupReason] | None:
    """Invert backup_name; None for any other file."""
    found = _NAME.fullmatch(name)
    if found is None:
        return None
    try:
        made_at = datetime.strptime(found[1], _MOMENT).replace(tzinfo=UTC)
    except ValueError:
        return None
    return made_at, BackupReason(found[2] or BackupReason.ROUTINE)
