"""Readings of capacity tests as CSV files that anybody can read and draw."""

import math
from array import array
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import chain, groupby
from typing import IO

from app.archive.csv_values import number_cell, parse_number
from app.archive.table_file import csv_bytes, csv_rows
from app.domain.errors import InvalidInput
from app.domain.i18n.message import say
from app.domain.quantity import Quantity
from app.domain.readings import COLUMNS, COUNTED, Readings

# Title, unit and description by column.
WORDS: dict[str, tuple[str, str, str]] = {
    "elapsed_s": ("Time", "s", "Time since the first reading."),
    "current_a": ("Current", "A", "Current, with the sign that the meter gave it."),
    "voltage_v": ("Voltage", "V", "Terminal voltage."),
    "temperature_c": ("Temperature", "°C", "Temperature of the battery."),
    "gauge_percent": ("Gauge", "%", "What the gauge showed."),
    COUNTED: ("Counter", "Ah", "What a counter of amp-hours showed, where there was one."),
}
NEEDED = ("elapsed_s", "current_a")
# Whose reading it is, in a file that tests share.
TEST = "test"
_SHARED = (TEST, *WORDS)
# Far beyond any reading; it keeps sums of them finite.
_FINITE = Quantity("reading", "", -1e9, 1e9)


@dataclass(frozen=True)
class NamedReadings:
    """Readings from a shared file: whose they are, and in which row they begin."""

    test: str
    where: str
    readings: Readings


def readings_bytes(readings: Readings) -> Iterator[bytes]:
    """The whole file of one test, a piece at a time. An empty cell: nothing was read."""
    yield from csv_bytes([list(WORDS)])
    yield from csv_bytes(_cells(readings))


def shared_bytes(tests: Iterable[tuple[str, Readings]]) -> Iterator[bytes]:
    """A whole file that tests share, by their lasting names, a piece at a time."""
    yield from csv_bytes([list(_SHARED)])
    yield from csv_bytes([uid, *cells] for uid, readings in tests for cells in _cells(readings))


def _cells(readings: Readings) -> Iterator[list[str]]:
    columns = [getattr(readings, name) for name in COLUMNS]
    counted = readings.counted_ah
    columns.append(counted if counted is not None else array("d", [math.nan]) * len(readings))
    for row in zip(*columns, strict=True):
        yield ["" if math.isnan(value) else number_cell(value) for value in row]


def read_readings(file: IO[bytes], path: str, most: int) -> Readings:
    """The readings in the file of one test, at most so many.

    Raises InvalidInput naming the row and the column.
    """
    return _readings(_at_most(most, _numbered_rows(file, path, tuple(WORDS)), path), path)


def read_shared(file: IO[bytes], path: str, most: int) -> Iterator[NamedReadings]:
    """The readings in a shared file, at most so many, one test at a time; its rows stand together.

    Raises InvalidInput naming the row and the column.
    """
    numbered = _at_most(most, _numbered_rows(file, path, _SHARED), path)
    for test, rows in groupby(numbered, key=lambda row: row[1][0]):
        first = next(rows)
        where = say("{file}, row {number}, {column}", file=path, number=first[0], column=TEST)
        own = ((number, cells[1:]) for number, cells in chain([first], rows))
        yield NamedReadings(test, where, _readings(own, path))


def _numbered_rows(
    file: IO[bytes], path: str, columns: Sequence[str]
) -> Iterator[tuple[int, list[str]]]:
    """Rows of as many cells as there are columns, counted from 1."""
    rows = csv_rows(file, path)
    header = next(rows, [])
    # Records from before counters were kept lack the last column.
    former = [name for name in columns if name != COUNTED]
    if header not in (list(columns), former):
        raise InvalidInput.because(
            say("{file}, columns", file=path), ", ".join(header), ", ".join(columns)
        )
    lacking = [""] * (len(columns) - len(header))
    for number, cells in enumerate(rows, start=1):
        if len(cells) != len(header):
            where = say("{file}, row {number}", file=path, number=number)
            found = say("{count} cells", count=len(cells))
            raise InvalidInput.because(where, found, say("{count} cells", count=len(header)))
        yield number, [*cells, *lacking]


def _at_most(
    most: int, rows: Iterable[tuple[int, list[str]]], path: str
) -> Iterator[tuple[int, list[str]]]:
    for number, cells in rows:
        if number > most:
            found = say("more than {most:,} readings", most=most)
            allowed = say("fewer readings: those of all tests together are too many")
            raise InvalidInput.because(path, found, allowed)
        yield number, cells


def _readings(rows: Iterable[tuple[int, list[str]]], path: str) -> Readings:
    columns = {name: array("d") for name in WORDS}
    for number, cells in rows:
        for (name, column), text in zip(columns.items(), cells, strict=True):
            column.append(_value(name, text, path, number))
    if all(map(math.isnan, columns[COUNTED])):
        del columns[COUNTED]
    return Readings(**columns)


def _value(name: str, text: str, path: str, number: int) -> float:
    if not text and name not in NEEDED:
        return math.nan
    value = parse_number(text)
    if value is None or not _FINITE.holds(value):
        where = say("{file}, row {number}, {column}", file=path, number=number, column=name)
        raise InvalidInput.because(where, text, _FINITE.allowed)
    return value
