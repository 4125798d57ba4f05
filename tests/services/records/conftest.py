"""Records with something in every table, their archive, and others that are empty."""

import pytest

from tests.archives import empty_store, exported, fill


@pytest.fixture
def filled(store):
    fill(store)
    return store


@pytest.fixture
def other(tmp_path):
    made = empty_store(tmp_path / "other")
    yield made
    made.engine.dispose()


@pytest.fixture
def archive(filled, tmp_path):
    exported(filled, tmp_path / "a.zip")
    return tmp_path / "a.zip"
