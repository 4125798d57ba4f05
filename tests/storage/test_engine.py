import contextlib
import sqlite3
from dataclasses import replace
from datetime import date

import pytest
from sqlalchemy import event, text
from sqlalchemy.exc import IntegrityError

from app.domain.errors import StorageError
from app.services.entities import batteries
from app.services.exchange import upload_staging
from app.services.store import open_store
from app.settings import MIGRATIONS, Settings
from app.storage.database.engine import (
    make_engine,
    read_session,
    translate_db_errors,
    write_transaction,
)
from app.storage.database.migrations import upgrade
from app.storage.repositories import batteries as rows
from tests.builders import battery_details
from tests.concurrency import at_once
from tests.postgres import another_writing, opened

TODAY = date(2026, 1, 1)


@pytest.fixture
def open_at():
    """Opens the data of a folder; what was opened is closed with the test."""
    with contextlib.ExitStack() as closing:

        def open_folder(folder):
            made = open_store(folder, folder / "f.db", folder / "staging", MIGRATIONS, 200)
            closing.callback(made.engine.dispose)
            return made

        yield open_folder


@pytest.mark.data_file
def test_every_connection_has_its_pragmas(tmp_path, monkeypatch, open_at):
    # The program's own engine, not the one that spares tests the flushing.
    monkeypatch.setattr("app.services.store.make_engine", make_engine)
    store = open_at(tmp_path)
    for _ in range(2):
        with read_session(store.engine) as session:
            values = {
                name: session.connection().execute(text(f"PRAGMA {name}")).scalar()
                for name in ("journal_mode", "synchronous", "foreign_keys")
            }
        assert values == {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1}
        store.engine.dispose()


def test_a_failed_use_case_leaves_nothing_half(store):
    def fail_halfway():
        with write_transaction(store.engine) as session:
            rows.add(session, battery_details())
            raise RuntimeError

    with pytest.raises(RuntimeError):
        fail_halfway()
    assert batteries.list_batteries(store, TODAY).shown == ()


def test_a_row_that_points_nowhere_is_refused_by_the_file(store):
    orphan = (
        "INSERT INTO event (uid, battery_id, on_date, kind, note, version) "
        "VALUES ('0', 9, '2026-01-01', '', '', 1)"
    )
    with (
        pytest.raises(IntegrityError, match=r"(?i)foreign key"),
        write_transaction(store.engine) as session,
    ):
        session.connection().execute(text(orphan))


def test_a_locked_file_is_a_sentence_and_reads_go_on(store):
    with another_writing(store):
        with pytest.raises(StorageError, match="Another program"):
            batteries.add_battery(store, battery_details())
        assert batteries.list_batteries(store, TODAY).shown == ()


def test_eight_writers_at_once_all_get_through(tmp_path):
    # With the patience that the program has when it is used, not that of the tests.
    store = opened(tmp_path, Settings(data_dir=tmp_path).busy_timeout_ms)

    def add():
        for _ in range(5):
            batteries.add_battery(store, battery_details())

    assert at_once(*[add] * 8) == [None] * 8
    assert len(batteries.list_batteries(store, TODAY).shown) == 40
    store.engine.dispose()


def test_a_file_that_is_no_database_is_a_sentence(tmp_path, open_at):
    (tmp_path / "f.db").write_bytes(b"this is not a database at all, not even close" * 40)
    with pytest.raises(StorageError, match="no Fadeline data file"):
        open_at(tmp_path)


def test_a_damaged_file_is_a_sentence(tmp_path, open_at):
    store = open_at(tmp_path)
    for _ in range(50):
        batteries.add_battery(store, battery_details(notes="x" * 3000))
    store.engine.dispose()
    path = tmp_path / "f.db"
    # The last connection to close moves everything from the log into the file.
    with contextlib.closing(sqlite3.connect(path)) as file:
        file.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    data = bytearray(path.read_bytes())
    data[4096:] = b"\xff" * (len(data) - 4096)
    path.write_bytes(data)
    with pytest.raises(StorageError, match="damaged"):
        batteries.list_batteries(open_at(tmp_path), TODAY)


def test_a_read_only_file_is_a_sentence(tmp_path, open_at):
    open_at(tmp_path).engine.dispose()
    engine = make_engine(tmp_path / "f.db")
    with engine.connect() as connection:
        connection.exec_driver_sql("PRAGMA query_only=ON")
        connection.commit()
        with pytest.raises(StorageError, match="cannot be written"), translate_db_errors():
            connection.exec_driver_sql("DELETE FROM battery")
    engine.dispose()


def test_a_full_disk_is_a_sentence_and_nothing_is_half(tmp_path, open_at):
    store = open_at(tmp_path)
    with store.engine.connect() as connection:
        pages = connection.exec_driver_sql("PRAGMA page_count").scalar()
    full = make_engine(tmp_path / "f.db")

    @event.listens_for(full, "connect")
    def _limit(connection, _record):
        connection.execute(f"PRAGMA max_page_count={pages}")

    def fill():
        for _ in range(50):
            batteries.add_battery(replace(store, engine=full), battery_details(notes="x" * 4000))

    with pytest.raises(StorageError, match="disk is full"):
        fill()
    full.dispose()
    kept = batteries.list_batteries(store, TODAY).shown
    assert len(kept) < 50


def test_a_folder_that_cannot_be_made_is_a_sentence(tmp_path, open_at):
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(StorageError, match="choose another with --data"):
        open_at(tmp_path / "file" / "data")


def test_a_file_of_a_newer_program_is_left_as_it_is(tmp_path, open_at):
    open_at(tmp_path).engine.dispose()
    with contextlib.closing(sqlite3.connect(tmp_path / "f.db")) as connection, connection:
        connection.execute("UPDATE alembic_version SET version_num = '9999'")
    with pytest.raises(StorageError, match="newer Fadeline"):
        upgrade(tmp_path / "f.db", MIGRATIONS)


def test_a_database_of_another_program_is_left_as_it_is(tmp_path, open_at):
    with contextlib.closing(sqlite3.connect(tmp_path / "f.db")) as connection, connection:
        connection.execute("CREATE TABLE battery (x)")
    with pytest.raises(StorageError, match="another program"):
        open_at(tmp_path)


def test_a_second_start_keeps_what_waits_for_the_first(tmp_path, open_at):
    store = open_at(tmp_path)
    staged = upload_staging.stage(store, b"time_s,A\n0,9\n60,9\n")
    upload_staging.forget_old(open_at(tmp_path))
    assert upload_staging.look_at(store, staged.name, None).source is not None
