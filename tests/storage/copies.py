"""Copies of a data file."""

from app.domain.records.backup import BackupReason
from app.storage.backup.online_backup import copy_checked, opened_source
from tests.builders import NOW


def copy(database, folder, now=NOW, reason=BackupReason.ROUTINE, **more):
    with opened_source(database) as source:
        return copy_checked(source, folder, now, reason, **more)


def names(folder):
    return sorted(path.name for path in folder.iterdir())
