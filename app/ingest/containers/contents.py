"""The tables that a file holds: the sheets of a workbook, the files in a ZIP, or what is packed."""

import zipfile
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial

from app.domain.i18n.marks import N_
from app.ingest.containers.file_kind import FileKind, kind_of, refused
from app.ingest.containers.html_tables import is_page
from app.ingest.containers.sheet_table import SheetTable
from app.ingest.containers.workbook import Sheet, sheets_of, table_of_page
from app.ingest.containers.zip_contents import (
    counts_from_1904,
    directory,
    gunzipped,
    inner_kind,
    kind_of_zip,
    members,
)

Content = bytes | SheetTable


@dataclass(frozen=True)
class Part:
    """One table of a file: a sheet, or the bytes of a text.

    head is what tells whether it may be the one that is meant; read gives it whole.
    """

    name: str
    hidden: bool
    head: Content
    read: Callable[[], Content]


def parts_of(data: bytes) -> tuple[Part, ...]:
    """The tables of a file; none for one that is text itself.

    Raises InvalidInput for what holds no table, and for what cannot be opened.
    """
    kind = kind_of(data)
    archive = directory(data) if kind is FileKind.ZIP else None
    if archive is not None:
        kind = kind_of_zip(archive)
    if kind is FileKind.WORKBOOK:
        return _of_workbook(data, archive)
    if kind is FileKind.GZIP:
        return _of_gzip(gunzipped(data))
    return _of_page(data) if archive is None else _of_zip(archive)


def _of_workbook(
    data: bytes, archive: zipfile.ZipFile | None, before: str = ""
) -> tuple[Part, ...]:
    from_1904 = archive is not None and counts_from_1904(archive)
    return tuple(
        Part(
            before + one.name,
            one.hidden,
            one.table,
            partial(_whole_sheet, data, one, from_1904=from_1904),
        )
        for one in sheets_of(data, from_1904=from_1904)
        if one.table is not None
    )


def _whole_sheet(data: bytes, sheet: Sheet, *, from_1904: bool) -> Content:
    if not sheet.whole:
        sheet = sheets_of(data, sheet.name, from_1904=from_1904)[0]
    assert sheet.table is not None
    return sheet.table


def _of_page(data: bytes) -> tuple[Part, ...]:
    """The table of a page; none for any other text."""
    if not is_page(data):
        return ()
    found = table_of_page(data)
    return () if found is None else (Part("", False, found, lambda: found),)


def _of_gzip(data: bytes) -> tuple[Part, ...]:
    kind = inner_kind(data)
    if kind is FileKind.WORKBOOK:
        return parts_of(data)
    if kind is None:
        # It is refused for what it is.
        kind_of(data)
        raise refused(
            N_(
                "This is a packed file with packed files in it: unpack the file and choose the "
                "table that is inside."
            )
        )
    return (_text("", data),)


def _of_zip(archive: zipfile.ZipFile) -> tuple[Part, ...]:
    unpacked = members(archive)
    kinds = {name: inner_kind(data) for name, data in unpacked.items()}
    if len(unpacked) == 1 and None in kinds.values():
        kind_of(next(iter(unpacked.values())))
    tables = [name for name, kind in kinds.items() if kind is not None]
    if not tables:
        raise refused(
            N_(
                "This is a ZIP without a table in it: unpack the file and choose the table, or "
                "export the readings as CSV."
            )
        )
    found: list[Part] = []
    for name in tables:
        data = unpacked[name]
        if kinds[name] is FileKind.TEXT:
            found.append(_text(name, data))
        else:
            before = f"{name}: " if len(tables) > 1 else ""
            inner = directory(data) if kind_of(data) is FileKind.ZIP else None
            found += _of_workbook(data, inner, before)
    return tuple(found)


def _text(name: str, data: bytes) -> Part:
    for page in _of_page(data):
        return replace(page, name=name)
    return Part(name, False, data, lambda: data)
