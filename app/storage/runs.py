"""Runs and their readings in the data file."""

import hashlib
from collections.abc import Sequence
from dataclasses import fields
from datetime import datetime

from sqlalchemy import select as sql_select
from sqlmodel import Session, col, func, select

from app.domain.discharge import ChargeCondition
from app.domain.errors import NotFound
from app.domain.run import ReadingGiven, Run, RunDetails, RunReading, RunState
from app.domain.saying import say
from app.storage import revisions
from app.storage.tables import RunReadingRow, RunRow

_FIELDS = tuple(field.name for field in fields(RunDetails))
_VALUES = tuple(field.name for field in fields(ReadingGiven))
_READING_COLUMNS = ("id", "source", "struck_reason", "version", *_VALUES)


def add(session: Session, battery_id: int, details: RunDetails) -> Run:
    row = RunRow(
        battery_id=battery_id,
        state=RunState.RUNNING,
        **{name: getattr(details, name) for name in _FIELDS},
    )
    session.add(row)
    session.flush()
    return _run(row)


def get(session: Session, run_id: int) -> Run:
    """One run. Raises NotFound."""
    return _run(_row(session, run_id))


def of_battery(session: Session, battery_id: int) -> list[Run]:
    """The battery's runs, the newest first."""
    query = (
        select(RunRow)
        .where(RunRow.battery_id == battery_id)
        .order_by(col(RunRow.started_at).desc(), col(RunRow.id).desc())
    )
    return [_run(row) for row in session.exec(query)]


def running(session: Session) -> list[Run]:
    query = select(RunRow).where(RunRow.state == RunState.RUNNING)
    return [_run(row) for row in session.exec(query)]


def settle(session: Session, run_id: int, state: RunState, discharge_id: int | None = None) -> Run:
    """Change where a run stands. Its feed is closed: one that goes on gets a new word."""
    row = _row(session, run_id)
    row.state, row.discharge_id, row.feed_hash = state, discharge_id, None
    row.version += 1
    session.add(row)
    return _run(row)


def set_feed(session: Session, run_id: int, word: str | None) -> Run:
    """Let a feed write with this word, or close it with None."""
    row = _row(session, run_id)
    row.feed_hash = None if word is None else _hash(word)
    session.add(row)
    return _run(row)


def feeds(session: Session, run_id: int, word: str) -> bool:
    """Whether the word opens this run."""
    row = session.get(RunRow, run_id)
    return row is not None and row.feed_hash == _hash(word)


def readings(session: Session, run_id: int) -> list[RunReading]:
    """All readings in order of time, struck ones too."""
    # Columns, not rows as objects: a logger leaves a hundred thousand, and every page reads them.
    columns = (getattr(RunReadingRow, name) for name in _READING_COLUMNS)
    query = (
        sql_select(*columns)
        .where(col(RunReadingRow.run_id) == run_id)
        .order_by(col(RunReadingRow.at))
    )
    return [
        RunReading(row_id, run_id, ReadingGiven(*values), source, struck, version)
        for row_id, source, struck, version, *values in session.execute(query)
    ]


def reading_at(session: Session, run_id: int, at: datetime) -> RunReading | None:
    query = select(RunReadingRow).where(RunReadingRow.run_id == run_id, RunReadingRow.at == at)
    row = session.exec(query).first()
    return None if row is None else _reading(row)


def count_readings(session: Session, run_id: int) -> int:
    query = select(func.count()).where(RunReadingRow.run_id == run_id)
    return session.exec(query).one()


def readings_between(
    session: Session, run_id: int, first: datetime, last: datetime
) -> list[RunReading]:
    """Readings from first to last, both included, struck ones too."""
    at = col(RunReadingRow.at)
    query = select(RunReadingRow).where(RunReadingRow.run_id == run_id, at >= first, at <= last)
    return [_reading(row) for row in session.exec(query)]


def add_readings(session: Session, run_id: int, given: Sequence[ReadingGiven], source: str) -> None:
    """Store readings whose moments are not taken yet."""
    session.add_all(
        RunReadingRow(
            run_id=run_id,
            source=source,
            struck_reason="",
            **{name: getattr(one, name) for name in _VALUES},
        )
        for one in given
    )
    session.flush()


def change_reading(
    session: Session,
    run_id: int,
    reading_id: int,
    now: datetime,
    *,
    given: ReadingGiven | None = None,
    struck_reason: str | None = None,
) -> RunReading:
    """Correct or strike a reading, keeping what it was. Raises NotFound."""
    row = session.get(RunReadingRow, reading_id)
    if row is None or row.run_id != run_id:
        raise NotFound(say("There is no reading {number} in this running test.", number=reading_id))

    def apply() -> None:
        if given is not None:
            for name in _VALUES:
                setattr(row, name, getattr(given, name))
        if struck_reason is not None:
            row.struck_reason = struck_reason

    revisions.keep(session, "run_reading", row, now, apply)
    session.flush()
    return _reading(row)


def _row(session: Session, run_id: int) -> RunRow:
    row = session.get(RunRow, run_id)
    if row is None:
        raise NotFound(say("There is no running test {number}.", number=run_id))
    return row


def _hash(word: str) -> str:
    return hashlib.sha256(word.encode()).hexdigest()


def _run(row: RunRow) -> Run:
    if row.id is None:
        raise ValueError("a run is used before it was stored")
    values = {name: getattr(row, name) for name in _FIELDS}
    values["charge_condition"] = ChargeCondition(row.charge_condition)
    return Run(
        row.id,
        row.battery_id,
        RunDetails(**values),
        RunState(row.state),
        row.discharge_id,
        row.feed_hash is not None,
        row.version,
    )


def _reading(row: RunReadingRow) -> RunReading:
    if row.id is None:
        raise ValueError("a reading is used before it was stored")
    given = ReadingGiven(**{name: getattr(row, name) for name in _VALUES})
    return RunReading(row.id, row.run_id, given, row.source, row.struck_reason, row.version)
