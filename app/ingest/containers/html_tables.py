"""The tables of a page: many devices and sites call such a file a workbook."""

from html.parser import HTMLParser

from app.ingest.containers.cell_values import Cell
from app.ingest.containers.file_kind import encoding_by_mark
from app.ingest.containers.sheet_table import SheetTable, table_of_sheet

_LOOKED_AT = 4_000
_BLOCKS = {"td", "th"}


def is_page(data: bytes) -> bool:
    """Whether a text is a page that may hold a table."""
    # Written in two or four bytes a letter there are zeros beside each.
    start = data[:_LOOKED_AT].replace(b"\0", b"").lstrip(b"\xef\xbb\xbf\xff\xfe \r\n\t").lower()
    return start.startswith((b"<!doctype html", b"<html", b"<table", b"<meta", b"<head", b"<div"))


def page_text(data: bytes) -> str:
    """The page as text; what cannot be told is taken for the older way of western Europe."""
    named = encoding_by_mark(data)
    if named not in ("", "utf-8-sig"):
        return data.decode(named, errors="replace")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace")


def longest_table(text: str) -> SheetTable | None:
    """The table of a page with the most rows; None where none has a filled cell."""
    parser = _Tables()
    parser.feed(text)
    parser.close()
    longest = max(parser.tables, key=len, default=[])
    return table_of_sheet(longest)


class _Tables(HTMLParser):
    """Gathers the rows of every table, inner tables as tables of their own."""

    def __init__(self) -> None:
        super().__init__()
        self.tables: list[list[list[Cell]]] = []
        self._open: list[list[list[Cell]]] = []
        self._cell: list[str] | None = None

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:  # noqa: ARG002
        if tag == "table":
            self._end_cell()
            self._open.append([])
            self.tables.append(self._open[-1])
        elif tag == "tr" and self._open:
            self._end_cell()
            self._open[-1].append([])
        elif tag in _BLOCKS and self._open:
            self._end_cell()
            if not self._open[-1]:
                self._open[-1].append([])
            self._cell = []

    def handle_endtag(self, tag: str) -> None:
        if tag in _BLOCKS or tag == "tr":
            self._end_cell()
        elif tag == "table" and self._open:
            self._end_cell()
            self._open.pop()

    def handle_data(self, data: str) -> None:
        if self._cell is not None:
            self._cell.append(data)

    def _end_cell(self) -> None:
        if self._cell is not None and self._open and self._open[-1]:
            self._open[-1][-1].append("".join(self._cell))
        self._cell = None
