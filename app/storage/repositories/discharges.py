"""Capacity tests in the data file."""

from datetime import datetime, timedelta, timezone

from sqlalchemy.exc import IntegrityError
from sqlmodel import Session, col, func, select

from app.domain.entities.discharge import Discharge, DischargeDetails
from app.domain.errors import InvalidInput
from app.domain.i18n.message import say
from app.storage.repositories import revisions, soft_delete
from app.storage.repositories.edited_rows import EditedRows
from app.storage.schema.row_values import of_row, row_values
from app.storage.schema.table_base import number_of
from app.storage.schema.tables import DischargeRow


def _stored(row: DischargeRow, details: DischargeDetails) -> Discharge:
    return Discharge(number_of(row), row.battery_id, details, row.version)


def _discharge(row: DischargeRow) -> Discharge:
    return _stored(row, of_row(DischargeDetails, row))


_ROWS = EditedRows(DischargeRow, _discharge)
get = _ROWS.get
binned = _ROWS.binned
put_in_bin = _ROWS.put_in_bin


def add(session: Session, battery_id: int, details: DischargeDetails) -> Discharge:
    """Store a test.

    Raises InvalidInput where the battery has one that starts at the same instant.
    """
    row = DischargeRow(battery_id=battery_id, **row_values(details))
    session.add(row)
    _flush(session, details)
    return _stored(row, details)


def of_battery(session: Session, battery_id: int) -> list[Discharge]:
    """The battery's tests in order of their start."""
    query = (
        select(DischargeRow)
        .where(DischargeRow.battery_id == battery_id, col(DischargeRow.deleted_at).is_(None))
        .order_by(col(DischargeRow.started_at))
    )
    return [_discharge(row) for row in session.exec(query)]


def of_import(session: Session, battery_id: int, import_uid: str) -> list[Discharge]:
    """Those of the battery's tests that came in together, in order of their start."""
    tests = of_battery(session, battery_id)
    return [one for one in tests if import_uid and one.details.import_uid == import_uid]


def binned_of_import(session: Session, battery_id: int, import_uid: str) -> int:
    """How many of those that came in together lie in the bin."""
    query = select(func.count()).where(
        DischargeRow.battery_id == battery_id,
        DischargeRow.import_uid == import_uid,
        col(DischargeRow.deleted_at).is_not(None),
    )
    return session.exec(query).one()


def starts(session: Session, battery_id: int, except_id: int = 0) -> set[datetime]:
    """When the battery's tests start, in UTC, without one of them."""
    query = select(DischargeRow.started_at).where(
        DischargeRow.battery_id == battery_id,
        DischargeRow.id != except_id,
        col(DischargeRow.deleted_at).is_(None),
    )
    return set(session.exec(query))


def origin(session: Session, discharge_id: int) -> tuple[int, datetime]:
    """Battery and start, on the clock of its place, of a test that may lie in the bin."""
    columns = (DischargeRow.battery_id, DischargeRow.started_at, DischargeRow.utc_offset_minutes)
    battery_id, started_at, offset = session.exec(
        select(*columns).where(DischargeRow.id == discharge_id)
    ).one()
    return battery_id, started_at.astimezone(timezone(timedelta(minutes=offset)))


def counts(session: Session) -> dict[int, int]:
    """How many tests each battery has, by its number; those in the bin are not counted."""
    query = (
        select(DischargeRow.battery_id, func.count())
        .where(col(DischargeRow.deleted_at).is_(None))
        .group_by(col(DischargeRow.battery_id))
    )
    return dict(session.exec(query).all())


def change(
    session: Session, discharge_id: int, details: DischargeDetails, now: datetime
) -> Discharge:
    """Replace a test, keeping what it was.

    Raises NotFound, InvalidInput where its start is taken.
    """
    row = _row(session, discharge_id)
    revisions.change(session, row, row_values(details), now)
    _flush(session, details)
    return _stored(row, details)


def restore(session: Session, discharge_id: int) -> Discharge:
    """Take a test out of the bin.

    Raises InvalidInput where another now has its place, and StaleEdit.
    """
    test = _ROWS.restore(session, discharge_id)
    _flush(session, test.details)
    return test


def _flush(session: Session, details: DischargeDetails) -> None:
    try:
        session.flush()
    except IntegrityError as error:
        if "started_at" not in str(error.orig):
            raise
        raise start_taken(details) from error


def start_taken(details: DischargeDetails) -> InvalidInput:
    """The refusal of a test that starts when another of its battery does."""
    return InvalidInput.because(
        say("start of the test"),
        f"{details.started_local:%Y-%m-%d %H:%M}",
        say("a moment at which no other test of this battery starts"),
        "started_at",
    )


def _row(session: Session, discharge_id: int) -> DischargeRow:
    return soft_delete.kept(session, DischargeRow, discharge_id)
