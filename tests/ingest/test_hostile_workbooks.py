"""Files made to fill the memory, or to take for ever, are refused in bounded memory and time."""

import gzip
import io
import resource
import zipfile

import pytest

from app.domain.errors import InvalidInput
from app.ingest.containers import sheet_process
from app.ingest.reader import read_file
from tests.ingest.test_workbooks import TABLE
from tests.ingest.workbooks import entry, ods, with_entry, xlsx, zipped, zipped_files

SHEET = "xl/worksheets/sheet1.xml"
START = b'<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>'
END = b"</sheetData></worksheet>"
MEGABYTE = 1_000_000
# What the program itself may hold of a bomb, beyond what it had before; and how long it may work.
OWN_MB = 300
MOST_S = 60


def with_sheet(piece, times):
    """A workbook whose sheet is one piece again and again: written as it is packed."""
    made = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(xlsx(*TABLE))) as old,
        zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as new,
    ):
        for info in old.infolist():
            if info.filename != SHEET:
                new.writestr(info.filename, old.read(info.filename))
        with new.open(SHEET, "w", force_zip64=True) as entry:
            entry.write(START)
            for _ in range(times):
                entry.write(piece)
            entry.write(END)
    return made.getvalue()


def cell(text):
    return b'<row><c t="inlineStr"><is><t>' + text + b"</t></is></c></row>"


def untrue(data, name, size):
    """A ZIP that says of an entry that it is short."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        true = archive.getinfo(name).file_size
    return data.replace(true.to_bytes(4, "little"), size.to_bytes(4, "little"))


def shared_strings():
    """One long text that every cell points to."""
    data = with_sheet(b'<row><c t="s"><v>0</v></c><c t="s"><v>0</v></c></row>' * 1_000, 200)
    start = START.replace(b"worksheet", b"sst").replace(b"<sheetData>", b"")
    text = start + b"<si><t>" + b"x" * 30_000 + b"</t></si></sst>"
    return with_entry(data, "xl/sharedStrings.xml", text)


def entities():
    text = "".join(f'<!ENTITY a{i + 1} "{f"&a{i};" * 10}">' for i in range(12))
    head = f'<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a0 "xxxxxxxxxx">{text}]>'.encode()
    return with_entry(xlsx(*TABLE), SHEET, head + START + cell(b"&a12;") + END)


def corner():
    far = b'<row r="1"><c r="A1"><v>1</v></c></row><row r="1048576"><c r="XFD1048576"><v>1</v></c>'
    return with_entry(xlsx(*TABLE), SHEET, START + far + b"</row>" + END)


def beyond():
    """One cell in the millionth column, which no spreadsheet has: each row gets as wide."""
    sheet = entry(xlsx(*TABLE), SHEET)
    return with_entry(
        xlsx(*TABLE), SHEET, sheet.replace(b"</row>", b'<c r="BDWGN1"><v>1</v></c></row>', 1)
    )


def repeated(rows, columns):
    value = 'office:value-type="float" office:value="1"'
    return ods(
        f'<table:table-row table:number-rows-repeated="{rows}"><table:table-cell {value} '
        f'table:number-columns-repeated="{columns}"/></table:table-row>'
    )


TWO_NUMBERS = b"<row><c><v>1</v></c><c><v>2</v></c></row>"
BOMBS = {
    "a corner far away": corner,
    "a column that no spreadsheet has": beyond,
    "rows and columns repeated": lambda: repeated(1_048_576, 16_384),
    "rows repeated for ever": lambda: repeated(4_000_000_000, 1),
    "a sheet of many megabytes": lambda: with_sheet(TWO_NUMBERS * 10_000, 1_500),
    "a sheet of too many megabytes": lambda: with_sheet(b" " * MEGABYTE, 900),
    "long texts": lambda: with_sheet(cell(b"x" * 32_000), 20_000),
    "one long text for all": shared_strings,
    "entities in entities": entities,
    "a size that is untrue": lambda: untrue(
        zipped(log__csv=b"0,9\n" * 30 * MEGABYTE), "log.csv", 40
    ),
    "a packed text of too many megabytes": lambda: zipped(log__csv=bytes(100 * MEGABYTE)),
    "several that are too many together": lambda: zipped_files(
        {f"{i}.csv": b"0,9\n" * 15 * MEGABYTE for i in range(4)}
    ),
    "a stream of too many megabytes": lambda: gzip.compress(bytes(300 * MEGABYTE)),
    "streams behind one another": lambda: gzip.compress(bytes(10 * MEGABYTE)) * 40,
    "a page of tables in tables": lambda: b"<html>" + b"<table><tr><td>1<td>2" * 400_000,
    "a page of comments": lambda: b"<html><table><tr><td>" + b"<!--<! <a " * 40_000,
    "too many entries": lambda: zipped_files({f"{i}.csv": b"" for i in range(3_000)}),
}


def worked_s():
    """What this process and those it has ended have worked; waiting for a busy machine is none."""
    both = (resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    return sum(one.ru_utime + one.ru_stime for one in both)


@pytest.mark.parametrize("name", BOMBS)
def test_a_bomb_is_refused_in_bounded_memory_and_time(name):
    data = BOMBS[name]()
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    started = worked_s()
    with pytest.raises(InvalidInput):
        read_file(data)
    assert worked_s() - started < MOST_S
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < OWN_MB * 1_024
    assert (
        resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss * 1_024 < sheet_process.MEMORY_BYTES
    )
