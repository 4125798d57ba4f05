"""Words for columns that mean the same in many tables: title, unit, description."""

from app.domain.noted import noted

Words = tuple[str, str, str]

ID = (noted("Number"), "", "Number of the row in its table; other tables refer to it.")
UID = (
    noted("Lasting name"),
    "",
    "128 random bits as 32 hexadecimal digits: the same in every copy of the records.",
)
VERSION = (noted("Version"), "1", "Counts the edits: 1 as first entered.")
DELETED = (noted("In the bin since"), "", "When it was put in the bin; missing where it was not.")
BATTERY = (noted("Battery"), "", "Number of the battery.")
DISCHARGE = (noted("Capacity test"), "", "Number of the capacity test.")
METER = (noted("Meter"), "", "Number of the meter that measured the current.")
PLACE = (noted("Place"), "", "Number of the place.")
OFFSET = (
    noted("Offset of the clock"),
    "min",
    "What to add to a time in UTC to get the clock of the place where it was entered.",
)
CHARGE = (noted("Charge before"), "", "How the battery was charged before the test.")
AMBIENT = (noted("Air temperature"), "°C", "Temperature of the air, where it was noted.")
LOAD = (noted("Load"), "", "What drew the current.")
NOTES = (noted("Notes"), "", "Private notes.")
SHA256 = (noted("SHA-256"), "", "SHA-256 of the file's bytes, as 64 hexadecimal digits.")
