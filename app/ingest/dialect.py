"""From text to cells: delimiter, decimal mark, header and rows, found from the content."""

import csv
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from app.domain.errors import InvalidInput
from app.domain.i18n.message import say
from app.domain.units.column import CsvDialect

_DELIMITERS = (";", "\t", ",", "|")
_NUMBER = re.compile(r"[+\-−]?(\d+([.,]\d*)?|[.,]\d+)([eE][+\-]?\d+)?\s*([°µ]?[A-Za-z%]{0,3})")
_TIME = re.compile(
    r"[\d./\-]{0,10}[ T]?\d{1,3}:\d{2}(:\d{2}([.,]\d+)?)?\s*"
    r"(Z|[+\-]\d{2}:?\d{2}|[AaPp]\.?[Mm]\.?)?"
)
_DATE = re.compile(r"\d{1,2}([./\-])\d{1,2}\1\d{2,4}|\d{4}-\d{1,2}-\d{1,2}")
_UNIT_CELL = re.compile(
    r"[\[(]?(s|sec|min|h|hrs?|ms|[kmuµ]?A|[kmuµ]?V|°?[CF]|%|[km]?W|m?Ah|k?Wh|hh:mm(:ss)?)[\])]?",
    re.IGNORECASE,
)
# Numbers whose mark cannot stand between thousands, by that mark.
_SURE = {
    mark: re.compile(rf"[+\-−]?(?:\d*{mark}(?:\d{{1,2}}|\d{{4,}})|0*{mark}\d+)\s*\D{{0,3}}")
    for mark in (r"\.", ",")
}
# Numbers with the other mark between their thousands, by the mark of their decimals.
_GROUPS = {
    ",": re.compile(r"[+\-−]?[1-9]\d{0,2}(\.\d{3})+(,\d*)?"),
    ".": re.compile(r"[+\-−]?[1-9]\d{0,2}(,\d{3})+(\.\d*)?"),
}
# What is looked at to find the shape of a file; the rest must follow it.
HEAD_LINES = 200
_HEAD_CHARACTERS = 400_000
_TAIL_CHARACTERS = 20_000
_SAMPLED = 300
MAX_COLUMNS = 200
MAX_ROWS = 1_000_100

Row = tuple[str, ...]
FOUND = CsvDialect()


