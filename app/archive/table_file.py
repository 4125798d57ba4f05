"""A table as a CSV file: UTF-8, RFC 4180, the first row naming the columns."""

import csv
import io
from collections.abc import Iterable, Iterator
from itertools import islice
from typing import IO

from app.archive.csv_values import cell_of, value_of
from app.archive.limits import MAX_CELL_LENGTH, MAX_ROW_LENGTH
from app.domain.errors import InvalidInput, truncate
from app.domain.i18n.message import say
from app.domain.records.table_schema import Row, TableSchema

# For the whole process: the reader's own bound of 131,072 characters is less than a cell may hold.
csv.field_size_limit(MAX_CELL_LENGTH)
DIALECT = {
    "delimiter": ",",
    "doubleQuote": True,
    "lineTerminator": "\r\n",
    "quoteChar": '"',
    "header": True,
}
_ROWS_AT_ONCE = 500


def csv_bytes(rows: Iterable[Iterable[str]]) -> Iterator[bytes]:
    """Rows of text as CSV, some hundred rows at a time."""
    waiting = iter(rows)
    while some := list(islice(waiting, _ROWS_AT_ONCE)):
        text = io.StringIO()
        csv.writer(text, lineterminator="\r\n").writerows(some)
        yield text.getvalue().encode()


def table_bytes(table: TableSchema, rows: Iterable[Row], missing: str) -> Iterator[bytes]:
    """The whole file, a piece at a time."""
    yield from csv_bytes([[column.name for column in table.columns]])
    yield from csv_bytes(
        [cell_of(row[column.name], missing) for column in table.columns] for row in rows
    )


def read_table(table: TableSchema, file: IO[bytes], path: str, missing: str) -> Iterator[Row]:
    """The rows of a table. Raises InvalidInput naming the row and the column."""
    lines = csv_rows(file, path)
    header = next(lines, [])
    by_name = {column.name: column for column in table.columns}
    _check_header(path, header, table)
    columns = [by_name[name] for name in header]
    earlier = {c.name: c.earlier for c in table.columns if c.name not in header}
    for number, cells in enumerate(lines, start=1):
        where = say("{file}, row {number}", file=path, number=number)
        if len(cells) != len(columns):
            raise InvalidInput.because(
                where,
                say("{count} cells", count=len(cells)),
                say("{count} cells", count=len(columns)),
            )
        yield earlier | {
            column.name: value_of(column, text, missing, where)
            for column, text in zip(columns, cells, strict=True)
        }


def csv_rows(file: IO[bytes], path: str) -> Iterator[list[str]]:
    """Rows of text. Raises InvalidInput for what is no CSV in UTF-8."""
    try:
        yield from csv.reader(_lines(file, path), strict=True)
    except UnicodeDecodeError as error:
        found = say("the byte {byte:#04x}", byte=error.object[error.start])
        raise InvalidInput.because(path, found, say("text in UTF-8")) from error
    except csv.Error as error:
        raise InvalidInput.because(path, str(error), say("CSV as RFC 4180 describes it")) from error


def _lines(file: IO[bytes], path: str) -> Iterator[str]:
    text = io.TextIOWrapper(file, encoding="utf-8", newline="")
    while line := text.readline(MAX_ROW_LENGTH):
        if len(line) >= MAX_ROW_LENGTH:
            raise InvalidInput.because(
                path,
                say("an endless line"),
                say("at most {most:,} characters", most=MAX_ROW_LENGTH),
            )
        if "\0" in line:
            raise InvalidInput.because(path, say("a NUL character"), say("text without one"))
        yield line


def _check_header(path: str, header: list[str], table: TableSchema) -> None:
    """Every column once; what was added later may lack in an archive of before."""
    known, where = [column.name for column in table.columns], say("{file}, columns", file=path)
    for name in header:
        if name not in known:
            allowed = say("one of: {choices}", choices=", ".join(known))
            raise InvalidInput.because(where, name, allowed)
        if header.count(name) > 1:
            raise InvalidInput.because(
                where, say("{name} twice", name=name), say("each column once")
            )
    lacking = [c.name for c in table.columns if c.name not in header and not c.added_later]
    if lacking:
        allowed = say("also: {columns}", columns=", ".join(lacking))
        raise InvalidInput.because(where, truncate(", ".join(header)), allowed)
