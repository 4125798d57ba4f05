"""Data folders and their backups."""

import contextlib
from datetime import timedelta

from app.services.backups.restoring import restore_backup
from app.services.entities import batteries
from app.services.store import open_store
from app.settings import MIGRATIONS
from app.storage.backup.integrity import fingerprint, open_readonly
from tests.builders import NOW

LATER = NOW + timedelta(hours=1)


def open_at(folder):
    return open_store(folder, folder / "fadeline.db", folder / "staging", MIGRATIONS, 1000)


def names(folder):
    store = open_at(folder)
    try:
        return [report.name for report in batteries.list_batteries(store, NOW.date()).shown]
    finally:
        store.engine.dispose()


def held(path):
    with contextlib.closing(open_readonly(path)) as file:
        return fingerprint(file)


def restore(database, file, **more):
    return restore_backup(database, MIGRATIONS, file, LATER, **more)
