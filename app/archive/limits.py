"""How much an archive may hold. What is exported keeps within it, so that it can come back."""

from dataclasses import dataclass

MAX_ENTRIES = 50_000
# The directory of a ZIP file takes 46 bytes an entry and its name (APPNOTE.TXT, 4.3.12).
MAX_DIRECTORY_BYTES = MAX_ENTRIES * 400
# What was 4 GB when readings did not carry their test: with its name a row, of 12 bytes at the
# least, is up to four times as long.
MAX_UNPACKED_BYTES = 16_000_000_000
# A README or a schema has some thousand bytes.
MAX_TEXT_BYTES = 1_000_000
# The descriptor grows with what it lists. Measured: 57 kB and 2,000 values for the tables, at most
# 650 bytes and 20 values for each entry (the most for a file of readings).
_PACKAGE_BYTES, _BYTES_AN_ENTRY = 100_000, 1_000
_PACKAGE_VALUES, _VALUES_AN_ENTRY = 5_000, 40
MAX_TABLE_BYTES = 1_000_000_000
# One original file or photo; what a form takes is less.
MAX_FILE_BYTES = 100_000_000
# Readings of several tests in one file, in rows: well within what a spreadsheet program opens. A
# test with more of them has a file of its own.
MAX_SHARED_ROWS = 200_000
# More than fit: a row takes 12 bytes at the least.
MAX_READINGS = MAX_UNPACKED_BYTES // 12
# One line of a table and one cell of it, in characters.
MAX_CELL_LENGTH = 1_000_000
MAX_ROW_LENGTH = 4_000_000


@dataclass(frozen=True)
class ArchiveLimits:
    """How much an archive may hold in all. readings are those of all files that are asked for."""

    unpacked_bytes: int
    entries: int
    readings: int


def most_bytes(path: str, entries: int = MAX_ENTRIES) -> int:
    """How long one of so many entries may be, unpacked."""
    if path == "datapackage.json":
        return _PACKAGE_BYTES + _BYTES_AN_ENTRY * entries
    if path.startswith(("originals/", "photos/")):
        return MAX_FILE_BYTES
    return MAX_TABLE_BYTES if path.endswith(".csv") else MAX_TEXT_BYTES


def most_package_values(entries: int) -> int:
    """How many values the descriptor of so many entries may have."""
    return _PACKAGE_VALUES + _VALUES_AN_ENTRY * entries
