"""Whether the program can do its work."""

import os
import shutil

from sqlalchemy import text
from sqlalchemy.exc import SQLAlchemyError

from app.domain.errors import StorageError
from app.services.store import Store
from app.storage.database.engine import data_file, read_session

# What a test with its file takes.
MIN_FREE_BYTES = 5_000_000


def has_room(store: Store) -> bool:
    """Whether the disk of a data file has room for what is stored next."""
    path = data_file(store.engine)
    try:
        return path is None or shutil.disk_usage(path.parent).free >= MIN_FREE_BYTES
    except OSError:
        return False


def reaches_data(store: Store) -> bool:
    """Whether the data can be read now, and a data file be written to."""
    try:
        with read_session(store.engine) as session:
            session.execute(text("SELECT count(*) FROM setting"))
    except (StorageError, SQLAlchemyError):
        return False
    path = data_file(store.engine)
    return path is None or all(os.access(one, os.W_OK) for one in (path, path.parent))
