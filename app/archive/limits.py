"""How much an archive may hold. What is exported keeps within it, so that it can come back."""

MOST_ENTRIES = 50_000
# The directory of a ZIP file takes 46 bytes an entry and its name (APPNOTE.TXT, 4.3.12).
MOST_DIRECTORY_BYTES = MOST_ENTRIES * 400
# What was 4 GB when readings did not carry their test: with its name a row, of 12 bytes at the
# least, is up to four times as long.
MOST_UNPACKED_BYTES = 16_000_000_000
MOST_PACKAGE_BYTES = 64_000_000
MOST_TABLE_BYTES = 1_000_000_000
# One original file or photo; what a form takes is less.
MOST_FILE_BYTES = 100_000_000
# Readings of several tests in one file, in rows: well within what a spreadsheet program opens. A
# test with more of them has a file of its own.
MOST_SHARED_ROWS = 200_000
# One line of a table and one cell of it, in characters.
MOST_CELL = 1_000_000
MOST_LINE = 4_000_000


def most_bytes(path: str) -> int:
    """How long one entry may be, unpacked."""
    if path.startswith(("originals/", "photos/")):
        return MOST_FILE_BYTES
    return MOST_TABLE_BYTES if path.endswith(".csv") else MOST_PACKAGE_BYTES
