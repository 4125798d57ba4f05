"""Data files for tests: new ones copied from one that was migrated once a worker, none flushed.

A new file takes the migrations a quarter of a second, and nearly every test has one. Real ones are
made and updated by the tests of migrations and by every server that runs as a process of its own.
Nobody cuts the power in a test, but for those that kill a server, which is a process, too.
"""

import contextlib
import functools
import os
import tempfile
from pathlib import Path
from typing import Any
from uuid import uuid4

from sqlalchemy import Engine, event

from app.services import store
from app.settings import MIGRATIONS
from app.storage.database.engine import Address, make_engine
from app.storage.database.migrations import upgrade
from tests.postgres import databases


@functools.cache
def _migrated() -> bytes:
    """A data file as the program makes it."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "new.db"
        upgrade(file, MIGRATIONS)
        return file.read_bytes()


def _lay_down(file: Path) -> bool:
    """The new file, whole from the first moment on; another's that is there by then stays."""
    part = file.with_name(f"{uuid4()}.part")
    laid = False
    # Where it cannot be laid down, the program is to find out.
    with contextlib.suppress(OSError):
        part.write_bytes(_migrated())
        os.link(part, file)
        laid = True
    part.unlink(missing_ok=True)
    return laid


def _unflushed(connection: Any, _record: object) -> None:
    connection.execute("PRAGMA synchronous=OFF")


def _engine(address: Address, *given: Any, **named: Any) -> Engine:
    engine = make_engine(address, *given, **named)
    if isinstance(address, Path):
        event.listen(engine, "connect", _unflushed)
    return engine


def _upgrade(address: Address, migrations: Path, *given: Any) -> None:
    if migrations == MIGRATIONS:
        # What was laid down or copied just now has nothing to be updated.
        if isinstance(address, Path) and not address.exists() and _lay_down(address):
            return
        if databases.is_new(address):
            return
    upgrade(address, migrations, *given)


def use_them() -> None:
    """Let what is opened from here on be made so."""
    store.make_engine, store.upgrade = _engine, _upgrade
