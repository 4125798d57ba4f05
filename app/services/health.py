"""Whether the program can do its work."""

import os

from sqlalchemy import text
from sqlalchemy.exc import SQLAlchemyError

from app.domain.errors import StorageTrouble
from app.services.store import Store
from app.storage.engine import data_file, reading


def reaches_data(store: Store) -> bool:
    """Whether the data can be read now, and a data file be written to."""
    try:
        with reading(store.engine) as session:
            session.execute(text("SELECT count(*) FROM setting"))
    except (StorageTrouble, SQLAlchemyError):
        return False
    path = data_file(store.engine)
    return path is None or all(os.access(one, os.W_OK) for one in (path, path.parent))
