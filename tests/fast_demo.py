"""What many tests begin with in their store: made once a worker and copied, not entered again.

The demo takes a third of a second to enter, five tests of a battery a tenth.
"""

import contextlib
import sqlite3
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from app.services.example.demo import fill_with_demo
from app.services.store import Store, open_store
from app.settings import MIGRATIONS
from tests.builders import NOW

Fill = Callable[[Store], Any]


@dataclass(frozen=True)
class Made:
    """A database in memory with what was entered, and what the entering returned."""

    database: sqlite3.Connection
    rows_before: list[int]
    returned: Any


_all_made: dict[Fill, Made] = {}


def enter_demo(store: Store) -> None:
    """The demo as it is on the day of the tests."""
    fill_with_demo(store, NOW.date())


def copy_demo_data(store: Store) -> None:
    """Fill an empty store as fill_with_demo does."""
    copied(store, enter_demo)


def copied(store: Store, fill: Fill) -> Any:
    """Do as fill does, and return what it returns; where something is in the store, by fill."""
    if store.on_server:
        return fill(store)
    if fill not in _all_made:
        _all_made[fill] = _make(fill)
    made = _all_made[fill]
    with contextlib.closing(store.engine.raw_connection()) as connection:
        empty = _rows(connection.driver_connection) == made.rows_before
        if empty:
            made.database.backup(connection.driver_connection)
    return made.returned if empty else fill(store)


def _make(fill: Fill) -> Made:
    made = sqlite3.connect(":memory:", check_same_thread=False)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        store = open_store(folder, folder / "made.db", folder / "staging", MIGRATIONS, 200)
        with contextlib.closing(sqlite3.connect(folder / "made.db")) as file:
            before = _rows(file)
            returned = fill(store)
            store.engine.dispose()
            file.backup(made)
    return Made(made, before, returned)


def _rows(connection: sqlite3.Connection) -> list[int]:
    """How many rows each table has."""
    tables = connection.execute(
        "SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name"
    ).fetchall()
    counts = (f'SELECT count(*) FROM "{name}"' for (name,) in tables)
    return [n for (n,) in connection.execute(" UNION ALL ".join(counts))]


def forget_demo() -> None:
    """At the end of all tests: an open connection would be complained of."""
    for made in _all_made.values():
        made.database.close()
    _all_made.clear()
