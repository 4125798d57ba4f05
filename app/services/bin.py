"""What lies in the bin."""

from dataclasses import dataclass
from datetime import datetime

from app.services.store import Store
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
        items += [
            BinnedItem(
                "discharge", test.id, f"test of {test.details.started_local:%Y-%m-%d %H:%M}", when
            )
            for test, when in discharges.binned(session)
        ]
        items += [
            BinnedItem("event", event.id, f"{event.kind.label} on {event.on_date}", when)
            for event, when in events.binned(session)
        ]
    return sorted(items, key=lambda item: item.binned_at, reverse=True)
