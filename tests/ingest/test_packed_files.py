"""Packed tables open as they are; what holds no table is told what to do instead."""

import bz2
import contextlib
import gzip
import io
import sqlite3
import tarfile
import zipfile

import pytest

from app.domain.errors import InvalidInput
from app.ingest.reader import read_file
from tests.ingest.test_workbooks import OLD, TABLE, same
from tests.ingest.workbooks import (
    HEADINGS,
    NUMBERED,
    ROWS,
    as_csv,
    fill,
    ods,
    xlsx,
    zipped,
    zipped_files,
)

CSV = as_csv()
CLUTTER = {"__MACOSX/._log.csv": b"\0\5\26\7", "folder/.DS_Store": b"\0\0\0\1Bud1", "folder/": b""}


@pytest.mark.parametrize(
    "data",
    [
        gzip.compress(CSV),
        gzip.compress(CSV[:500]) + gzip.compress(CSV[500:]),
        gzip.compress(xlsx(*TABLE)),
        gzip.compress(OLD),
        zipped(log__csv=CSV),
        zipped(log__txt=CSV.replace(b",", b"\t").decode().encode("utf-16")),
        zipped(log__xlsx=xlsx(*TABLE)),
        zipped(log__xls=OLD, readme__txt=b"Made on the ferry.\nIn the rain.\n"),
        zipped(
            log__csv=CSV, photo__jpg=b"\xff\xd8\xff\xe0" + bytes(300), manual__pdf=b"%PDF-1.7\n"
        ),
        zipped_files({"folder/log.csv": CSV} | CLUTTER),
    ],
    ids=iter(NUMBERED),
)
def test_one_packed_table_is_read_as_if_it_were_not_packed(data):
    same(data)


def test_a_packed_log_that_was_cut_off_is_read_as_far_as_it_goes():
    rows = [(i * 10, 9.1 + i * 7 % 5 / 100, round(13 - i / 2_000, 4)) for i in range(2_000)]
    packed = gzip.compress(as_csv(("Time (s)", "A", "V"), rows))
    assert 100 < len(read_file(packed[: len(packed) // 2]).readings) < 2_000


def test_which_of_several_packed_tables_is_meant_is_asked():
    data = zipped(spring__csv=CSV, autumn__csv=as_csv(rows=ROWS[:9]), readme__txt=b"two tests")
    with pytest.raises(InvalidInput, match=r"one of the 2 in the file: spring.csv, autumn.csv"):
        read_file(data)
    same(data, part="spring.csv")
    assert len(read_file(data, part="autumn.csv").readings) == 9


def test_sheets_of_several_packed_workbooks_are_called_by_both_names():
    second = xlsx(*TABLE, more=lambda book: fill(book.create_sheet("B"), (HEADINGS, *ROWS[:9])))
    data = zipped(a__ods=ods(*TABLE), b__xlsx=second)
    with pytest.raises(InvalidInput, match=r"a.ods: Log, b.xlsx: Log, b.xlsx: B"):
        read_file(data)
    assert len(read_file(data, part="b.xlsx: B").readings) == 9


def database():
    with contextlib.closing(sqlite3.connect(":memory:")) as made:
        made.execute("create table log (a)")
        return made.serialize()


def tar():
    made = io.BytesIO()
    with tarfile.open(fileobj=made, mode="w") as archive:
        archive.addfile(tarfile.TarInfo("log.csv"))
    return made.getvalue()


def locked():
    """A ZIP whose one entry says that it is encrypted."""
    data = bytearray(zipped(log__csv=CSV))
    for start, flags in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        data[data.index(start) + flags] |= 1
    return bytes(data)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"\xff\xd8\xff\xe0" + bytes(300), "add the picture to the test once it is stored"),
        (b"RIFF\0\0\0\0WEBPVP8 " + bytes(300), "a picture"),
        (b"\0\0\0\x18ftypheic" + bytes(300), "a picture"),
        (b"%PDF-1.4\nplain words\n", "copy it and paste it as columns"),
        (b"{\\rtf1 words}", "copy the table out of the document"),
        (zipped_files({"word/document.xml": b"<a/>"}), "copy the table out of the document"),
        (
            zipped_files({"mimetype": b"application/vnd.oasis.opendocument.text"}),
            "copy the table out of the document",
        ),
        (zipped_files({"ppt/presentation.xml": b"<a/>"}), "copy the table out of the slides"),
        (
            b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600) + "WordDocument".encode("utf-16-le"),
            "copy the table out of the document",
        ),
        (database(), "export the table with the readings as CSV"),
        (b"\0\1\0\0Standard ACE DB\0" + bytes(300), "export the table with the readings as CSV"),
        (b"\x89HDF\r\n\x1a\n" + bytes(300), "export the readings from that tool"),
        (bz2.compress(CSV), "unpack the file"),
        (b"7z\xbc\xaf\x27\x1c" + bytes(300), "unpack the file"),
        (tar(), "unpack the file"),
        (gzip.compress(tar()), "unpack the file"),
        (gzip.compress(gzip.compress(CSV)), "unpack the file"),
        (zipped(log__zip=zipped(log__csv=CSV)), "unpack the file"),
        (zipped(), "a ZIP without a table in it"),
        (zipped(photo__png=b"\x89PNG\r\n\x1a\n" + bytes(300)), "a picture"),
        (zipped(datapackage__json=b"{}"), "bring the archive in on the page “Records”"),
        (zipped_files({"Index/Document.iwa": b"1", "a.jpg": b"2"}), "an .xlsx, .ods or CSV file"),
        (b'<?xml version="1.0"?><office:document xmlns:office="urn:x">', "an .xlsx, .ods or CSV"),
        (locked(), "Take the password off"),
        (zipped(log__csv=CSV)[:-30], "Copy or send the whole file again"),
        (gzip.compress(CSV)[:12] + b"\xff" * 80, "Copy or send the whole file again"),
        (zipped_files({f"{i}.csv": CSV for i in range(40)}), "This ZIP holds 40 files"),
    ],
    ids=iter(NUMBERED),
)
def test_what_holds_no_table_is_told_what_to_do_instead(data, words):
    with pytest.raises(InvalidInput) as refusal:
        read_file(data)
    assert words in str(refusal.value)


