"""What lies in the bin."""

from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session

from app.domain.errors import NotFound
from app.services.store import Store
from app.services.things import event_name, test_name
from app.storage import batteries, discharges, events
from app.storage.engine import reading


@dataclass(frozen=True)
class BinnedItem:
    """One thing that can be restored. kind is battery, discharge or event.

    note says what lies there with it, waits that its battery has to be restored first.
    """

    kind: str
    id: int
    name: str
    binned_at: datetime
    note: str = ""
    waits: bool = False


def list_bin(store: Store) -> list[BinnedItem]:
    """Everything in the bin, the newest first."""
    with reading(store.engine) as session:
        return _items(session)


def binned_item(store: Store, kind: str, item_id: int) -> BinnedItem | None:
    """One thing in the bin, None where it does not lie there."""
    with reading(store.engine) as session:
        try:
            return binned_in(session, kind, item_id)
        except NotFound:
            return None


def binned_in(session: Session, kind: str, item_id: int) -> BinnedItem:
    """One thing in the bin, inside the caller's session. Raises NotFound."""
    for item in _items(session):
        if (item.kind, item.id) == (kind, item_id):
            return item
    raise NotFound(f"There is no {kind} {item_id} in the bin.")


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
        name, waits = test_name(names[test.battery_id], test), test.battery_id in without
        items.append(BinnedItem("discharge", test.id, name, when, waits=waits))
    for event, when in events.binned(session):
        name, waits = event_name(names[event.battery_id], event), event.battery_id in without
        items.append(BinnedItem("event", event.id, name, when, waits=waits))
    return sorted(items, key=lambda item: item.binned_at, reverse=True)


def _tests(count: int) -> str:
    """Those that lie in the bin on their own are not restored with their battery."""
    return f"with {count} capacity test{'' if count == 1 else 's'}" if count else "without tests"
