"""Workbooks made by another library than the one that reads them, and an OpenDocument by hand."""

import io
import zipfile
from datetime import datetime, timedelta
from xml.sax.saxutils import escape

import openpyxl

# Names of tests: what is packed carries the hour, so that its bytes are none.
NUMBERED = tuple(map(str, range(40)))
HEADINGS = ("Time", "Current (A)", "Voltage (V)")
BEGIN = datetime(2026, 3, 1, 20, 0)
ROWS = tuple(
    (BEGIN + timedelta(minutes=10 * i), round(9.1 + i % 4 / 8, 3), round(13.2 - i / 40, 3))
    for i in range(36)
)


def as_csv(headings=HEADINGS, rows=ROWS):
    """The same log as text."""
    lines = [",".join(headings), *(",".join(map(str, row)) for row in rows)]
    return ("\n".join(lines) + "\n").encode()


def saved(book):
    data = io.BytesIO()
    book.save(data)
    return data.getvalue()


def xlsx(*rows, title="Log", at=(1, 1), formats=None, more=None):
    """A workbook with one sheet of these rows; formats are by column, more changes the book."""
    book = openpyxl.Workbook()
    fill(book.active, rows, at, formats or {})
    book.active.title = title
    if more:
        more(book)
    return saved(book)


def fill(sheet, rows, at=(1, 1), formats=None):
    for i, row in enumerate(rows):
        for j, value in enumerate(row):
            if value is not None:
                cell = sheet.cell(at[0] + i, at[1] + j, value)
                if formats and j in formats and not isinstance(value, str):
                    cell.number_format = formats[j]


def with_entry(data, name, content):
    """A packed file with one of its entries changed, added or (None) left out."""
    made = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(made, "w", 8) as new:
        for info in old.infolist():
            if info.filename != name:
                new.writestr(info.filename, old.read(info.filename))
        if content is not None:
            new.writestr(name, content)
    return made.getvalue()


def entry(data, name):
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return archive.read(name)


def zipped(**files):
    """A ZIP; a double underscore in a name stands for its point."""
    return zipped_files({name.replace("__", "."): data for name, data in files.items()})


def zipped_files(files):
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            archive.writestr(name, data)
    return made.getvalue()


_OFFICE = "urn:oasis:names:tc:opendocument:xmlns:"
_SPREADSHEET = "application/vnd.oasis.opendocument.spreadsheet"


def ods(*rows, sheets=None, manifest=""):
    """The smallest OpenDocument spreadsheet with these rows."""
    tables = "".join(
        f'<table:table table:name="{escape(name)}">{"".join(map(_ods_row, of_sheet))}</table:table>'
        for name, of_sheet in (sheets or {"Log": rows}).items()
    )
    spaces = " ".join(f'xmlns:{one}="{_OFFICE}{one}:1.0"' for one in ("office", "table", "text"))
    content = (
        f'<?xml version="1.0" encoding="UTF-8"?><office:document-content {spaces}>'
        f"<office:body><office:spreadsheet>{tables}</office:spreadsheet></office:body>"
        "</office:document-content>"
    )
    files = {
        "mimetype": _SPREADSHEET,
        "META-INF/manifest.xml": f'<m:manifest xmlns:m="{_OFFICE}manifest:1.0">{manifest}'
        "</m:manifest>",
        "content.xml": content,
    }
    return zipped_files(files)


def _ods_row(row):
    if isinstance(row, str):
        return row
    return f"<table:table-row>{''.join(map(_ods_cell, row))}</table:table-row>"


def _ods_cell(value):
    kind = 'office:value-type="{}" office:{}="{}"'
    if value is None:
        return "<table:table-cell/>"
    if isinstance(value, bool):
        about = kind.format("boolean", "boolean-value", str(value).lower())
    elif isinstance(value, datetime):
        about = kind.format("date", "date-value", value.isoformat())
    elif isinstance(value, timedelta):
        minutes, seconds = divmod(int(value.total_seconds()), 60)
        span = f"PT{minutes // 60:02d}H{minutes % 60:02d}M{seconds:02d}S"
        about = kind.format("time", "time-value", span)
    elif isinstance(value, int | float):
        about = kind.format("float", "value", repr(value))
    else:
        about = 'office:value-type="string"'
    return f"<table:table-cell {about}><text:p>{escape(str(value))}</text:p></table:table-cell>"
