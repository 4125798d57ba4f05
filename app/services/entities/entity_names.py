"""Things by their kind and number, and what they are called on pages that show any of them."""

from sqlmodel import Session

from app.domain.entities.discharge import Discharge
from app.domain.entities.event import Event
from app.domain.entity_kind import EntityKind
from app.domain.i18n.message import say
from app.domain.records.revision import CurrentEntity
from app.storage.repositories import batteries, discharges, events, meters, places


def current_thing(session: Session, thing: EntityKind, thing_id: int) -> CurrentEntity:
    """A thing that is not in the bin, nor is its battery. Raises NotFound."""
    if thing is EntityKind.BATTERY:
        battery = batteries.get(session, thing_id)
        name = battery.details.name
        return CurrentEntity(thing, thing_id, thing_id, name, battery.details, battery.version)
    if thing is EntityKind.METER:
        meter = meters.get(session, thing_id)
        return CurrentEntity(
            thing, thing_id, None, meter.details.name, meter.details, meter.version
        )
    if thing is EntityKind.PLACE:
        place = places.get(session, thing_id)
        return CurrentEntity(
            thing, thing_id, None, place.details.name, place.details, place.version
        )
    if thing is EntityKind.DISCHARGE:
        test = discharges.get(session, thing_id)
        of = batteries.get(session, test.battery_id)
        name = discharge_name(of.details.name, test)
        return CurrentEntity(thing, thing_id, of.id, name, test.details, test.version)
    event = events.get(session, thing_id)
    of = batteries.get(session, event.battery_id)
    name = event_name(of.details.name, event)
    return CurrentEntity(thing, thing_id, of.id, name, event, events.version(session, thing_id))


def discharge_name(battery: str, test: Discharge) -> str:
    """What a test is called: its battery and its start by the clock of its place, or its day."""
    start = test.details.started_local
    if test.details.is_only_result:
        return say("{battery}, test of {day}", battery=battery, day=start.date())
    return say("{battery}, test of {start}", battery=battery, start=start)


def event_name(battery: str, event: Event) -> str:
    """What an event is called: its battery, its kind and its day."""
    return say(
        "{battery}, {event} on {day}", battery=battery, event=event.kind.label, day=event.on_date
    )
