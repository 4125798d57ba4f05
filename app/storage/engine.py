"""The engine: pragmas of every connection, transactions, and trouble turned into sentences."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, create_engine, event
from sqlalchemy.exc import DatabaseError, OperationalError
from sqlmodel import Session

from app.domain.errors import StorageTrouble


def make_engine(path: Path, busy_timeout_ms: int = 5000, *, migrating: bool = False) -> Engine:
    """Engine on a SQLite file.

    WAL with synchronous=FULL: what was acknowledged survives a power cut. Foreign keys hold on
    every connection but the migrating one, where a table rebuilt with cascades on would lose its
    children.
    """
    # What a statement carries, such as the secret of a link, stays out of errors and so of the log.
    engine = create_engine(f"sqlite:///{path}", hide_parameters=True)
    pragmas = (
        f"busy_timeout={busy_timeout_ms}",
        "journal_mode=WAL",
        "synchronous=FULL",
        f"foreign_keys={'OFF' if migrating else 'ON'}",
    )

    @event.listens_for(engine, "connect")
    def _connect(connection: Any, _record: object) -> None:
        # The driver's own transactions are switched off: BEGIN is ours, below.
        connection.isolation_level = None
        for pragma in pragmas:
            connection.execute(f"PRAGMA {pragma}")

    @event.listens_for(engine, "begin")
    def _begin(connection: Any) -> None:
        # A read that later writes would fail at once when another writer is there.
        read = connection.get_execution_options().get("readonly", False)
        connection.exec_driver_sql("BEGIN" if read else "BEGIN IMMEDIATE")

    return engine


@contextmanager
def reading(engine: Engine) -> Iterator[Session]:
    """A session that only reads; it never waits for a writer."""
    with saying_trouble(), Session(engine.execution_options(readonly=True)) as session:
        yield session


@contextmanager
def writing(engine: Engine) -> Iterator[Session]:
    """One transaction: all of it is stored at the end, or nothing of it."""
    with saying_trouble(), Session(engine) as session, session.begin():
        yield session


@contextmanager
def trying(engine: Engine) -> Iterator[Session]:
    """A transaction that is taken back at its end: what would happen, without it happening."""
    with saying_trouble(), Session(engine) as session:
        yield session
        session.rollback()


_SENTENCES = (
    ("locked", "Another program is writing to the data file. Nothing was stored; try again."),
    ("busy", "Another program is writing to the data file. Nothing was stored; try again."),
    ("full", "The disk is full. Nothing was stored; free some space and try again."),
    (
        "readonly",
        "The data file cannot be written to. Nothing was stored; check the rights of its folder.",
    ),
    (
        "read-only",
        "The data file cannot be written to. Nothing was stored; check the rights of its folder.",
    ),
    (
        "malformed",
        "The data file is damaged. Nothing was stored; put a copy of it aside and go back to a "
        "backup.",
    ),
    (
        "not a database",
        "The data file is no Fadeline data file. Nothing was stored; choose another folder with "
        "--data.",
    ),
    (
        "unable to open",
        "The data file cannot be opened. Check that its folder exists and may be written to.",
    ),
    (
        "disk i/o",
        "The disk gives an error. Nothing was stored; check that the drive is still there.",
    ),
)


@contextmanager
def saying_trouble() -> Iterator[None]:
    """Turn the database's complaints about its file into what the user can do."""
    try:
        yield
    except (OperationalError, DatabaseError) as error:
        complaint = str(error.orig).lower()
        for sign, sentence in _SENTENCES:
            if sign in complaint:
                raise StorageTrouble(sentence) from error
        raise
