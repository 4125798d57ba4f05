"""From text to cells: delimiter, decimal mark, header and rows, found from the content."""

import csv
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from app.domain.errors import InvalidInput
from app.domain.i18n.message import say
from app.domain.units.column import ColumnUse, CsvDialect
from app.ingest.headings import use_of_heading
from app.ingest.wording.cells import is_unit, worth
from app.ingest.wording.comments import without_remarks
from app.ingest.wording.no_table import is_prose, no_table, too_many_columns, too_many_lines

_DELIMITERS = (";", "\t", ",", "|")
# Numbers whose mark cannot stand between thousands, by that mark.
_SURE = {
    mark: re.compile(rf"[+\-−]?(?:\d*{mark}(?:\d{{1,2}}|\d{{4,}})|0*{mark}\d+)\s*\D{{0,3}}")
    for mark in (r"\.", ",")
}
# What is looked at to find the shape of a file; the rest must follow it.
HEAD_LINES = 200
_HEAD_CHARACTERS = 400_000
_TAIL_CHARACTERS = 20_000
_SAMPLED = 300
_LONGEST_HEADING = 80
# A line drawn below the headings.
_RULE = re.compile(r"[-=_:+*]*")
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
        for number, cells in enumerate(split_lines(lines, self.delimiter), start=self.first_line):
            if any(cells):
                yield number, self.fitted(number, cells)

    def last_row(self) -> Row:
        """The last row that is like the first ones; of a log that was cut off, the one before."""
        tail = self.text[max(self.start, len(self.text) - _TAIL_CHARACTERS) :].splitlines()
        for cells in reversed(list(split_lines(tail, self.delimiter))):
            if len(cells) == self.width and _is_data(cells, self.decimal):
                return cells
        return self.head[-1]

    def cells_of(self, line: int) -> Row:
        """The cells of one line, by its number; empty where there is none."""
        start = self.start
        for _ in range(line - self.first_line):
            start = self.text.find("\n", start) + 1
        end = self.text.find("\n", start)
        text = self.text[start : end if end >= 0 else len(self.text)]
        return next(split_lines([text.rstrip("\r")], self.delimiter), ())

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
                for cells in split_lines([line], self.delimiter)
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
        raise too_many_lines(count, MAX_ROWS)
    text, remarks = without_remarks(text)
    lines = text[:_HEAD_CHARACTERS].splitlines(keepends=True)[:HEAD_LINES]
    delimiter, decimal = layout_of(lines, layout)
    split = list(split_lines(lines, delimiter))
    first = _first_row(split, decimal)
    if first is None or is_prose(delimiter, [_is_data(r, decimal) for r in split[first:] if r]):
        raise no_table(next((line for line in lines if line.strip()), ""))
    header = _heading([row for row in split[:first] if any(row)])
    if not header:
        header = _of_remark([words for line, words in remarks.items() if line < first], delimiter)
    rows = [(i, row) for i, row in enumerate(split[first:], start=first + 1) if any(row)]
    width = len(header) if header else max(len(row) for _, row in rows)
    if (most := max(width, *(len(row) for _, row in rows))) > MAX_COLUMNS:
        raise too_many_columns(most, MAX_COLUMNS)
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


def _first_row(split: list[Row], decimal: str) -> int | None:
    """The first row of numbers; behind a line that names columns, where a summary goes before it.

    A summary is shorter than the table, and its lines begin with words: a heading that comes
    once more ends no record.
    """
    data = [i for i, row in enumerate(split) if _is_data(row, decimal)]
    if not data:
        return None
    for i, row in enumerate(split):
        if names_columns(row, decimal):
            before = [place for place in data if place < i]
            readings = any(worth(split[place][0], decimal) for place in before)
            if not readings and len(before) < len(data) - len(before):
                return data[len(before)]
            break
    return data[0]


def names_columns(row: Row, decimal: str) -> bool:
    """Whether a line holds no number and names at least two different quantities."""
    if len(row) < 2 or any(worth(cell, decimal) for cell in row):
        return False
    roles = {use_of_heading(cell).role for cell in row if 0 < len(cell) < _LONGEST_HEADING}
    return len(roles - {ColumnUse.IGNORE.role}) >= 2


def _of_remark(remarks: list[str], delimiter: str) -> Row:
    """The headings in the last remark before the rows, where it names columns."""
    if not remarks:
        return ()
    row = next(split_lines(remarks[-1:], delimiter), ())
    return row if names_columns(row, ".") else ()


def _heading(words: list[Row]) -> Row:
    """The last line of words; where it holds units alone the names above go before them."""
    words = [row for row in words if not all(_RULE.fullmatch(cell) for cell in row)]
    if not words:
        return ()
    last = words[-1]
    units = all(is_unit(cell) for cell in last if cell)
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


def layout_of(lines: list[str], layout: CsvDialect = FOUND) -> tuple[str, str]:
    """Delimiter and decimal mark of lines: those that make the most numbers and times."""
    candidates = _candidates(layout, quoted=any('"' in line for line in lines))
    return max(candidates, key=lambda pair: _score(lines, *pair))


def _candidates(layout: CsvDialect, *, quoted: bool) -> list[tuple[str, str]]:
    """Pairs of delimiter and decimal mark to try, less what the owner rules out.

    A comma may be both where cells stand in quotes.
    """
    # The first of equals wins: a comma is a delimiter before it is a decimal mark.
    pairs = [(d, m) for d in (*_DELIMITERS, " ") for m in (".", ",") if d != m]
    pairs += [(",", ",")] if quoted else []
    fitting = [
        (d, m) for d, m in pairs if layout.delimiter in ("", d) and layout.decimal in ("", m)
    ]
    return fitting or pairs


def split_lines(lines: list[str], delimiter: str) -> Iterator[Row]:
    """The cells of each line by itself: a stray quote must not swallow the rest of the file."""
    for line in lines:
        if delimiter == " ":
            yield tuple(line.split())
        elif '"' in line:
            # A carriage return inside a line is no end of it; the library stops there.
            bare = line.rstrip("\r\n").replace("\r", " ")
            cells = next(csv.reader([bare], delimiter=delimiter), [])
            yield tuple(cell.strip() for cell in cells)
        else:
            yield tuple(cell.strip() for cell in line.split(delimiter))


def _score(head: list[str], delimiter: str, decimal: str) -> float:
    score = 0.0
    for row in split_lines(head, delimiter):
        good = sum(worth(cell, decimal) for cell in row)
        if good >= 2:
            score += good / (1 + sum(1 for cell in row if cell) - good)
    return score * (0.5 if delimiter == " " else 1.0)


def _is_data(row: Row, decimal: str) -> bool:
    return sum(1 for cell in row if worth(cell, decimal)) >= 2
