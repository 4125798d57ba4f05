"""Fields that mean the same of several things, finished and running tests above all."""

from app.domain import quantity as q
from app.domain.fields.described_field import Described
from app.domain.i18n.marker import noted
from app.domain.limits import MAX_LINE_LENGTH, MAX_NOTES_LENGTH

NOTES = Described(noted("Notes"), "Private notes.", longest=MAX_NOTES_LENGTH, called=noted("notes"))
CLOCK_OFFSET = Described(
    noted("Offset of the clock"),
    "What to add to a time in UTC to get the clock of the place where it was entered.",
    q.CLOCK_OFFSET,
    asked=False,
    sent=True,
)
CHARGE = Described(
    noted("Charge before"),
    "How the battery was charged before the test.",
    called=noted("charge before the test"),
    sent=True,
)
AMBIENT = Described(
    noted("Air temperature"),
    "Temperature of the air, where it was noted.",
    q.AMBIENT_TEMPERATURE,
    sent=True,
)
LOAD = Described(
    noted("Load"),
    "What drew the current.",
    longest=MAX_LINE_LENGTH,
    called=noted("load"),
    sent=True,
)
