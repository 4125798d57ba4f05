"""Use cases around events of a battery."""

from datetime import date, datetime

from app.domain.event import Event, EventKind
from app.services.discharges import refuse_binned_battery
from app.services.store import Store
from app.storage import batteries, events
from app.storage.engine import writing


def add_event(store: Store, battery_id: int, on_date: date, kind: EventKind, note: str) -> Event:
    """Put an event on the time axis of a battery. Raises NotFound."""
    with writing(store.engine) as session:
        batteries.get(session, battery_id)
        return events.add(session, battery_id, on_date, kind, note)


def bin_event(store: Store, event_id: int, now: datetime) -> Event:
    with writing(store.engine) as session:
        return events.put_in_bin(session, event_id, now)


def restore_event(store: Store, event_id: int) -> Event:
    """Take an event out of the bin. Raises Refused while its battery lies there."""
    with writing(store.engine) as session:
        event = events.restore(session, event_id)
        refuse_binned_battery(session, event.battery_id)
        return event
