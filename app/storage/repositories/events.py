"""Events in the data file."""

from dataclasses import replace
from datetime import date, datetime

from sqlmodel import Session, col, select

from app.domain.entities.event import Event, EventKind
from app.storage.repositories import soft_delete
from app.storage.repositories.edited_rows import EditedRows
from app.storage.schema.row_values import of_row
from app.storage.schema.tables import EventRow


def _event(row: EventRow) -> Event:
    return of_row(Event, row)


_ROWS = EditedRows(EventRow, _event)
get = _ROWS.get
binned = _ROWS.binned
put_in_bin = _ROWS.put_in_bin
restore = _ROWS.restore


def add(session: Session, battery_id: int, on_date: date, kind: EventKind, note: str) -> Event:
    """Store a new event."""
    row = EventRow(battery_id=battery_id, on_date=on_date, kind=kind, note=note)
    session.add(row)
    session.flush()
    return _event(row)


def version(session: Session, event_id: int) -> int:
    """How often it was entered anew, counted from 1. Raises NotFound."""
    return soft_delete.kept(session, EventRow, event_id).version


def of_battery(session: Session, battery_id: int) -> list[Event]:
    """The events of a battery in order of their days."""
    query = (
        select(EventRow)
        .where(EventRow.battery_id == battery_id, col(EventRow.deleted_at).is_(None))
        .order_by(col(EventRow.on_date), col(EventRow.id))
    )
    return [_event(row) for row in session.exec(query)]


def change(
    session: Session, event_id: int, on_date: date, kind: EventKind, note: str, now: datetime
) -> Event:
    """Replace an event, keeping what it was. Raises NotFound."""
    entered = replace(get(session, event_id), on_date=on_date, kind=kind, note=note)
    return _ROWS.change(session, event_id, entered, now)
