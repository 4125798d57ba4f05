"""Columns that mean the same in many tables, and the ranges that they share."""

from app.domain import quantity as q
from app.domain.discharge import ChargeCondition
from app.domain.marks import N_
from app.domain.quantity import Quantity
from app.storage.described import Column
from app.storage.text_rules import HASH, LASTING_NAME

# What a whole number of the tables can hold at most: 64 bits with a sign.
_MAX_INTEGER = 2**63 - 1
WHOLE = Quantity("number", "", 1, _MAX_INTEGER)
COUNT = Quantity("count", "", 0, _MAX_INTEGER)
# Clocks of places reach to 14 hours; that of a machine may be set to anything below a day.
_OFFSET = Quantity("offset of the clock", "min", -1439, 1439)


def share_of(percent: Quantity) -> Quantity:
    """The range of a share whose percentage has a range."""
    return Quantity(percent.label, "", percent.low / 100, percent.high / 100)


ID = Column(N_("Number"), "", "Number of the row in its table; other tables refer to it.", WHOLE)
UID = Column(
    N_("Lasting name"),
    "",
    "128 random bits as 32 hexadecimal digits: the same in every copy of the records.",
    LASTING_NAME,
)
VERSION = Column(N_("Version"), "1", "Counts the edits: 1 as first entered.", WHOLE)
DELETED = Column(
    N_("In the bin since"), "", "When it was put in the bin; missing where it was not."
)
BATTERY_ID = Column(N_("Battery"), "", "Number of the battery.", WHOLE)
DISCHARGE_ID = Column(N_("Capacity test"), "", "Number of the capacity test.", WHOLE)
METER_ID = Column(N_("Meter"), "", "Number of the meter that measured the current.", WHOLE)
PLACE_ID = Column(N_("Place"), "", "Number of the place.", WHOLE)
OFFSET = Column(
    N_("Offset of the clock"),
    "min",
    "What to add to a time in UTC to get the clock of the place where it was entered.",
    _OFFSET,
)
CHARGE = Column(
    N_("Charge before"), "", "How the battery was charged before the test.", ChargeCondition
)
AMBIENT = Column(
    N_("Air temperature"),
    "°C",
    "Temperature of the air, where it was noted.",
    q.AMBIENT_TEMPERATURE,
)
LOAD = Column(N_("Load"), "", "What drew the current.")
NOTES = Column(N_("Notes"), "", "Private notes.")
SHA256 = Column(N_("SHA-256"), "", "SHA-256 of the file's bytes, as 64 hexadecimal digits.", HASH)
