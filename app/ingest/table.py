"""From text to cells: delimiter, decimal mark, header and rows, found from the content."""

import csv
import itertools
import re
from dataclasses import dataclass

from app.domain.errors import Refused

_DELIMITERS = (";", "\t", ",", "|")
_NUMBER = re.compile(r"[+\-−]?(\d+([.,]\d*)?|[.,]\d+)([eE][+\-]?\d+)?\s*(°?[A-Za-z%]{0,3})")
_TIME = re.compile(
    r"[\d./\-]{0,10}[ T]?\d{1,3}:\d{2}(:\d{2}([.,]\d+)?)?\s*(Z|[+\-]\d{2}:?\d{2}|[AaPp]\.?[Mm]\.?)?"
)
_DATE = re.compile(r"\d{1,2}([./\-])\d{1,2}\1\d{2,4}|\d{4}-\d{1,2}-\d{1,2}")
_LOOK_AT = 200
MOST_COLUMNS = 200
MOST_ROWS = 1_000_100


@dataclass(frozen=True)
class Table:
    """Cells of a file. lines[i] is the line number (from 1) of rows[i] in the file."""

    delimiter: str
    decimal: str
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    lines: tuple[int, ...]

    @property
    def width(self) -> int:
        return len(self.header)


def read_table(text: str) -> Table:
    """Split text into a header and rows of cells.

    Each delimiter is tried on the first lines and scored by the numbers and times it makes; the
    header is the last line of words before the first line of numbers. Raises Refused where no
    line holds at least two numbers or times.
    """
    lines = text.splitlines()
    if len(lines) > MOST_ROWS:
        raise Refused.because("file", f"{len(lines)} lines", f"at most {MOST_ROWS}", "file")
    head = lines[:_LOOK_AT]
    delimiter, decimal = max(_candidates(), key=lambda pair: _score(head, *pair))
    numbered = list(enumerate(_split(lines, delimiter), start=1))
    filled = [(n, row) for n, row in numbered if any(cell for cell in row)]
    start = next((i for i, (_, row) in enumerate(filled) if _is_data(row, decimal)), None)
    if start is None:
        raise Refused.because(
            "file", filled[0][1][0] if filled else "", "lines with a time and a current", "file"
        )
    data = filled[start:]
    width = max(len(row) for _, row in data[:_LOOK_AT])
    if width > MOST_COLUMNS:
        raise Refused.because("file", f"{width} columns", f"at most {MOST_COLUMNS}", "file")
    header = filled[start - 1][1] if start else ()
    _refuse_wider(data, header)
    named = tuple(itertools.islice(itertools.chain(header, itertools.repeat("")), width))
    rows = tuple(tuple((*row, *[""] * (width - len(row)))[:width]) for _, row in data)
    return Table(delimiter, decimal, named, rows, tuple(n for n, _ in data))


def _refuse_wider(data: list[tuple[int, tuple[str, ...]]], header: tuple[str, ...]) -> None:
    """A row with more cells than headings has shifted columns (decimal commas, mostly)."""
    if not header:
        return
    for line, row in data:
        filled = max((i for i, cell in enumerate(row, start=1) if cell), default=0)
        if filled > len(header):
            raise Refused.because(
                f"line {line}",
                f"{filled} cells",
                f"at most {len(header)}, as many as headings (are there decimal commas in a file "
                "with commas between the columns?)",
                "file",
            )


def _candidates() -> list[tuple[str, str]]:
    # The first of equals wins: a comma is a delimiter before it is a decimal mark.
    pairs = [(d, m) for d in _DELIMITERS for m in (".", ",") if d != m]
    return [*pairs, (" ", "."), (" ", ",")]


def _split(lines: list[str], delimiter: str) -> list[tuple[str, ...]]:
    if delimiter == " ":
        return [tuple(line.split()) for line in lines]
    # One line at a time: a stray quote must not swallow the rest of the file.
    made = []
    for line in lines:
        if '"' in line:
            cells = next(csv.reader([line], delimiter=delimiter), [])
        else:
            cells = line.split(delimiter)
        made.append(tuple(cell.strip() for cell in cells))
    return made


def _score(head: list[str], delimiter: str, decimal: str) -> float:
    score = 0.0
    for row in _split(head, delimiter):
        good = sum(1 for cell in row if is_value(cell, decimal))
        if good >= 2:
            score += good / (1 + sum(1 for cell in row if cell) - good)
    return score * (0.5 if delimiter == " " else 1.0)


def _is_data(row: tuple[str, ...], decimal: str) -> bool:
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
