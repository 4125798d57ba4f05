"""The engine: pragmas of every connection, transactions, and trouble turned into sentences.

What differs between a data file and a PostgreSQL database is known here and in server.py alone.
"""

import logging
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, Table, create_engine, event, func, select
from sqlalchemy.exc import DatabaseError, DataError
from sqlmodel import Session

from app.domain.errors import NotFound, StorageError
from app.domain.i18n.marks import N_
from app.domain.i18n.message import say
from app.storage.database import postgresql
from app.storage.database.damaged_values import watch_dates
from app.storage.database.file_guard import watch_file

log = logging.getLogger("fadeline.records")
# A command says its trouble itself, and sets up no log.
log.addHandler(logging.NullHandler())
# What cannot be done now. Two threads at once may both say it, which does no harm.
_in_trouble: set[str] = set()
# A data file, or the address of a PostgreSQL database.
Address = Path | str


def make_engine(
    address: Address, busy_timeout_ms: int = 5000, *, migrating: bool = False
) -> Engine:
    """Engine on a data file or on a PostgreSQL database. Raises InvalidInput and StorageError."""
    if isinstance(address, str):
        return postgresql.make_server_engine(address, busy_timeout_ms, migrating=migrating)
    return _file_engine(address, busy_timeout_ms, migrating=migrating)


def data_file(engine: Engine) -> Path | None:
    """The data file; None where the records lie in a PostgreSQL database."""
    return Path(str(engine.url.database)) if engine.dialect.name == "sqlite" else None


def shown_address(address: Address) -> str:
    """Where the records lie, for their owner to read. Raises InvalidInput."""
    return (
        postgresql.shown(postgresql.server_url(address))
        if isinstance(address, str)
        else str(address)
    )


def shown_place(engine: Engine) -> str:
    """Where an engine keeps its data, without a password."""
    return str(data_file(engine) or postgresql.shown(engine.url))


def _file_engine(path: Path, busy_timeout_ms: int, *, migrating: bool) -> Engine:
    """Engine on a SQLite file.

    WAL with synchronous=FULL: what was acknowledged survives a power cut. Foreign keys hold on
    every connection but the migrating one, where a table rebuilt with cascades on would lose its
    children.
    """
    # Made of its parts: written as text, a “?” or a “%20” in the path would mean another file.
    address = URL.create("sqlite", database=str(path))
    # What a statement carries, such as the secret of a link, stays out of errors and so of the log.
    engine = create_engine(address, hide_parameters=True)
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
        options = connection.get_execution_options()
        if options.get("aside", False):
            _take_turn_soon(connection)
        else:
            connection.exec_driver_sql("BEGIN" if options.get("readonly") else "BEGIN IMMEDIATE")

    def _take_turn_soon(connection: Connection) -> None:
        connection.exec_driver_sql(f"PRAGMA busy_timeout={postgresql.ASIDE_MS}")
        try:
            connection.exec_driver_sql("BEGIN IMMEDIATE")
        finally:
            connection.exec_driver_sql(f"PRAGMA busy_timeout={busy_timeout_ms}")

    watch_file(engine, path)
    watch_dates(engine)
    return engine


@contextmanager
def _logged(engine: Engine, done: str) -> Iterator[None]:
    """Log when records can no longer be read or stored, once, and when they can be again."""
    what = f"{shown_place(engine)} can be {done} again"
    try:
        yield
    except StorageError as trouble:
        if what not in _in_trouble:
            _in_trouble.add(what)
            log.warning("records of %s cannot be %s: %s", shown_place(engine), done, trouble)
        raise
    if what in _in_trouble:
        _in_trouble.discard(what)
        log.info("records of %s", what)


@contextmanager
def read_session(engine: Engine) -> Iterator[Session]:
    """A session that only reads; it never waits for a writer."""
    reading = engine.execution_options(readonly=True)
    with _logged(engine, "read"), translate_db_errors(), Session(reading) as session:
        yield session


@contextmanager
def write_transaction(engine: Engine) -> Iterator[Session]:
    """One transaction: all of it is stored at the end, or nothing of it."""
    with (
        _logged(engine, "stored"),
        translate_db_errors(),
        Session(engine) as session,
        session.begin(),
    ):
        yield session


@contextmanager
def aside_transaction(engine: Engine) -> Iterator[Connection]:
    """A transaction for what is no record and can be had again: it hardly waits for its turn."""
    with translate_db_errors(), engine.execution_options(aside=True).begin() as connection:
        yield connection


@contextmanager
def dry_run_session(engine: Engine) -> Iterator[Session]:
    """A transaction that is taken back at its end: what would happen, without it happening."""
    with translate_db_errors(), Session(engine) as session:
        yield session
        session.rollback()


_SENTENCES = (
    (
        ("locked", "busy"),
        N_("Another program is writing to the data file. Nothing was stored; try again."),
    ),
    (("full",), N_("The disk is full. Nothing was stored; free some space and try again.")),
    (
        ("readonly", "read-only"),
        N_(
            "The data file cannot be written to. Nothing was stored; check the rights of its "
            "folder."
        ),
    ),
    (
        ("malformed",),
        N_(
            "The data file is damaged. Nothing was stored; put a copy of it aside and go back to a "
            "backup."
        ),
    ),
    (
        ("not a database",),
        N_(
            "The data file is no Fadeline data file. Nothing was stored; choose another folder "
            "with --data."
        ),
    ),
    (
        ("unable to open",),
        N_("The data file cannot be opened. Check that its folder exists and may be written to."),
    ),
    (
        ("disk i/o",),
        N_("The disk gives an error. Nothing was stored; check that it is still there."),
    ),
)


@contextmanager
def translate_db_errors() -> Iterator[None]:
    """Turn the database's complaints about its file into what the user can do."""
    try:
        yield
    except DatabaseError as error:
        if isinstance(error, DataError) and postgresql.is_too_large(error.orig):
            raise NotFound(say("Nothing here has so large a number.")) from error
        if sentence := _sentence(error.orig):
            raise StorageError(say(sentence)) from error
        raise


def _sentence(complaint: BaseException | None) -> str:
    if hasattr(complaint, "sqlstate"):
        return postgresql.server_sentence(complaint)
    said = str(complaint).lower()
    return next((text for signs, text in _SENTENCES if any(one in said for one in signs)), "")


def broken_rule(error: DatabaseError) -> str:
    """Why a row was refused, in the database's words."""
    said = str(error.orig).removeprefix("UNIQUE constraint failed: ")
    return said.partition("DETAIL:")[2].strip() or said


def orphans(connection: Connection) -> int:
    """How many rows point nowhere after an update, during which a data file does not look."""
    if connection.dialect.name != "sqlite":
        return 0
    return len(connection.exec_driver_sql("PRAGMA foreign_key_check").all())


def count_on(session: Session, table: Table) -> None:
    """Give new rows numbers above those that rows brought along; a data file does so by itself."""
    if session.connection().dialect.name == "sqlite":
        return
    number = table.c.id
    sequence = func.pg_get_serial_sequence(table.name, number.name)
    highest = select(func.setval(sequence, func.coalesce(func.max(number), 1), func.count() > 0))
    session.execute(highest)
