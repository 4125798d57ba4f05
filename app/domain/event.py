"""Something that happened to a battery and belongs on its time axis."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

LONGEST_NOTE = 400


class EventKind(StrEnum):
    """Kinds of event; the value is what is stored."""

    MOVED = "moved"
    DEEP_DISCHARGE = "deep_discharge"
    LONG_TRIP = "long_trip"
    REPAIR = "repair"
    NEW_METER = "new_meter"
    OTHER = "other"

    @property
    def label(self) -> str:
        return self.value.replace("_", " ")


@dataclass(frozen=True)
class Event:
    """A stored event."""

    id: int
    battery_id: int
    on_date: date
    kind: EventKind
    note: str

    @property
    def label(self) -> str:
        return self.kind.label
