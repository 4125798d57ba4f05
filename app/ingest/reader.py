"""From a file, a pasted table or typed rows to the readings of one test."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

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
from app.ingest.clock import read_clock
from app.ingest.columns import CONVERT, ColumnUse, guess_uses
from app.ingest.table import Table, read_table
from app.ingest.text import decode

_RANGES: dict[str, Quantity] = {
    "time": READING_ELAPSED,
    "current": READING_CURRENT,
    "voltage": READING_VOLTAGE,
    "temperature": READING_TEMPERATURE,
    "gauge": READING_GAUGE,
}
_UNITS = ("A", "mA", "V", "mV", "°C", "°F", "C", "F", "%", "s", "min", "h")
_NOTHING = {"", "-", "--", "---", "----", "n/a", "na", "ol"}
_DELIMITER_NAMES = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "bars", " ": "spaces"}
TYPED_USES = (
    ColumnUse.CLOCK,
    ColumnUse.CURRENT_A,
    ColumnUse.VOLTAGE_V,
    ColumnUse.TEMPERATURE_C,
    ColumnUse.GAUGE_PERCENT,
)


@dataclass(frozen=True)
class Imported:
    """Readings with everything that was assumed to get them.

    started_at is what the file itself says, aware or naive as written there; None where it has no
    date. sample holds the first rows as they stand in the file.
    """

    readings: Readings
    header: tuple[str, ...]
    uses: tuple[ColumnUse, ...]
    sample: tuple[tuple[str, ...], ...]
    assumptions: tuple[str, ...]
    started_at: datetime | None


def read_file(data: bytes, uses: Sequence[ColumnUse] | None = None) -> Imported:
    """Read a file or a pasted table. uses overrules what the columns are taken for.

    Raises Refused with line, column, value and allowed range.
    """
    text, encoding = decode(data)
    table = read_table(text)
    guessed = guess_uses(table) if uses is None else tuple(uses)[: table.width]
    guessed += (ColumnUse.IGNORE,) * (table.width - len(guessed))
    said = [
        f"Text in {encoding.upper()}, cells between {_DELIMITER_NAMES[table.delimiter]}, "
        f"decimal {'comma' if table.decimal == ',' else 'point'}."
    ]
    if uses is None and not any(table.header):
        said.append("No headings: columns were taken in the order time, A, V, °C, gauge %.")
    return _read(table, guessed, said)


def read_typed(rows: Sequence[Sequence[str]]) -> Imported:
    """Read typed rows of time, A, V, °C, gauge %; empty rows are passed over.

    Times are clock times or spans such as 14:30 or 2:30. Raises Refused naming the row.
    """
    filled = [(n, tuple(c.strip() for c in row)) for n, row in enumerate(rows, start=1)]
    filled = [(n, row) for n, row in filled if any(row)]
    if not filled:
        raise Refused.because("readings", "", "at least two rows with time and current", "readings")
    for n, row in filled:
        for cell, what in ((row[0], "time"), (row[1], "current")):
            if not cell:
                allowed = "a time such as 14:30" if what == "time" else READING_CURRENT.allowed
                raise Refused.because(f"row {n}, {what}", "", allowed, "readings")
    header = ("time", "A", "V", "°C", "gauge %")
    made = Table("", "", header, tuple(r for _, r in filled), tuple(n for n, _ in filled))
    return _read(made, TYPED_USES, [], place="row")


def _read(
    table: Table, uses: tuple[ColumnUse, ...], said: list[str], place: str = "line"
) -> Imported:
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
        if uses[index] is not ColumnUse.CLOCK
    }
    started_at: datetime | None = None
    if uses[at["time"]] is ColumnUse.CLOCK:
        times, started_at = read_clock([row[at["time"]] for row in rows], lines)
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
    return Imported(readings, table.header, uses, tuple(rows[:5]), tuple(said), started_at)


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
    for row, line in zip(table.rows, table.lines, strict=True):
        blank = row[at["current"]].casefold() in _NOTHING or row[at["time"]].casefold() in _NOTHING
        if blank:
            left_out.append(line)
        else:
            rows.append(row)
            lines.append(line)
    if left_out:
        which = ", ".join(map(str, left_out[:5])) + (" …" if len(left_out) > 5 else "")
        said.append(f"{len(left_out)} rows without time or current were left out (line {which}).")
    return rows, lines


def _numbers(
    rows: Sequence[tuple[str, ...]],
    lines: Sequence[int],
    index: int,
    use: ColumnUse,
    role: str,
    place: str,
) -> list[float | None]:
    convert, allowed = CONVERT.get(use), _RANGES[role]
    epoch = use in (ColumnUse.EPOCH_S, ColumnUse.EPOCH_MS)
    made: list[float | None] = []
    for row, line in zip(rows, lines, strict=True):
        cell = row[index]
        if role not in ("time", "current") and cell.casefold() in _NOTHING:
            made.append(None)
            continue
        value = _number(cell)
        if value is not None and convert is not None:
            value = convert(value)
        if value is None or not (epoch or allowed.holds(value)):
            raise Refused.because(f"{place} {line}, {role}", cell, allowed.allowed, "readings")
        made.append(value)
    return made


def _number(cell: str) -> float | None:
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
                "readings",
            )
        if not READING_ELAPSED.holds(times[i]):
            raise Refused.because(
                f"{place} {lines[i]}, time", rows[i][index], READING_ELAPSED.allowed, "readings"
            )