def test_a_gzip_file_of_very_many_parts_is_refused_in_time():
    """Each part costs time, also an empty one: 64 MB hold three million of them."""
    same(gzip.compress(b"") * 1_000 + gzip.compress(CSV))
    with pytest.raises(InvalidInput, match="unpacks to more than Fadeline can read"):
        read_file(gzip.compress(b"") * 100_001 + gzip.compress(CSV))


def spoilt(at, packing=zipfile.ZIP_LZMA):
    """A ZIP whose first entry is not packed as it says."""
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", packing) as archive:
        archive.writestr("mimetype", b"application/vnd.oasis.opendocument.spreadsheet" * 50)
    data = bytearray(made.getvalue())
    data[at] ^= 0xFF
    return bytes(data)


def moved():
    """A ZIP whose directory lies before where it says."""
    data = bytearray(zipped_files({"mimetype": b"application/x", "log.csv": CSV}))
    end = data.rindex(b"PK\x05\x06")
    data[end + 16 : end + 20] = b"\xff\xff\xff\x7f"
    return bytes(data)


def nameless():
    """A ZIP whose one entry has no name."""
    return zipped_files({"x.csv": CSV}).replace(b"x.csv", b"\0.csv")


@pytest.mark.parametrize("data", [spoilt(50), spoilt(60), spoilt(70), moved()], ids=iter(NUMBERED))
def test_a_zip_that_is_damaged_inside_is_called_damaged(data):
    with pytest.raises(InvalidInput, match="damaged or incomplete"):
        read_file(data)


def test_an_entry_without_a_name_is_read():
    same(nameless())


def page(*rows, more=""):
    cells = "".join(
        f"<tr>{''.join(f'<td><b>{cell}</b>&nbsp;</td>' for cell in row)}</tr>" for row in rows
    )
    return f"<html><head><title>x</title></head><body>{more}<table>{cells}</table></body></html>"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16", "utf-32", "cp1252"])
def test_a_page_that_is_called_a_workbook_is_read_by_its_longest_table(encoding):
    side = "<table><tr><th>Übersicht<td>54.9</table>"
    read = same(page(HEADINGS, *ROWS, more=side).encode(encoding))
    assert "The longest table of the page was read, from row 1 on." in read.assumptions
    comma = [(f"{m:%d.%m.%Y %H:%M}", *(f"{x:.3f}".replace(".", ",") for x in r)) for m, *r in ROWS]
    same(page(("Zeit", "Strom (A)", "Spannung (V)"), *comma, more=side).encode(encoding))


def test_a_page_without_readings_is_refused():
    with pytest.raises(InvalidInput, match="a time and a current"):
        read_file(page(["Welcome"], ["to", "us"]).encode())
    with pytest.raises(InvalidInput, match="a time and a current"):
        read_file(b"<html><body><p>Welcome</p></body></html>")
    with pytest.raises(InvalidInput, match="bring this one in on the page"):
        read_file(b'<!doctype html><html lang="en" data-fadeline-file="1">')
