"""Columns that mean the same in many tables, and ranges of whole numbers."""

from app.domain.i18n.marker import noted
from app.domain.quantity import Quantity
from app.storage.schema.table_docs import Column
from app.storage.schema.text_rules import HASH, LASTING_NAME

# What a whole number of the tables can hold at most: 64 bits with a sign.
_MAX_INTEGER = 2**63 - 1
WHOLE = Quantity("number", "", 1, _MAX_INTEGER)
COUNT = Quantity("count", "", 0, _MAX_INTEGER)

ID = Column(noted("Number"), "", "Number of the row in its table; other tables refer to it.", WHOLE)
UID = Column(
    noted("Lasting name"),
    "",
    "128 random bits as 32 hexadecimal digits: the same in every copy of the records.",
    LASTING_NAME,
)
VERSION = Column(noted("Version"), "1", "Counts the edits: 1 as first entered.", WHOLE)
DELETED = Column(
    noted("In the bin since"), "", "When it was put in the bin; missing where it was not."
)
BATTERY_ID = Column(noted("Battery"), "", "Number of the battery.", WHOLE)
DISCHARGE_ID = Column(noted("Capacity test"), "", "Number of the capacity test.", WHOLE)
METER_ID = Column(noted("Meter"), "", "Number of the meter that measured the current.", WHOLE)
PLACE_ID = Column(noted("Place"), "", "Number of the place.", WHOLE)
SHA256 = Column(
    noted("SHA-256"), "", "SHA-256 of the file's bytes, as 64 hexadecimal digits.", HASH
)
