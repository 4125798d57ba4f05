"""A whole archive, and records of somebody else to bring it into."""

import pytest

from app.services import batteries
from tests.archives import empty_store, exported, fill
from tests.builders import battery_details


@pytest.fixture(scope="module")
def archive(tmp_path_factory):
    folder = tmp_path_factory.mktemp("whole")
    store = empty_store(folder)
    fill(store)
    exported(store, folder / "a.zip")
    store.engine.dispose()
    return folder / "a.zip"


@pytest.fixture(scope="module")
def mine(tmp_path_factory):
    """Records of somebody else that must stay as they are."""
    store = empty_store(tmp_path_factory.mktemp("mine"))
    batteries.add_battery(store, battery_details(name="mine"))
    yield store
    store.engine.dispose()
