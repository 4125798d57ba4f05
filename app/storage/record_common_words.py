"""Words for columns that mean the same in many tables: title, unit, description."""

Words = tuple[str, str, str]

ID = ("Number", "", "Number of the row in its table; other tables refer to it.")
UID = (
    "Lasting name",
    "",
    "128 random bits as 32 hexadecimal digits: the same in every copy of the records.",
)
VERSION = ("Version", "1", "Counts the edits: 1 as first entered.")
DELETED = ("In the bin since", "", "When it was put in the bin; missing where it was not.")
BATTERY = ("Battery", "", "Number of the battery.")
DISCHARGE = ("Capacity test", "", "Number of the capacity test.")
METER = ("Meter", "", "Number of the meter that measured the current.")
PLACE = ("Place", "", "Number of the place.")
OFFSET = (
    "Offset of the clock",
    "min",
    "What to add to a time in UTC to get the clock of the place where it was entered.",
)
CHARGE = ("Charge before", "", "How the battery was charged before the test.")
AMBIENT = ("Air temperature", "°C", "Temperature of the air, where it was noted.")
LOAD = ("Load", "", "What drew the current.")
NOTES = ("Notes", "", "Private notes.")
SHA256 = ("SHA-256", "", "SHA-256 of the file's bytes, as 64 hexadecimal digits.")
