"""What lies in the bin."""

from dataclasses import dataclass
from datetime import datetime

from app.services.store import Store
from app.services.things import event_name, test_name
from app.storage import batteries, discharges, events
from app.storage.engine import reading


@dataclass(frozen=True)
class BinnedItem:
    """One thing that can be restored. kind is battery, discharge or event."""

    kind: str
    id: int
    name: str
    binned_at: datetime


def list_bin(store: Store) -> list[BinnedItem]:
    """Everything in the bin, the newest first."""
    with reading(store.engine) as session:
        items = [
            BinnedItem("battery", battery.id, battery.details.name, when)
            for battery, when in batteries.binned(session)
        ]
        names = batteries.names(session)
        for test, when in discharges.binned(session):
            name = test_name(names[test.battery_id], test)
            items.append(BinnedItem("discharge", test.id, name, when))
        for event, when in events.binned(session):
            name = event_name(names[event.battery_id], event)
            items.append(BinnedItem("event", event.id, name, when))
    return sorted(items, key=lambda item: item.binned_at, reverse=True)
