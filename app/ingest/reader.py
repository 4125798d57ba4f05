"""From a file or a pasted table to the readings of one test."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from app.domain.column import ColumnUse
from app.domain.errors import Refused
from app.domain.quantity import (
    READING_CURRENT,
    READING_ELAPSED,
    READING_GAUGE,
    READING_TEMPERATURE,
    READING_VOLTAGE,
    Quantity,
    parse_number,
)
from app.domain.readings import Readings
from app.ingest.clock import read_clock, time_of_day
from app.ingest.columns import CONVERT, guess_uses
from app.ingest.table import Table, is_value, read_table
from app.ingest.text import decode

RANGES: dict[str, Quantity] = {
    "time": READING_ELAPSED,
    "current": READING_CURRENT,
    "voltage": READING_VOLTAGE,
    "temperature": READING_TEMPERATURE,
    "gauge": READING_GAUGE,
}
SAMPLE_ROWS = 5
_UNITS = ("A", "mA", "V", "mV", "°C", "°F", "C", "F", "%", "s", "min", "h")
_NOTHING = {"", "-", "--", "---", "----", "n/a", "na", "ol"}
_DELIMITER_NAMES = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "bars", " ": "spaces"}


@dataclass(frozen=True)
class Opened:
    """A file whose cells are known, with a guess of what its columns are."""

    table: Table
    uses: tuple[ColumnUse, ...]
    said: tuple[str, ...]

    @property
    def sample(self) -> tuple[tuple[str, ...], ...]:
        return self.table.rows[:SAMPLE_ROWS]


@dataclass(frozen=True)
class Imported:
    """Readings with everything that was assumed to get them.

    started_at is what the file itself says, aware or naive as written there; None where it has no
    date. first_clock_s is the time of day of the first reading where times have no date.
    """

    readings: Readings
    assumptions: tuple[str, ...]
    started_at: datetime | None
    first_clock_s: float | None


def open_file(data: bytes) -> Opened:
    """Find the cells of a file. Raises Refused where it holds no readings."""
    text, encoding = decode(data)
    table = read_table(text)
    said = [
        f"Text in {encoding.upper()}, cells between {_DELIMITER_NAMES[table.delimiter]}, "
        f"decimal {'comma' if table.decimal == ',' else 'point'}."
    ]
    if not any(table.header):
        said.append("No headings: columns were taken in the order time, A, V, °C, gauge %.")
    return Opened(table, guess_uses(table), tuple(said))


def read_opened(opened: Opened, uses: Sequence[ColumnUse] | None = None) -> Imported:
    """Read an opened file; uses overrules what the columns are taken for.

    Raises Refused with line, column, value and allowed range.
    """
    width = opened.table.width
    taken = opened.uses if uses is None else tuple(uses)[:width]
    taken += (ColumnUse.IGNORE,) * (width - len(taken))
    return read_cells(opened.table, taken, list(opened.said))


def read_file(data: bytes, uses: Sequence[ColumnUse] | None = None) -> Imported:
    """Open and read a file in one go. Raises Refused."""
    return read_opened(open_file(data), uses)


def read_cells(
    table: Table, uses: tuple[ColumnUse, ...], said: list[str], place: str = "line"
) -> Imported:
    """Turn cells into readings; place is what a row is called in a refusal."""
    at = _positions(uses)
    for role in ("time", "current"):
        if role not in at:
            found = ", ".join(name or "?" for name in table.header)
            raise Refused.because("columns", found, f"one column with the {role}", "file")
    rows, lines = _usable(table, at, said)
    if len(rows) < 2:
        raise Refused.because("readings", len(rows), "at least two rows of readings", "readings")
    columns = {
        role: _numbers(rows, lines, index, uses[index], role, place)
        for role, index in at.items()
        if role != "date" and uses[index] is not ColumnUse.CLOCK
    }
    started_at, first_clock = None, None
    if uses[at["time"]] is ColumnUse.CLOCK:
        cells = _clock_cells(rows, at)
        times, started_at = read_clock(cells, lines, place)
        first_clock = time_of_day(cells[0])
    else:
        times, started_at = _since_first(columns["time"], uses[at["time"]])
    _check_order(times, rows, lines, at["time"], place)
    for index in at.values():
        name = table.header[index] or f"column {index + 1}"
        said.append(f"“{name}” is {uses[index].label}.")
    readings = Readings.of(
        times,
        [value for value in columns["current"] if value is not None],
        columns.get("voltage"),
        columns.get("temperature"),
        columns.get("gauge"),
    )
    return Imported(readings, tuple(said), started_at, first_clock)


def _positions(uses: tuple[ColumnUse, ...]) -> dict[str, int]:
    at: dict[str, int] = {}
    for index, use in enumerate(uses):
        if use is ColumnUse.IGNORE:
            continue
        if use.role in at:
            raise Refused.because("columns", use.label, f"one column with the {use.role}", "file")
        at[use.role] = index
    return at


def _usable(
    table: Table, at: dict[str, int], said: list[str]
) -> tuple[list[tuple[str, ...]], list[int]]:
    """Rows that carry a time and a current; what is left out is said."""
    rows, lines, left_out = [], [], []
    time, current = at["time"], at["current"]
    end = _without_footer(table, time)
    for row, line in zip(table.rows[:end], table.lines[:end], strict=True):
        if row[current].casefold() in _NOTHING or row[time].casefold() in _NOTHING:
            left_out.append(line)
        else:
            rows.append(row)
            lines.append(line)
    if left_out:
        which = ", ".join(map(str, left_out[:5])) + (" …" if len(left_out) > 5 else "")
        said.append(f"{len(left_out)} rows without time or current were left out (line {which}).")
    if end < len(table.rows):
        said.append(f"{len(table.rows) - end} lines of words at the end were left out.")
    return rows, lines


def _without_footer(table: Table, time: int) -> int:
    """How many rows there are before a footer of words (totals and the like)."""
    end = len(table.rows)
    mark = table.decimal or "."
    while end > 0 and table.rows[end - 1][time] and not is_value(table.rows[end - 1][time], mark):
        end -= 1
    # Words all the way up are no footer: the column is refused by its first row.
    return end or len(table.rows)


def _clock_cells(rows: Sequence[tuple[str, ...]], at: dict[str, int]) -> list[str]:
    """The times, with the date of a column beside them put in front."""
    time, date = at["time"], at.get("date")
    if date is None:
        return [row[time] for row in rows]
    return [f"{row[date]} {row[time]}".strip() for row in rows]


def _numbers(
    rows: Sequence[tuple[str, ...]],
    lines: Sequence[int],
    index: int,
    use: ColumnUse,
    role: str,
    place: str,
) -> list[float | None]:
    convert, allowed = CONVERT.get(use), RANGES[role]
    epoch = use in (ColumnUse.EPOCH_S, ColumnUse.EPOCH_MS)
    made: list[float | None] = []
    for row, line in zip(rows, lines, strict=True):
        cell = row[index]
        if role not in ("time", "current") and cell.casefold() in _NOTHING:
            made.append(None)
            continue
        value = number_with_unit(cell)
        if value is not None and convert is not None:
            value = convert(value)
        if value is None or not (epoch or allowed.holds(value)):
            raise Refused.because(f"{place} {line}, {role}", cell, allowed.allowed, "readings")
        made.append(value)
    return made


def number_with_unit(cell: str) -> float | None:
    """A number, perhaps with a unit behind it."""
    value = parse_number(cell)
    if value is not None:
        return value
    return next((v for unit in _UNITS if (v := parse_number(cell, unit)) is not None), None)


def _since_first(
    values: Sequence[float | None], use: ColumnUse
) -> tuple[list[float], datetime | None]:
    known = [value for value in values if value is not None]
    if use not in (ColumnUse.EPOCH_S, ColumnUse.EPOCH_MS):
        return [value - known[0] for value in known], None
    try:
        begin = datetime.fromtimestamp(known[0], UTC)
    except (OverflowError, ValueError, OSError):
        raise Refused.because("time", f"{known[0]:g}", "seconds since 1970", "file") from None
    return [value - known[0] for value in known], begin


def _check_order(
    times: Sequence[float],
    rows: Sequence[tuple[str, ...]],
    lines: Sequence[int],
    index: int,
    place: str,
) -> None:
    for i in range(1, len(times)):
        if times[i] <= times[i - 1]:
            raise Refused.because(
                f"{place} {lines[i]}, time",
                rows[i][index],
                f"a time after {rows[i - 1][index]} of the {place} before",
                f"time_{lines[i] - 1}" if place == "row" else "readings",
            )
        if not READING_ELAPSED.holds(times[i]):
            raise Refused.because(
                f"{place} {lines[i]}, time", rows[i][index], READING_ELAPSED.allowed, "readings"
            )
