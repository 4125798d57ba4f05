"""What lies in the bin."""

from dataclasses import dataclass
from datetime import datetime

from app.services.store import Store
from app.storage import batteries, discharges, events, photos
from app.storage.engine import reading


@dataclass(frozen=True)
class BinnedItem:
    """One thing that can be restored. kind is battery, discharge, event or photo."""

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
            of = names[test.battery_id]
            name = f"{of}, test of {test.details.started_local:%Y-%m-%d %H:%M}"
            items.append(BinnedItem("discharge", test.id, name, when))
        for event, when in events.binned(session):
            name = f"{names[event.battery_id]}, {event.kind.label} on {event.on_date}"
            items.append(BinnedItem("event", event.id, name, when))
        for photo, when in photos.binned(session):
            battery_id, started = discharges.origin(session, photo.discharge_id)
            name = f"{names[battery_id]}, {photo.words(started.date())}"
            items.append(BinnedItem("photo", photo.id, name, when))
    return sorted(items, key=lambda item: item.binned_at, reverse=True)
