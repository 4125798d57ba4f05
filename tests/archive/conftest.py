"""A whole archive, and records of somebody else to bring it into."""

import pytest

from app.domain.errors import InvalidInput
from app.services.entities import batteries
from app.services.exchange import records_archive
from tests.archives import (
    empty_store,
    exported,
    fill,
)
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


@pytest.fixture
def refused(mine, tmp_path):
    before = exported(mine, tmp_path / "before.zip")

    def check(path, match):
        for attempt in (
            lambda: records_archive.look_at_archive(mine, path),
            lambda: records_archive.restore_records(mine, path, merge=True),
        ):
            with pytest.raises(InvalidInput, match=match) as caught:
                attempt()
            sentence = str(caught.value)
            assert len(caught.value.problems) == 1
            assert sentence.endswith(".")
            assert "\n" not in sentence
            assert len(sentence) < 1000
        assert exported(mine, tmp_path / "after.zip") == before

    return check
