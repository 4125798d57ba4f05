"""Every test that stores something has a data folder of its own."""

import gc
import logging
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import hypothesis
import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from app.server.application import create_app
from app.services.access import auth
from app.services.store import Store
from app.settings import Settings
from tests import fast_db, fast_demo, postgres
from tests.builders import NOW
from tests.storage import every_table as planting
from tests.web.auth_client import QUICK

fast_db.use_them()
# No test measures time: on a busy machine the first example alone may take a second.
hypothesis.settings.register_profile("unhurried", deadline=None)
hypothesis.settings.load_profile("unhurried")
if postgres.SERVER:
    postgres.let_folders_stand_for_databases()


def pytest_configure(config: pytest.Config) -> None:
    if postgres.SERVER:
        # A connection that a test leaves behind ends with its database.
        left = "ignore:.* was deleted while still open:ResourceWarning"
        config.addinivalue_line("filterwarnings", left)


def pytest_collection_finish() -> None:
    # Thousands of collected tests stay to the end: looking through them again and again for
    # garbage took an eighth of the time.
    gc.collect()
    gc.freeze()


def pytest_runtest_setup(item: pytest.Item) -> None:
    if postgres.SERVER and item.get_closest_marker("data_file"):
        pytest.skip("about the data file alone; these records lie in PostgreSQL")
    if postgres.SERVER and item.get_closest_marker("any_database"):
        pytest.skip("the same whatever database; other tests store and read in PostgreSQL")


@pytest.fixture(autouse=True)
def own_databases(request: pytest.FixtureRequest) -> Iterator[None]:
    """The databases of a test go with it."""
    has_folder = bool(postgres.SERVER) and "tmp_path" in request.fixturenames
    folder = request.getfixturevalue("tmp_path") if has_folder else None
    yield
    if folder is not None:
        postgres.databases.drop_below(folder)


def pytest_sessionfinish() -> None:
    fast_demo.forget_demo()
    postgres.databases.drop_all()


@pytest.fixture
def app(tmp_path: Path) -> Iterator[FastAPI]:
    made = create_app(Settings(data_dir=tmp_path / "data", busy_timeout_ms=200))
    made.state.clock = lambda: NOW
    yield made
    made.state.example.close()
    made.state.store.engine.dispose()


@pytest.fixture
def store(app: FastAPI) -> Store:
    return app.state.store


@pytest.fixture
def client(app: FastAPI) -> Iterator[TestClient]:
    with here(app) as made:
        yield made


@pytest.fixture
def zone(monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[str], None]]:
    """Sets this machine's time zone for a test."""

    def set_zone(name: str) -> None:
        monkeypatch.setenv("TZ", name)
        time.tzset()

    yield set_zone
    monkeypatch.undo()
    time.tzset()


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Passphrases are hashed in no time."""
    monkeypatch.setattr(auth, "_hasher", QUICK)


@pytest.fixture(scope="session")
def planted_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data file with something in every table, to be copied and left as it is."""
    return planting.fill(tmp_path_factory.mktemp("planted"))


@pytest.fixture
def logs() -> Iterator[None]:
    """Logging as it was before."""
    root, ours = logging.getLogger(), [logging.getLogger(n) for n in ("fadeline", "uvicorn")]
    before = root.handlers[:], root.level, [one.level for one in ours]
    yield
    root.handlers[:], root.level = before[0], before[1]
    for one, level in zip(ours, before[2], strict=True):
        one.setLevel(level)


def here(app: FastAPI) -> TestClient:
    """A browser on this machine."""
    return TestClient(app, base_url="http://127.0.0.1", client=("127.0.0.1", 5000))
