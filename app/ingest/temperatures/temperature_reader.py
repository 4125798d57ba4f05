"""A logger's file of temperatures: times and °C or °F as they stand there."""

import re
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from app.domain.errors import FieldError, InvalidInput, truncate
from app.domain.i18n.message import joined, say, transformed
from app.domain.quantity import parse_number
from app.domain.temperature_file import TemperatureColumns, TemperatureUnit
from app.domain.units.column import DATED_NUMBERS, ColumnUse, CsvDialect, DayOrder
from app.ingest.dialect import CellTable
from app.ingest.fast_reader import read_bulk
from app.ingest.headings import use_of_heading
from app.ingest.notes import cell_said
from app.ingest.numbers import CONVERT, Floats, value_of
from app.ingest.opened_file import TEMPERATURES, open_file, undecided_part
from app.ingest.row_filter import footer_rows
from app.ingest.time_parsing import guess_day_order, read_clock, since_first
from app.ingest.wording.cells import is_missing
from app.ingest.wording.no_table import NoTable, no_temperatures

_CELSIUS = re.compile(r"°\s*c|deg(rees)?[\s_]*c|celsi|(?<![^\W_])c(?![^\W_])")


@dataclass(frozen=True)
class LoggedTemperatures:
    """What a file says: when it begins, and seconds since then (n,) with temperatures (n,) in °C.

    The times need not rise. begin is naive: by the clock of the place. unit is None where the file
    does not tell and nobody answered; the temperatures then stand as they are.
    """

    begin: datetime
    since_s: Floats
    celsius: Floats
    unit: TemperatureUnit | None
    said: tuple[str, ...]


@dataclass(frozen=True)
class OpenedTemperatures:
    """The file's columns, and which of them could be the temperature."""

    table: CellTable
    header: tuple[str, ...]
    sample: tuple[tuple[str, ...], ...]
    could_be: tuple[int, ...]
    said: tuple[str, ...]
    uses: tuple[ColumnUse, ...]
    parts: tuple[str, ...] = ()
    problems: tuple[FieldError, ...] = ()


def open_temperatures(
    data: bytes, day_order: DayOrder | None = None, sheet: str | None = None
) -> OpenedTemperatures:
    """Find the cells and the columns. Raises InvalidInput where there are no dated times.

    Of several sheets one is opened: the one that is named, or the first with temperatures; which
    is meant is then among the problems.
    """
    try:
        opened = open_file(data, CsvDialect(day_order=day_order), sheet, TEMPERATURES)
    except NoTable as refused:
        raise no_temperatures(refused.begins_with) from None
    table = opened.table
    roles = [use.role for use in opened.uses]
    if "time" not in roles:
        raise InvalidInput.because(
            say("columns"),
            truncate(", ".join(name or "?" for name in table.header)),
            say("a column of dates with their times"),
            "file",
        )
    others = tuple(i for i, role in enumerate(roles) if role not in ("time", "date"))
    # Times that are called temperatures are times.
    named = tuple(i for i in others if use_of_heading(table.header[i]).role == "temperature")
    numbers = tuple(i for i in others if parse_number(table.head[0][i]) is not None)
    # What the text is; the sentences behind it are about columns of a test.
    said = opened.said[:1]
    return OpenedTemperatures(
        table,
        table.header,
        opened.sample,
        named or numbers,
        said,
        opened.uses,
        opened.parts,
        undecided_part(opened, sheet),
    )


def column_question(
    opened: OpenedTemperatures, columns: TemperatureColumns
) -> tuple[FieldError, ...]:
    """Which of several columns is meant, until it is answered."""
    if columns.column in opened.could_be or len(opened.could_be) == 1:
        return ()
    names = joined(
        ", ",
        (opened.header[i] or say("column {number}", number=i + 1) for i in opened.could_be),
    )
    allowed = (
        say("one of: {choices}", choices=transformed(names, truncate))
        if names
        else say("a column of temperatures")
    )
    return (FieldError(say("column of the temperature"), "", allowed, "column"),)


