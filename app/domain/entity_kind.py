"""The kinds of things that an owner has, and what each is called."""

from enum import StrEnum

from app.domain.i18n.marks import N_
from app.domain.i18n.message import say


class EntityKind(StrEnum):
    """A kind of thing; the value is the name of its table."""

    BATTERY = "battery"
    DISCHARGE = "discharge"
    METER = "meter"
    EVENT = "event"
    PHOTO = "photo"
    PLACE = "place"
    STAY = "stay"
    TEMPERATURE_LOG = "temperature_log"

    @property
    def label(self) -> str:
        return say(_LABELS[self])

    @property
    def short_label(self) -> str:
        """What it is called where a number follows."""
        return say(_SHORT_LABELS[self])


# What keeps its earlier versions, and what can lie in the bin.
EDITED = (
    EntityKind.BATTERY,
    EntityKind.DISCHARGE,
    EntityKind.METER,
    EntityKind.EVENT,
    EntityKind.PLACE,
)
BINNED = tuple(one for one in EntityKind if one is not EntityKind.METER)
_LABELS = {
    EntityKind.BATTERY: N_("battery"),
    EntityKind.DISCHARGE: N_("capacity test"),
    EntityKind.METER: N_("meter"),
    EntityKind.EVENT: N_("event"),
    EntityKind.PHOTO: N_("photo"),
    EntityKind.PLACE: N_("place"),
    EntityKind.STAY: N_("stay"),
    EntityKind.TEMPERATURE_LOG: N_("temperature log"),
}
_SHORT_LABELS = {**_LABELS, EntityKind.DISCHARGE: N_("test")}
