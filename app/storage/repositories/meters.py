"""Meters in the data file."""

from collections.abc import Collection
from datetime import datetime

from sqlmodel import Session, col, select

from app.domain.entities.meter import Meter, MeterDetails
from app.domain.errors import NotFound
from app.domain.i18n.message import say
from app.storage.database.collation import in_byte_order
from app.storage.repositories import revisions
from app.storage.schema.row_values import of_row, row_values
from app.storage.schema.table_base import number_of
from app.storage.schema.tables import MeterRow


def add(session: Session, details: MeterDetails) -> Meter:
    """Store a new meter."""
    row = MeterRow(**row_values(details))
    session.add(row)
    session.flush()
    return _meter(row)


def get(session: Session, meter_id: int) -> Meter:
    """One meter. Raises NotFound."""
    return _meter(_row(session, meter_id))


def found(session: Session, numbers: Collection[int]) -> dict[int, Meter]:
    """Those of these numbers that are there, in one statement."""
    if not numbers:
        return {}
    query = select(MeterRow).where(col(MeterRow.id).in_(numbers))
    return {one.id: one for one in map(_meter, session.exec(query))}


def change(session: Session, meter_id: int, details: MeterDetails, now: datetime) -> Meter:
    """Replace the limits of a meter, keeping what they were. Raises NotFound."""
    row = _row(session, meter_id)
    revisions.change(session, row, row_values(details), now)
    session.flush()
    return _meter(row)


def all_kept(session: Session) -> list[Meter]:
    """Every meter by name."""
    query = select(MeterRow).order_by(in_byte_order(col(MeterRow.name)), col(MeterRow.id))
    return [_meter(row) for row in session.exec(query)]


def _row(session: Session, meter_id: int) -> MeterRow:
    row = session.get(MeterRow, meter_id)
    if row is None:
        raise NotFound(say("There is no meter {number}.", number=meter_id))
    return row


def _meter(row: MeterRow) -> Meter:
    return Meter(number_of(row), of_row(MeterDetails, row), row.version)
