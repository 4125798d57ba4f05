"""Use cases around events of a battery."""

from dataclasses import dataclass, replace
from datetime import date, datetime

from sqlmodel import Session

from app.domain.entities.battery import Battery
from app.domain.entities.event import Event, EventKind
from app.domain.entity_kind import EntityKind
from app.domain.errors import InvalidInput
from app.domain.i18n.message import say
from app.services.entities.discharges import refuse_binned_battery
from app.services.entities.edit_conflict import refuse_overtaken
from app.services.store import Store
from app.storage.database.engine import read_session, write_transaction
from app.storage.repositories import batteries, events


@dataclass(frozen=True)
class EventView:
    """An event with the battery that it happened to, and how often it was entered anew."""

    event: Event
    battery: Battery
    version: int


def show_event(store: Store, event_id: int) -> EventView:
    """One event. Raises NotFound."""
    with read_session(store.engine) as session:
        event = events.get(session, event_id)
        of = batteries.get(session, event.battery_id)
        return EventView(event, of, events.version(session, event_id))


def add_event(store: Store, battery_id: int, on_date: date, kind: EventKind, note: str) -> Event:
    """Put an event on the time axis of a battery. Raises NotFound and InvalidInput.

    A form that is sent twice makes one: the same of the same day, in the same words, is the same.
    """
    with write_transaction(store.engine) as session:
        _refuse_too_early(session, battery_id, on_date)
        for known in events.of_battery(session, battery_id):
            if (known.on_date, known.kind, known.note) == (on_date, kind, note):
                return known
        return events.add(session, battery_id, on_date, kind, note)


def change_event(
    store: Store,
    event_id: int,
    on_date: date,
    kind: EventKind,
    note: str,
    now: datetime,
    seen: int | None = None,
) -> Event:
    """Replace what is known of an event, keeping what it replaces.

    Raises NotFound, InvalidInput, and EditConflict where another version than `seen` is stored.
    """
    with write_transaction(store.engine) as session:
        typed = replace(events.get(session, event_id), on_date=on_date, kind=kind, note=note)
        refuse_overtaken(session, EntityKind.EVENT, event_id, seen, typed)
        return replace_event(session, event_id, on_date, kind, note, now)


def replace_event(
    session: Session, event_id: int, on_date: date, kind: EventKind, note: str, now: datetime
) -> Event:
    """Store other details of an event inside the caller's transaction."""
    event = events.get(session, event_id)
    _refuse_too_early(session, event.battery_id, on_date)
    return events.change(session, event_id, on_date, kind, note, now)


def bin_event(store: Store, event_id: int, now: datetime) -> Event:
    """Out of sight. Raises NotFound."""
    with write_transaction(store.engine) as session:
        return events.put_in_bin(session, event_id, now)


def restore_event(store: Store, event_id: int) -> Event:
    """Take an event out of the bin. Raises InvalidInput while its battery lies there."""
    with write_transaction(store.engine) as session:
        event = events.restore(session, event_id)
        refuse_binned_battery(session, event.battery_id)
        return event


def _refuse_too_early(session: Session, battery_id: int, on_date: date) -> None:
    since = batteries.get(session, battery_id).details.in_service_since
    if since is not None and on_date < since:
        allowed = say(
            "a date from {since} on, the day since which the battery is in service", since=since
        )
        raise InvalidInput.because(say("date of the event"), on_date, allowed, "on_date")