@dataclass(frozen=True)
class CellTable:
    """Cells of a file, as text from `start` on. first_line is the line number of the first row.

    head holds the first rows, padded to the width of the header.
    """

    text: str
    start: int
    first_line: int
    delimiter: str
    decimal: str
    header: Row
    head: tuple[Row, ...]
    headed: bool

    @property
    def width(self) -> int:
        return len(self.header)

    def rows(self) -> Iterator[tuple[int, Row]]:
        """Every filled row with its line number.

        Raises InvalidInput for one with too many cells.
        """
        lines = self.text[self.start :].splitlines()
        for number, cells in enumerate(_split(lines, self.delimiter), start=self.first_line):
            if any(cells):
                yield number, self.fitted(number, cells)

    def last_row(self) -> Row:
        """The last row that is like the first ones; of a log that was cut off, the one before."""
        tail = self.text[max(self.start, len(self.text) - _TAIL_CHARACTERS) :].splitlines()
        for cells in reversed(list(_split(tail, self.delimiter))):
            if len(cells) == self.width and _is_data(cells, self.decimal):
                return cells
        return self.head[-1]

    @cached_property
    def sample(self) -> tuple[Row, ...]:
        """Rows of the whole file in their order: the first ones, then one every so often."""
        found, end = list(self.head), self.start
        for _ in self.head:
            end = self.text.find("\n", end) + 1 or len(self.text)
        step = max(1, (len(self.text) - end) // _SAMPLED)
        for place in range(end, len(self.text), step):
            first = self.text.find("\n", place) + 1
            if first <= end:
                continue
            end = self.text.find("\n", first)
            line = self.text[first : end if end > 0 else len(self.text)]
            found += [
                cells
                for cells in _split([line], self.delimiter)
                if len(cells) == self.width and _is_data(cells, self.decimal)
            ]
            if end < 0:
                break
        return tuple(found)

    @cached_property
    def sure_mark(self) -> str:
        """The mark of the decimals where some number leaves no doubt about it; else empty.

        12,850 may be thousands; 12,85 and 0,850 cannot be.
        """
        sure = _SURE["," if self.decimal == "," else r"\."]
        cells = (cell for row in self.sample for cell in row)
        return self.decimal if any(sure.fullmatch(cell) for cell in cells) else ""

    def fitted(self, line: int, cells: Row) -> Row:
        """A row at the table's width. One with more filled cells has shifted columns."""
        filled = max((i for i, cell in enumerate(cells, start=1) if cell), default=0)
        if filled > self.width:
            raise InvalidInput.because(
                say("line {number}", number=line),
                say("{count} cells", count=filled),
                say(
                    "at most {most}, as many as headings (are there decimal commas in a file with "
                    "commas between the columns?)",
                    most=self.width,
                ),
                "file",
            )
        return (*cells, *[""] * (self.width - len(cells)))[: self.width]


def read_table(text: str, layout: CsvDialect = FOUND) -> CellTable:
    """Find the shape of a table of numbers.

    Each delimiter that layout leaves open is tried on the first lines and scored by the numbers
    and times it makes; the header is the last line of words before the first line of numbers.
    Raises InvalidInput where none of the first lines holds at least two numbers or times, and for
    too many rows or columns.
    """
    count = text.count("\n") + 1
    if count > MAX_ROWS:
        raise InvalidInput.because(
            say("file"),
            say("{count} lines", count=count),
            say("at most {most}", most=MAX_ROWS),
            "file",
        )
    lines = text[:_HEAD_CHARACTERS].splitlines(keepends=True)[:HEAD_LINES]
    delimiter, decimal = max(_candidates(layout), key=lambda pair: _score(lines, *pair))
    split = list(_split(lines, delimiter))
    first = next((i for i, row in enumerate(split) if _is_data(row, decimal)), None)
    if first is None:
        shown = next((row[0] for row in split if any(row)), "")
        raise InvalidInput.because(
            say("file"), shown, say("lines with a time and a current"), "file"
        )
    header = _heading([row for row in split[:first] if any(row)])
    rows = [(i, row) for i, row in enumerate(split[first:], start=first + 1) if any(row)]
    width = len(header) if header else max(len(row) for _, row in rows)
    if max(width, *(len(row) for _, row in rows)) > MAX_COLUMNS:
        raise InvalidInput.because(
            say("file"),
            say("{count} columns", count=width),
            say("at most {most}", most=MAX_COLUMNS),
            "file",
        )
    table = CellTable(
        text=text,
        start=sum(len(line) for line in lines[:first]),
        first_line=first + 1,
        delimiter=delimiter,
        decimal=decimal,
        header=header or ("",) * width,
        head=(),
        headed=bool(header),
    )
    head = tuple(table.fitted(line, row) for line, row in rows)
    return CellTable(**{**table.__dict__, "head": head})


def _heading(words: list[Row]) -> Row:
    """The last line of words; where it holds units alone the names above go before them."""
    if not words:
        return ()
    last = words[-1]
    units = all(_UNIT_CELL.fullmatch(cell) for cell in last if cell)
    if not units or len(words) < 2 or len(words[-2]) != len(last):
        return last
    pairs = zip(words[-2], last, strict=True)
    return tuple(f"{name} {unit.strip('[]()')}".strip() for name, unit in pairs)


def typed_table(header: Row, rows: list[tuple[int, Row]]) -> "TypedTable":
    """Rows that were typed into a form, with their row numbers."""
    return TypedTable(header, tuple(row for _, row in rows), tuple(n for n, _ in rows))


@dataclass(frozen=True)
class TypedTable:
    """Cells that stand row by row already."""

    header: Row
    head: tuple[Row, ...]
    numbers: tuple[int, ...]
    decimal: str = ""
    sure_mark: str = ""

    def rows(self) -> Iterator[tuple[int, Row]]:
        return iter(zip(self.numbers, self.head, strict=True))


def _candidates(layout: CsvDialect) -> list[tuple[str, str]]:
    """Pairs of delimiter and decimal mark to try, less what the owner rules out."""
    # The first of equals wins: a comma is a delimiter before it is a decimal mark.
    pairs = [(d, m) for d in (*_DELIMITERS, " ") for m in (".", ",") if d != m]
    fitting = [
        (d, m) for d, m in pairs if layout.delimiter in ("", d) and layout.decimal in ("", m)
    ]
    return fitting or pairs


def _split(lines: list[str], delimiter: str) -> Iterator[Row]:
    """One line at a time: a stray quote must not swallow the rest of the file."""
    for line in lines:
        if delimiter == " ":
            yield tuple(line.split())
        elif '"' in line:
            cells = next(csv.reader([line.rstrip("\r\n")], delimiter=delimiter), [])
            yield tuple(cell.strip() for cell in cells)
        else:
            yield tuple(cell.strip() for cell in line.split(delimiter))


def _score(head: list[str], delimiter: str, decimal: str) -> float:
    score = 0.0
    for row in _split(head, delimiter):
        good = sum(_worth(cell, decimal) for cell in row)
        if good >= 2:
            score += good / (1 + sum(1 for cell in row if cell) - good)
    return score * (0.5 if delimiter == " " else 1.0)


def _worth(cell: str, decimal: str) -> float:
    """1 for data, half for what is a number only if the other mark stands between thousands."""
    if is_value(cell, decimal):
        return 1.0
    return 0.5 if _GROUPS[decimal].fullmatch(cell) else 0.0


def _is_data(row: Row, decimal: str) -> bool:
    return sum(1 for cell in row if is_value(cell, decimal)) >= 2


def is_value(cell: str, decimal: str) -> bool:
    """Whether a cell holds data: a number, a time or a date."""
    return is_number(cell, decimal) or is_time(cell) or is_date(cell)


def is_number(cell: str, decimal: str) -> bool:
    """Whether a cell is one number, perhaps with a unit behind it."""
    other = "," if decimal == "." else "."
    return bool(_NUMBER.fullmatch(cell)) and other not in cell


def is_date(cell: str) -> bool:
    """Whether a cell looks like a date without a time."""
    return bool(_DATE.fullmatch(cell))


def is_time(cell: str) -> bool:
    """Whether a cell looks like a time of day, a span h:mm or a date with a time."""
    return ":" in cell and bool(_TIME.fullmatch(cell))
