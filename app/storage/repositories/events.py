"""Events in the data file."""

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from sqlmodel import Session, col, select

from app.domain.event import Event, EventKind
from app.storage.repositories import revisions, soft_delete
from app.storage.schema.row_values import of_row
from app.storage.schema.tables import EventRow


def add(session: Session, battery_id: int, on_date: date, kind: EventKind, note: str) -> Event:
    """Store a new event."""
    row = EventRow(battery_id=battery_id, on_date=on_date, kind=kind, note=note)
    session.add(row)
    session.flush()
    return _event(row)


def get(session: Session, event_id: int) -> Event:
    """One event that is not in the bin. Raises NotFound."""
    return _event(_row(session, event_id))


def version(session: Session, event_id: int) -> int:
    """How often it was entered anew, counted from 1. Raises NotFound."""
    return _row(session, event_id).version


def entered(row: Mapping[str, Any]) -> Event:
    """What a replaced row says. Raises StorageTrouble."""
    return revisions.rebuilt(Event, row)


def of_battery(session: Session, battery_id: int) -> list[Event]:
    """The events of a battery in order of their days."""
    query = (
        select(EventRow)
        .where(EventRow.battery_id == battery_id, col(EventRow.deleted_at).is_(None))
        .order_by(col(EventRow.on_date), col(EventRow.id))
    )
    return [_event(row) for row in session.exec(query)]


def binned(session: Session) -> list[tuple[Event, datetime]]:
    """What lies in the bin, the newest first, with when it was put there."""
    return [(_event(row), when) for row, when in soft_delete.binned(session, EventRow)]


def change(
    session: Session, event_id: int, on_date: date, kind: EventKind, note: str, now: datetime
) -> Event:
    """Replace an event, keeping what it was. Raises NotFound."""
    row = _row(session, event_id)
    columns = {"on_date": on_date, "kind": kind, "note": note}
    revisions.change(session, row, columns, now)
    session.flush()
    return _event(row)


def put_in_bin(session: Session, event_id: int, now: datetime) -> Event:
    """Raises NotFound where it is not there, or lies there already."""
    return _event(soft_delete.put(session, EventRow, event_id, now))


def restore(session: Session, event_id: int) -> Event:
    """Raises NotFound, and Outdated where it was restored already."""
    return _event(soft_delete.taken_out(session, EventRow, event_id))


def _row(session: Session, event_id: int) -> EventRow:
    return soft_delete.kept(session, EventRow, event_id)


def _event(row: EventRow) -> Event:
    return of_row(Event, row)
