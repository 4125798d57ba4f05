"""The demo in the store of a test: made once a worker, which takes a third of a second."""

import contextlib
import functools
import sqlite3
import tempfile
from pathlib import Path

from app.services.example.demo import fill_with_demo
from app.services.store import Store, open_store
from app.settings import MIGRATIONS
from tests.builders import NOW


@functools.cache
def _made() -> sqlite3.Connection:
    """A database in memory with the demo as it is on the day of the tests."""
    made = sqlite3.connect(":memory:", check_same_thread=False)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        store = open_store(folder, folder / "demo.db", folder / "staging", MIGRATIONS, 200)
        fill_with_demo(store, NOW.date())
        store.engine.dispose()
        with contextlib.closing(sqlite3.connect(folder / "demo.db")) as file:
            file.backup(made)
    return made


def copy_demo_data(store: Store) -> None:
    """Fill an empty store as fill_with_demo does."""
    if store.on_server:
        fill_with_demo(store, NOW.date())
        return
    with contextlib.closing(store.engine.raw_connection()) as connection:
        _made().backup(connection.driver_connection)


def forget_demo() -> None:
    """At the end of all tests: an open connection would be complained of."""
    if _made.cache_info().currsize:
        _made().close()
        _made.cache_clear()
