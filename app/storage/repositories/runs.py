"""Runs and their readings in the data file."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import fields, replace
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Select
from sqlalchemy import select as sql_select
from sqlmodel import Session, col, func, select

from app.domain.entities.run import (
    FormerReading,
    ReadingGiven,
    Run,
    RunDetails,
    RunReading,
    RunState,
)
from app.domain.errors import NotFound
from app.domain.i18n.message import say
from app.domain.tokens import hash_token
from app.storage.repositories import revisions
from app.storage.schema.packing import unpack_row
from app.storage.schema.row_values import of_row, row_values
from app.storage.schema.table_base import number_of
from app.storage.schema.tables import RevisionRow, RunReadingRow, RunRow

_VALUES = tuple(field.name for field in fields(ReadingGiven))
_READING_COLUMNS = ("id", "source", "struck_reason", "version", "meant", *_VALUES)


def add(session: Session, battery_id: int, details: RunDetails) -> Run:
    """Store a run that begins."""
    row = RunRow(battery_id=battery_id, state=RunState.RUNNING, **row_values(details))
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
    """Every run that is neither finished nor given up."""
    query = select(RunRow).where(RunRow.state == RunState.RUNNING)
    return [_run(row) for row in session.exec(query)]


def settle(session: Session, run_id: int, state: RunState, discharge_id: int | None = None) -> Run:
    """Change where a run stands. Its feed is closed: one that goes on gets a new token."""
    row = _row(session, run_id)
    row.state, row.discharge_id, row.feed_hash = state, discharge_id, None
    row.version += 1
    session.add(row)
    return _run(row)


def set_feed(session: Session, run_id: int, token: str | None) -> Run:
    """Let a feed write with this token, or close it with None."""
    row = _row(session, run_id)
    row.feed_hash = None if token is None else hash_token(token)
    session.add(row)
    return _run(row)


def feeds(session: Session, run_id: int, token: str) -> bool:
    """Whether the token opens this run."""
    row = session.get(RunRow, run_id)
    return row is not None and row.feed_hash == hash_token(token)


def readings(session: Session, run_id: int) -> list[RunReading]:
    """All readings in order of time, struck ones too."""
    query = _readings(run_id).order_by(col(RunReadingRow.at))
    return [_noted(run_id, row) for row in session.execute(query)]


def readings_numbered(session: Session, run_id: int, ids: Collection[int]) -> list[RunReading]:
    """Those readings of a run that have one of these numbers, in order of time."""
    if not ids:
        return []
    # By their numbers alone: by the run and its moments all of its readings would be looked at.
    query = _readings(run_id, having=col(RunReadingRow.run_id) + 0).where(
        col(RunReadingRow.id).in_(ids)
    )
    found = [_noted(run_id, row) for row in session.execute(query)]
    return sorted(found, key=lambda one: one.given.at)


def _readings(run_id: int, having: Any = RunReadingRow.run_id) -> Select[Any]:
    # Columns, not rows as objects: a logger leaves a hundred thousand.
    columns = (getattr(RunReadingRow, name) for name in _READING_COLUMNS)
    return sql_select(*columns).where(having == run_id)


def _noted(run_id: int, row: Iterable[Any]) -> RunReading:
    row_id, source, struck, version, meant, *values = row
    return RunReading(row_id, run_id, ReadingGiven(*values), source, struck, version, meant)


def reading_at(session: Session, run_id: int, at: datetime) -> RunReading | None:
    """The reading of a run at that moment; None where there is none."""
    query = select(RunReadingRow).where(RunReadingRow.run_id == run_id, RunReadingRow.at == at)
    row = session.exec(query).first()
    return None if row is None else _reading(row)


def reading(session: Session, run_id: int, reading_id: int) -> RunReading:
    """One reading. Raises NotFound."""
    return _reading(_reading_row(session, run_id, reading_id))


def count_readings(session: Session, run_id: int) -> int:
    """How many readings a run has, struck ones too."""
    query = select(func.count()).where(RunReadingRow.run_id == run_id)
    return session.exec(query).one()


def standings(session: Session, run_ids: Collection[int]) -> dict[int, tuple[int, int]]:
    """How many readings each of these runs has, struck ones too, and the number of the newest."""
    reading = col(RunReadingRow.id)
    run_id = col(RunReadingRow.run_id)
    query = sql_select(run_id, func.count(), func.max(reading)).where(run_id.in_(run_ids))
    found = {one: (count, newest) for one, count, newest in session.execute(query.group_by(run_id))}
    return {one: found.get(one, (0, 0)) for one in run_ids}


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
            **row_values(one),
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
    meant: bool = False,
) -> RunReading:
    """Correct, strike or mean a reading, keeping what it was. Raises NotFound.

    Other values are no longer those that were meant.
    """
    row = _reading_row(session, run_id, reading_id)
    columns = {} if given is None else row_values(given)
    if meant or (given is not None and given.values != _reading(row).given.values):
        columns["meant"] = meant
    if struck_reason is not None:
        columns["struck_reason"] = struck_reason
    revisions.change(session, row, columns, now)
    session.flush()
    return _reading(row)


def former_readings(session: Session, run_id: int) -> list[FormerReading]:
    """What edits replaced in the readings of a run, the first edit of each reading first."""
    query = (
        select(RevisionRow.thing_id, RevisionRow.replaced_at, RevisionRow.before)
        .join(RunReadingRow, col(RunReadingRow.id) == RevisionRow.thing_id)
        .where(RevisionRow.thing == "run_reading", RunReadingRow.run_id == run_id)
        .order_by(col(RevisionRow.thing_id), col(RevisionRow.version), col(RevisionRow.id))
    )
    return [_former(*kept) for kept in session.exec(query)]


def _former(reading_id: int, replaced_at: datetime, before: bytes) -> FormerReading:
    row = unpack_row(before)
    given = revisions.rebuilt(ReadingGiven, row)
    if given.at.tzinfo is None:
        given = replace(given, at=given.at.replace(tzinfo=UTC))
    return FormerReading(reading_id, given, str(row.get("struck_reason", "")), replaced_at)


def _row(session: Session, run_id: int) -> RunRow:
    row = session.get(RunRow, run_id)
    if row is None:
        raise NotFound(say("There is no running test {number}.", number=run_id))
    return row


def _reading_row(session: Session, run_id: int, reading_id: int) -> RunReadingRow:
    row = session.get(RunReadingRow, reading_id)
    if row is None or row.run_id != run_id:
        raise NotFound(say("There is no reading {number} in this running test.", number=reading_id))
    return row


def _run(row: RunRow) -> Run:
    return Run(
        number_of(row),
        row.battery_id,
        of_row(RunDetails, row),
        RunState(row.state),
        row.discharge_id,
        row.feed_hash is not None,
        row.version,
        f"{row.uid}.{row.version}",
    )


def _reading(row: RunReadingRow) -> RunReading:
    given = of_row(ReadingGiven, row)
    return RunReading(
        number_of(row), row.run_id, given, row.source, row.struck_reason, row.version, row.meant
    )
