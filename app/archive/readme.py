"""README.txt of an archive: what is in it, for somebody who does not have this program."""

import textwrap
from collections.abc import Iterable, Sequence

from app.domain.records.table_schema import TableSchema

_WIDTH = 78
_START = """\
RECORDS OF CAPACITY TESTS

This archive holds everything that one person entered about house batteries
and their capacity tests. A capacity test is a discharge under load, from full
to empty, with volts and amperes read on the way; it shows how much the
battery still holds. The archive was written by a program called Fadeline,
but nothing here needs that program: all tables are plain text.

It is private. It holds places, serial numbers, prices, notes, original files
and photos. To show a battery to somebody, share a link instead.
"""
_PARTS = """\
WHAT IS IN IT

datapackage.json   Describes every file here: each column with its type, unit
                   and meaning, which column refers to which table, and the
                   SHA-256 of each file. It follows the open Data Package
                   standard (specs.frictionlessdata.io), which many programs
                   read.
tables/            One table a file, as comma-separated values (CSV).
readings/          The readings of all capacity tests, many tests a file. The
                   column test says whose a reading is: it is the lasting
                   name of the test (uid in tables/discharge.csv). The tests
                   follow one another as in that table, and each stands in
                   one file as a whole.
replaced/          Readings as they were before an edit replaced them, one
                   file a test. The row in tables/revision.csv names the file.
originals/         The files that tests came from, as they came. A file is
                   named by its SHA-256; what it was called stands in
                   tables/attachment.csv.
photos/            Pictures, named by their SHA-256 (tables/photo.csv).
"""
_CELLS = """\
HOW TO READ A CELL

Text is UTF-8. Times are in UTC, such as 2030-06-01T08:30:00.000000Z; where a
table has utc_offset_minutes, adding it gives the clock of the place. Numbers
have a decimal point and as many digits as it takes to be exact. In tables/
the word NULL means that nothing was entered, and an empty cell is an empty
text; should somebody have typed just that word, a longer one stands for
nothing in that table, and datapackage.json (missingValues) says which. In
readings/ and replaced/ an empty cell means that nothing was read. Shares are
fractions: 0.8 is 80 %.

Cells are as they were typed. A spreadsheet program may take a text that
begins with = + - or @ for a formula: open the files as text columns, or take
the tables from the program's pages, where such texts are made harmless.
"""
_RESULTS = """\
WHAT IS NOT IN IT

Results: capacities, their uncertainty, the fade, the end of life. They are
computed from what is here. The amp-hours of a test are the area under
current_a over elapsed_s (in seconds, divided by 3600), from load on to load
off.
"""
_WITH_LINKS = """\
LINKS

tables/share.csv holds the secret part of every read-only link, so that links
go on working where these records are restored. Who has this archive can open
those that have not ended. Leave them out with: fadeline export --without-links
"""
_WITHOUT_LINKS = """\
LINKS

Read-only links were left out: where these records are restored, links that
were given away open nothing, and new ones have to be made.
"""
_BACK = """\
BACK INTO THE PROGRAM

fadeline restore FILE brings everything back into an empty data folder. With
--merge it adds what is missing to records that are there already and leaves
alone what differs, naming it.
"""


def readme_text(tables: Sequence[TableSchema], with_links: bool) -> str:
    """The whole text."""
    parts = [_START, _PARTS, _CELLS, _table_words(tables), _RESULTS]
    parts += [_WITH_LINKS if with_links else _WITHOUT_LINKS, _BACK]
    return lines_for_everybody(parts)


def lines_for_everybody(parts: Iterable[str]) -> str:
    """Parts of a text with a line between them, lines ending as every editor takes them."""
    return "\n\n".join(part.strip() for part in parts).replace("\n", "\r\n") + "\r\n"


def _table_words(tables: Sequence[TableSchema]) -> str:
    lines = ["THE TABLES", ""]
    room = max(len(table.name) for table in tables) + len(".csv ")
    for table in tables:
        text = f"{table.title}. {table.description}"
        wrapped = textwrap.wrap(text, _WIDTH - room)
        lines.append(f"{table.name + '.csv':<{room}}{wrapped[0]}")
        lines += [" " * room + line for line in wrapped[1:]]
    return "\n".join(lines)
