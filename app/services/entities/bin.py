"""What lies in the bin."""

from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session

from app.domain.entity_kind import EntityKind
from app.domain.errors import NotFound
from app.domain.i18n.message import joined, say, say_plural
from app.services.entities.entity_names import discharge_name, event_name
from app.services.store import Store
from app.storage.database.engine import read_session
from app.storage.repositories import (
    batteries,
    discharges,
    events,
    photos,
    places,
    soft_delete,
    temperature_logs,
)


@dataclass(frozen=True)
class BinnedItem:
    """One thing that can be restored. kind is the name of its table, label what
    its owner calls such a thing.

    note says what lies there with it, waits that its battery has to be restored first.
    """

    kind: str
    id: int
    name: str
    binned_at: datetime
    note: str = ""
    waits: bool = False

    @property
    def label(self) -> str:
        return EntityKind(self.kind).label


def list_bin(store: Store) -> list[BinnedItem]:
    """Everything in the bin, the newest first."""
    with read_session(store.engine) as session:
        return _items(session)


def count_binned(store: Store) -> int:
    """How many things lie in the bin."""
    with read_session(store.engine) as session:
        return soft_delete.count(session)


def binned_item(store: Store, kind: str, item_id: int) -> BinnedItem | None:
    """One thing in the bin, None where it does not lie there."""
    with read_session(store.engine) as session:
        try:
            return binned_in(session, kind, item_id)
        except NotFound:
            return None


def binned_in(session: Session, kind: str, item_id: int) -> BinnedItem:
    """One thing in the bin, inside the caller's session. Raises NotFound."""
    for item in _items(session):
        if (item.kind, item.id) == (kind, item_id):
            return item
    raise NotFound(say("There is no {kind} {number} in the bin.", kind=say(kind), number=item_id))


def _items(session: Session) -> list[BinnedItem]:
    names = batteries.names(session)
    gone = batteries.binned(session)
    without = {battery.id for battery, _ in gone}
    counts = discharges.counts(session)
    items = [
        BinnedItem("battery", one.id, one.details.name, when, _tests(counts.get(one.id, 0)))
        for one, when in gone
    ]
    for test, when in discharges.binned(session):
        name, waits = discharge_name(names[test.battery_id], test), test.battery_id in without
        items.append(BinnedItem("discharge", test.id, name, when, waits=waits))
    for event, when in events.binned(session):
        name, waits = event_name(names[event.battery_id], event), event.battery_id in without
        items.append(BinnedItem("event", event.id, name, when, waits=waits))
    for photo, when in photos.binned(session):
        battery_id, started = discharges.origin(session, photo.discharge_id)
        name = joined(", ", (names[battery_id], photo.words(started.date())))
        items.append(BinnedItem("photo", photo.id, name, when, waits=battery_id in without))
    items += _of_places(session, names, without)
    return sorted(items, key=lambda item: item.binned_at, reverse=True)


def _of_places(session: Session, names: dict[int, str], without: set[int]) -> list[BinnedItem]:
    at = places.names(session)
    items = [
        BinnedItem("place", place.id, place.details.name, when)
        for place, when in places.binned(session)
    ]
    for stay, when in places.binned_stays(session):
        name = say(
            "{battery} at {place} from {day}",
            battery=names[stay.battery_id],
            place=at[stay.place_id],
            day=stay.from_date,
        )
        items.append(BinnedItem("stay", stay.id, name, when, waits=stay.battery_id in without))
    for log_id, place_id, source, when in temperature_logs.binned(session):
        name = say("{place}, temperatures of {source}", place=at[place_id], source=source)
        items.append(BinnedItem("temperature_log", log_id, name, when))
    return items


def _tests(count: int) -> str:
    """Those that lie in the bin on their own are not restored with their battery."""
    if not count:
        return say("without tests")
    return say_plural("with 1 capacity test", "with {count} capacity tests", count)
