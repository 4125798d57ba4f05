"""Whether the program can do its work."""

from sqlalchemy import text
from sqlalchemy.exc import SQLAlchemyError

from app.domain.errors import StorageTrouble
from app.services.store import Store
from app.storage.engine import reading


def reaches_data(store: Store) -> bool:
    """Whether something can be read from the data file now."""
    try:
        with reading(store.engine) as session:
            session.execute(text("SELECT count(*) FROM setting"))
    except (StorageTrouble, SQLAlchemyError):
        return False
    return True
