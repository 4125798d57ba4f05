"""Rows that can lie in the bin: what is kept, the way there and the way back."""

from datetime import datetime
from typing import TypeVar

from sqlalchemy import func, literal
from sqlalchemy.orm.interfaces import ORMOption
from sqlmodel import Session, col, select

from app.domain.entity_kind import BINNED, EntityKind
from app.domain.errors import NotFound, StaleEdit
from app.domain.i18n.message import say
from app.storage.schema.tables import (
    BatteryRow,
    DischargeRow,
    EventRow,
    PhotoRow,
    PlaceRow,
    StayRow,
    TemperatureLogRow,
    metadata,
)

Row = TypeVar(
    "Row", BatteryRow, DischargeRow, EventRow, PhotoRow, PlaceRow, StayRow, TemperatureLogRow
)

# One statement for all kinds: the list of batteries asks on each visit.
_GONE = select(
    sum(
        (
            select(func.count()).where(table.c.deleted_at.is_not(None)).scalar_subquery()
            for table in (metadata.tables[thing] for thing in BINNED)
        ),
        start=literal(0),
    )
)


def kept(session: Session, kind: type[Row], number: int, *options: ORMOption) -> Row:
    """A row that is not in the bin. Raises NotFound."""
    row = session.get(kind, number, options=options)
    if row is None or row.deleted_at is not None:
        raise NotFound(
            say(
                "There is no {thing} {number}; it may be in the bin.",
                thing=_called(kind),
                number=number,
            )
        )
    return row


def count(session: Session) -> int:
    """How many rows lie in the bin, of every kind."""
    return int(session.connection().execute(_GONE).scalar_one())


def put(session: Session, kind: type[Row], number: int, now: datetime) -> Row:
    """Put a row in the bin. Raises NotFound where it is not there, or lies there already."""
    row = kept(session, kind, number)
    row.deleted_at = now
    session.add(row)
    return row


def taken_out(session: Session, kind: type[Row], number: int) -> Row:
    """Take a row out of the bin. Raises NotFound, and StaleEdit where it was restored already."""
    row = session.get(kind, number)
    if row is None:
        raise NotFound(say("There is no {thing} {number}.", thing=_called(kind), number=number))
    if row.deleted_at is None:
        raise StaleEdit(
            say(
                "This {thing} is not in the bin: it was restored already.",
                thing=_called(kind),
            )
        )
    row.deleted_at = None
    session.add(row)
    return row


def binned(session: Session, kind: type[Row], *options: ORMOption) -> list[tuple[Row, datetime]]:
    """What lies in the bin, the newest first, with when it was put there."""
    query = (
        select(kind)
        .where(col(kind.deleted_at).is_not(None))
        .options(*options)
        .order_by(col(kind.deleted_at).desc(), col(kind.id))
    )
    return [(row, row.deleted_at) for row in session.exec(query) if row.deleted_at]


def _called(kind: type[Row]) -> str:
    return EntityKind(str(kind.__tablename__)).short_label
