"""The readings of one capacity test as a CSV file that anybody can read and draw."""

import math
from array import array
from collections.abc import Iterator
from typing import IO

from app.archive.cells import number_cell, parse_number
from app.archive.table_file import csv_bytes, csv_rows
from app.domain.errors import Refused
from app.domain.quantity import Quantity
from app.domain.readings import COLUMNS, COUNTED, Readings
from app.domain.saying import say

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
# Far beyond any reading; it keeps sums of them finite.
_FINITE = Quantity("reading", "", -1e9, 1e9)


def readings_bytes(readings: Readings) -> Iterator[bytes]:
    """The whole file, a piece at a time. An empty cell: nothing was read."""
    columns = [getattr(readings, name) for name in COLUMNS]
    counted = readings.counted_ah
    columns.append(counted if counted is not None else array("d", [math.nan]) * len(readings))
    yield from csv_bytes([list(WORDS)])
    yield from csv_bytes(
        ["" if math.isnan(value) else number_cell(value) for value in row]
        for row in zip(*columns, strict=True)
    )


def read_readings(file: IO[bytes], path: str) -> Readings:
    """The readings in a file. Raises Refused naming the row and the column."""
    rows = csv_rows(file, path)
    header = next(rows, [])
    # Records from before counters were kept lack the last column.
    names = tuple(WORDS) if header[-1:] == [COUNTED] else COLUMNS
    if header != list(names):
        raise Refused.because(
            say("{file}, columns", file=path), ", ".join(header), ", ".join(WORDS)
        )
    columns = [array("d") for _ in names]
    for number, cells in enumerate(rows, start=1):
        if len(cells) != len(names):
            where = say("{file}, row {number}", file=path, number=number)
            found = say("{count} cells", count=len(cells))
            raise Refused.because(where, found, say("{count} cells", count=len(names)))
        for column, name, text in zip(columns, names, cells, strict=True):
            column.append(_value(name, text, path, number))
    made = dict(zip(names, columns, strict=True))
    if all(map(math.isnan, made.get(COUNTED, ()))):
        made.pop(COUNTED, None)
    return Readings(**made)


def _value(name: str, text: str, path: str, number: int) -> float:
    if not text and name not in NEEDED:
        return math.nan
    value = parse_number(text)
    if value is None or not _FINITE.holds(value):
        where = say("{file}, row {number}, {column}", file=path, number=number, column=name)
        raise Refused.because(where, text, _FINITE.allowed)
    return value
