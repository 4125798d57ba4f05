"""Something that happened to a battery and belongs on its time axis."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Annotated

from app.domain.fields.described_field import Described
from app.domain.i18n.marks import N_
from app.domain.i18n.message import say
from app.domain.limits import MAX_NOTE_LENGTH


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
        return {
            EventKind.MOVED: say("moved"),
            EventKind.DEEP_DISCHARGE: say("deep discharge"),
            EventKind.LONG_TRIP: say("long trip"),
            EventKind.REPAIR: say("repair"),
            EventKind.NEW_METER: say("new meter"),
            EventKind.OTHER: say("other"),
        }[self]


@dataclass(frozen=True)
class Event:
    """A stored event."""

    id: int
    battery_id: int
    on_date: Annotated[
        date,
        Described(N_("Date"), "The day it happened.", called=N_("date of the event"), sent=True),
    ]
    kind: Annotated[
        EventKind,
        Described(N_("Kind"), "What happened.", called=N_("kind of event"), sent=True),
    ]
    note: Annotated[
        str,
        Described(N_("Note"), "Private note.", longest=MAX_NOTE_LENGTH, called=N_("note")),
    ] = ""

    @property
    def label(self) -> str:
        return self.kind.label
