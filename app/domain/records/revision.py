"""What an edit replaced, and in what the version before differs from the one after."""

from dataclasses import dataclass
from datetime import datetime

from app.domain.entities.battery import BatteryDetails
from app.domain.entities.discharge import DischargeDetails
from app.domain.entities.event import Event
from app.domain.entities.meter import MeterDetails
from app.domain.entities.place import PlaceDetails
from app.domain.entity_kind import EntityKind
from app.domain.i18n.message import joined

# What an edit replaces. Of an event that is all of it.
Entered = BatteryDetails | DischargeDetails | MeterDetails | PlaceDetails | Event


@dataclass(frozen=True)
class CurrentEntity:
    """A thing as it is now. battery_id is the battery it belongs to, None for a meter
    or a place."""

    thing: EntityKind
    id: int
    battery_id: int | None
    name: str
    entered: Entered
    version: int


@dataclass(frozen=True)
class PastVersion:
    """One version that is past. number is its own; copies that were brought together repeat
    versions.
    """

    number: int
    version: int
    replaced_at: datetime
    entered: Entered


@dataclass(frozen=True)
class FieldChange:
    """One field that an edit changed, in the owner's words; note says more of long tables."""

    label: str
    before: str
    after: str
    note: str = ""

    @property
    def words(self) -> str:
        note = joined("", (" (", self.note, ")")) if self.note else ""
        return joined("", (self.label, " ", self.before, " → ", self.after, note))
