"""A data file to back up, and folders to back it up to."""

import pytest

from app.services.backups import backups
from app.services.entities import batteries
from tests.builders import battery_details


@pytest.fixture
def engine(store):
    batteries.add_battery(store, battery_details())
    return store.engine


@pytest.fixture
def default(engine):
    return backups.show_backups(engine).default


@pytest.fixture
def stick(tmp_path):
    made = tmp_path / "stick"
    made.mkdir()
    return made


@pytest.fixture
def chosen(engine, stick):
    backups.choose_folder(engine, str(stick))
    return stick
