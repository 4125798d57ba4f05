"""A data file that has gone on since its backup."""

import pytest

from app.services.backups import backups
from app.services.entities import batteries
from tests.builders import NOW, battery_details
from tests.services.restoring.backed_up import open_at


@pytest.fixture
def data(tmp_path):
    return tmp_path / "data"


@pytest.fixture
def database(data):
    return data / "fadeline.db"


@pytest.fixture
def saved(data):
    """A data file that has gone on since its backup."""
    store = open_at(data)
    batteries.add_battery(store, battery_details(name="then", notes="x" * 4000))
    path = backups.back_up(store.engine, NOW).path
    batteries.add_battery(store, battery_details(name="since"))
    store.engine.dispose()
    return path
