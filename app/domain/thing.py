"""The kinds of things that an owner has, and what each is called."""

from enum import StrEnum

from app.domain.i18n.marker import noted
from app.domain.i18n.message import say


class Thing(StrEnum):
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
        """The same where a number follows."""
        return say(_SHORT_LABELS[self])


# What keeps its earlier versions, and what can lie in the bin.
EDITED = (Thing.BATTERY, Thing.DISCHARGE, Thing.METER, Thing.EVENT, Thing.PLACE)
BINNED = tuple(one for one in Thing if one is not Thing.METER)
_LABELS = {
    Thing.BATTERY: noted("battery"),
    Thing.DISCHARGE: noted("capacity test"),
    Thing.METER: noted("meter"),
    Thing.EVENT: noted("event"),
    Thing.PHOTO: noted("photo"),
    Thing.PLACE: noted("place"),
    Thing.STAY: noted("stay"),
    Thing.TEMPERATURE_LOG: noted("temperature log"),
}
_SHORT_LABELS = {**_LABELS, Thing.DISCHARGE: noted("test")}
