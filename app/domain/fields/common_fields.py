"""Fields that mean the same of several things, finished and running tests above all."""

from app.domain import quantity as q
from app.domain.fields.described_field import Described
from app.domain.i18n.marks import N_
from app.domain.limits import MAX_LINE_LENGTH, MAX_NOTES_LENGTH

NOTES = Described(N_("Notes"), "Private notes.", longest=MAX_NOTES_LENGTH, called=N_("notes"))
CLOCK_OFFSET = Described(
    N_("Offset of the clock"),
    "What to add to a time in UTC to get the clock of the place where it was entered.",
    q.CLOCK_OFFSET,
    asked=False,
    sent=True,
)
CHARGE = Described(
    N_("Charge before"),
    "How the battery was charged before the test.",
    called=N_("charge before the test"),
    sent=True,
)
AMBIENT = Described(
    N_("Air temperature"),
    "Temperature of the air, where it was noted.",
    q.AMBIENT_TEMPERATURE,
    sent=True,
)
LOAD = Described(
    N_("Load"),
    "What drew the current.",
    longest=MAX_LINE_LENGTH,
    called=N_("load"),
    sent=True,
)
