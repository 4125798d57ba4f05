"""From the settings to the opened records: for the server and for the commands."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from app.services.store import Store, open_store
from app.settings import MIGRATIONS, Settings


def settings_for(data_dir: Path | None) -> Settings:
    """The settings of a command: its --data goes before the environment."""
    return Settings() if data_dir is None else Settings(data_dir=data_dir)


def open_records(settings: Settings) -> Store:
    """The records of these settings, made where there are none.

    Raises InvalidInput, StorageError.
    """
    return open_store(
        settings.data_dir,
        settings.address,
        settings.staging,
        MIGRATIONS,
        settings.busy_timeout_ms,
    )


@contextmanager
def opened(settings: Settings) -> Iterator[Store]:
    """The records of these settings, closed at the end; other processes may use them meanwhile."""
    store = open_records(settings)
    try:
        yield store
    finally:
        store.engine.dispose()
