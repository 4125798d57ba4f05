"""Backups that are due, and a disk that is full."""

from datetime import timedelta

from app.services.backups import backup_places, backups
from app.storage.backup.backup_files import BackupTrouble
from tests.builders import NOW

DAY, HOUR = timedelta(days=1), timedelta(hours=1)


def full(monkeypatch, folder):
    """Let this folder's disk be full."""
    real = backup_places.copy_checked

    def copy(source, where, *rest):
        if where == folder:
            raise BackupTrouble(f"The disk of {where} is full.")
        return real(source, where, *rest)

    monkeypatch.setattr(backup_places, "copy_checked", copy)


def note(engine, now=NOW):
    return backups.quiet_note(engine, now)
