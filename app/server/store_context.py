"""From the settings to the opened records: for the server and for the commands."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from app.server.terminal import echo
from app.services.store import Store, open_store
from app.settings import MIGRATIONS, Settings
from app.storage.database.engine import shown_address


def settings_for(data_dir: Path | None) -> Settings:
    """The settings of a command: its --data goes before the environment."""
    return Settings() if data_dir is None else Settings.of_folder(data_dir)


def say_which(settings: Settings) -> None:
    """Say on which records a command works, beside its results. Raises InvalidInput."""
    echo(f"Records: {shown_address(settings.address)}", err=True)


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
