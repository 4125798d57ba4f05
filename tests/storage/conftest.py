"""A data file of some megabytes, and a folder for its copies."""

import contextlib
import sqlite3

import pytest

from app.services.entities import batteries
from app.services.store import open_store
from app.settings import MIGRATIONS
from tests.builders import battery_details


@pytest.fixture
def database(tmp_path):
    """A data file of some megabytes."""
    store = open_store(
        tmp_path / "data", tmp_path / "data" / "f.db", tmp_path / "data" / "s", MIGRATIONS, 5000
    )
    for number in range(30):
        batteries.add_battery(store, battery_details(name=f"old {number}", notes="x" * 4000))
    store.engine.dispose()
    path = tmp_path / "data" / "f.db"
    with contextlib.closing(sqlite3.connect(path)) as file, file:
        file.execute("CREATE TABLE ballast (x)")
        file.executemany("INSERT INTO ballast VALUES (randomblob(100000))", [()] * 100)
    return path


@pytest.fixture
def folder(tmp_path):
    made = tmp_path / "stick"
    made.mkdir()
    return made
