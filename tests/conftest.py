"""Every test that stores something has a data folder of its own."""

import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from app.main import create_app
from app.services.store import Store
from app.settings import Settings
from tests.builders import NOW


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


def here(app: FastAPI) -> TestClient:
    """A browser on this machine."""
    return TestClient(app, base_url="http://127.0.0.1", client=("127.0.0.1", 5000))