def read_temperatures(
    opened: OpenedTemperatures, columns: TemperatureColumns
) -> LoggedTemperatures:
    """Read the file.

    Raises InvalidInput naming the line for a cell that is none, or without dates.
    """
    index = columns.column if columns.column in opened.could_be else opened.could_be[0]
    uses = tuple(
        ColumnUse.TEMPERATURE_C
        if i == index
        else use
        if use.role in ("time", "date")
        else ColumnUse.IGNORE
        for i, use in enumerate(opened.uses)
    )
    # A unit behind the number is in it already, once the cell was read.
    in_cells = parse_number(opened.table.head[0][index]) is None
    bulk = read_bulk(opened.table, uses, None, columns.day_order, one_discharge=False)
    if bulk is None:
        begin, since, values, order = _cell_by_cell(opened.table, uses, index, columns.day_order)
    elif bulk.moments is None:
        time = next(use for use in uses if use.role == "time")
        since, begin = since_first(bulk.columns["time"], time)
        values, order = bulk.columns["temperature"], None
    else:
        begin, since = bulk.moments.begin, bulk.columns["time"]
        values, order = bulk.columns["temperature"], bulk.moments.day_order
    if begin is None:
        first = opened.table.head[0][_at(uses, "time")]
        raise InvalidInput.because(say("time"), first, say("dates with the times"), "file")
    said = list(opened.said)
    said += [] if order is None else [say("Dates were read {order}.", order=order.words)]
    local, zone = _by_the_clock(begin)
    said += [zone] if zone else []
    unit = columns.unit or _unit_written(opened, index)
    if in_cells:
        unit = TemperatureUnit.CELSIUS
    elif unit is TemperatureUnit.FAHRENHEIT:
        values = np.asarray(CONVERT[ColumnUse.TEMPERATURE_F](values))
    known = np.isfinite(values)
    if not known.any():
        allowed = say("a column of temperatures")
        raise InvalidInput.because(say("temperatures"), say("no number"), allowed, "column")
    return LoggedTemperatures(local, since[known], values[known], unit, tuple(said))


def _at(uses: tuple[ColumnUse, ...], role: str) -> int:
    return next(i for i, use in enumerate(uses) if use.role == role)


def _unit_written(opened: OpenedTemperatures, index: int) -> TemperatureUnit | None:
    """The unit in the heading."""
    heading = opened.header[index].casefold()
    if use_of_heading(heading) is ColumnUse.TEMPERATURE_F:
        return TemperatureUnit.FAHRENHEIT
    return TemperatureUnit.CELSIUS if _CELSIUS.search(heading) else None


def _by_the_clock(begin: datetime) -> tuple[datetime, str]:
    """A moment with a zone, by the clock of this machine, with a sentence on it."""
    if begin.tzinfo is None:
        return begin, ""
    local = begin.astimezone()
    words = say(
        "The times carry a time zone; Fadeline converted them to this machine's clock "
        "({start:%z} at the start), all by the same number of hours.",
        start=local,
    )
    return local.replace(tzinfo=None), words


def _cell_by_cell(
    table: CellTable, uses: tuple[ColumnUse, ...], index: int, day_order: DayOrder | None
) -> tuple[datetime | None, Floats, Floats, DayOrder | None]:
    """The careful way: any way of writing, and which line is wrong."""
    time = _at(uses, "time")
    filled = [
        (line, row)
        for line, row in table.rows()
        if not is_missing(row[time]) and not is_missing(row[index])
    ]
    rows = [row for _, row in filled]
    rows = rows[: len(rows) - footer_rows(rows, time, table.decimal)]
    lines = [line for line, _ in filled][: len(rows)]
    if len(rows) < 2:
        raise InvalidInput.because(say("temperatures"), len(rows), say("at least two rows"), "file")
    values = np.array([_celsius(row[index], line) for row, line in zip(rows, lines, strict=True)])
    if uses[time] in DATED_NUMBERS:
        pairs = zip(rows, lines, strict=True)
        numbers = np.array([_number(row[time], line, uses[time]) for row, line in pairs])
        since, begin = since_first(numbers, uses[time])
        return begin, since, values, None
    cells = [row[time] for row in rows]
    if any(use is ColumnUse.DATE for use in uses):
        date = _at(uses, "date")
        cells = [f"{row[date]} {row[time]}".strip() for row in rows]
    order = day_order or guess_day_order(cells)
    listed, begin = read_clock(cells, lines, "line", order)
    return begin, np.array(listed), values, order


def _celsius(cell: str, line: int) -> float:
    value = value_of(cell, ColumnUse.TEMPERATURE_C)
    if value is None:
        where = cell_said("line", line, "temperature")
        raise InvalidInput.because(where, cell, say("a temperature"), "file")
    return value


def _number(cell: str, line: int, use: ColumnUse) -> float:
    value = parse_number(cell)
    if value is None:
        raise InvalidInput.because(cell_said("line", line, "time"), cell, use.label, "file")
    convert = CONVERT.get(use)
    return value if convert is None else float(convert(value))
