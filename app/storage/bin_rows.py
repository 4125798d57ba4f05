"""Rows that can lie in the bin: what is kept, the way there and the way back."""

from datetime import datetime
from typing import TypeVar

from sqlmodel import Session, col, select

from app.domain.errors import NotFound, Outdated
from app.storage.tables import (
    BatteryRow,
    DischargeRow,
    EventRow,
    PhotoRow,
    PlaceRow,
    StayRow,
    TemperatureLogRow,
)

Row = TypeVar(
    "Row", BatteryRow, DischargeRow, EventRow, PhotoRow, PlaceRow, StayRow, TemperatureLogRow
)


def kept(session: Session, kind: type[Row], number: int, thing: str) -> Row:
    """A row that is not in the bin. Raises NotFound; thing is what its owner calls it."""
    row = session.get(kind, number)
    if row is None or row.deleted_at is not None:
        raise NotFound(f"There is no {thing} {number}; it may lie in the bin.")
    return row


def put(session: Session, kind: type[Row], number: int, thing: str, now: datetime) -> Row:
    """Put a row in the bin. Raises NotFound where it is not there, or lies there already."""
    row = kept(session, kind, number, thing)
    row.deleted_at = now
    session.add(row)
    return row


def taken_out(session: Session, kind: type[Row], number: int, thing: str) -> Row:
    """Take a row out of the bin. Raises NotFound, and Outdated where it was restored already."""
    row = session.get(kind, number)
    if row is None:
        raise NotFound(f"There is no {thing} {number}.")
    if row.deleted_at is None:
        raise Outdated(f"This {thing} is not in the bin: it was restored already.")
    row.deleted_at = None
    session.add(row)
    return row


def binned(session: Session, kind: type[Row]) -> list[tuple[Row, datetime]]:
    """What lies in the bin, the newest first, with when it was put there."""
    query = (
        select(kind)
        .where(col(kind.deleted_at).is_not(None))
        .order_by(col(kind.deleted_at).desc(), col(kind.id))
    )
    return [(row, row.deleted_at) for row in session.exec(query) if row.deleted_at]
