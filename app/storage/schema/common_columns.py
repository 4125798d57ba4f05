"""Columns that mean the same in many tables, and ranges of whole numbers."""

from app.domain.i18n.marks import N_
from app.domain.quantity import Quantity
from app.storage.schema.table_docs import Column
from app.storage.schema.text_rules import HASH, LASTING_NAME

# What a whole number of the tables can hold at most: 64 bits with a sign.
_MAX_INTEGER = 2**63 - 1
WHOLE = Quantity("number", "", 1, _MAX_INTEGER)
COUNT = Quantity("count", "", 0, _MAX_INTEGER)

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
SHA256 = Column(N_("SHA-256"), "", "SHA-256 of the file's bytes, as 64 hexadecimal digits.", HASH)
