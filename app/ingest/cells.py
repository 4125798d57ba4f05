"""From cells to the readings of one test."""

from array import array
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import numpy as np

from app.domain.column import DATED_NUMBERS, ColumnUse, DayOrder
from app.domain.errors import Refused
from app.domain.quantity import READING_ELAPSED, parse_number
from app.domain.readings import Readings
from app.domain.saying import say
from app.domain.time_units import SECONDS_PER_HOUR
from app.domain.unit import THOUSANDS, Kind, split_unit
from app.ingest.arrays import Floats
from app.ingest.assumptions import (
    cell_said,
    clock_change_said,
    role_said,
    row_said,
    uses_said,
)
from app.ingest.clock import guess_day_order, mend_clock_change, read_clock, time_of_day
from app.ingest.columns import CONVERT
from app.ingest.ranges import RANGES
from app.ingest.table import Row, Table, TypedTable
from app.ingest.usable import NOTHING, usable

# What a unit inside a cell tells about its column.
_ROLES = {
    Kind.CHARGE: "count",
    Kind.CURRENT: "current",
    Kind.VOLTAGE: "voltage",
    Kind.POWER: "power",
    Kind.TEMPERATURE: "temperature",
    Kind.SHARE: "gauge",
    Kind.TIME: "time",
}
# Day 0 of the numbers by which spreadsheets keep dates (common practice; right from 1 March 1900).
_SERIAL_ZERO = datetime(1899, 12, 30)
_NEEDED = ("time", "current", "power", "count")


@dataclass(frozen=True)
class Imported:
    """Readings with everything that was assumed to get them.

    started_at is what the file itself says, aware or naive as written there; None where it has no
    date. first_clock_s is the time of day of the first reading where times have no date. channels
    are those found where a column tells several apart.
    """

    readings: Readings
    assumptions: tuple[str, ...]
    started_at: datetime | None
    first_clock_s: float | None
    channels: tuple[str, ...] = ()


def read_cells(
    table: Table | TypedTable,
    uses: tuple[ColumnUse, ...],
    said: list[str],
    place: str = "line",
    channel: str | None = None,
    day_order: DayOrder | None = None,
) -> Imported:
    """Turn cells into readings; place is what a row is called in a refusal."""
    at = needed_positions(table.header, uses)
    rows, lines = usable(table, at, said)
    channels = tuple(dict.fromkeys(row[at["channel"]] for row in rows)) if "channel" in at else ()
    if len(channels) > 1:
        chosen = channel if channel in channels else channels[0]
        kept = [i for i, row in enumerate(rows) if row[at["channel"]] == chosen]
        rows, lines = [rows[i] for i in kept], [lines[i] for i in kept]
    if len(rows) < 2:
        allowed = say("at least two rows of readings")
        raise Refused.because(say("readings"), len(rows), allowed, "readings")
    columns = {
        role: _numbers(rows, lines, index, uses[index], role, place)
        for role, index in at.items()
        if role not in ("date", "channel") and uses[index] is not ColumnUse.CLOCK
    }
    started_at, first_clock = None, None
    if uses[at["time"]] is ColumnUse.CLOCK:
        cells = _clock_cells(rows, at)
        day_order = day_order or guess_day_order(cells)
        said += (
            [] if day_order is None else [say("Dates were read {order}.", order=day_order.words)]
        )
        listed, started_at = read_clock(cells, lines, place, day_order)
        times, changed, way = mend_clock_change(np.array(listed), started_at)
        if changed is not None:
            said.append(clock_change_said(row_said(place, lines[changed]), way))
        first_clock = time_of_day(cells[0])
    else:
        times, started_at = since_first(columns["time"], uses[at["time"]])
    _check_order(times, rows, lines, at["time"], place)
    columns["time"] = times
    said += uses_said(table.header, uses, at)
    return Imported(readings_of(columns), tuple(said), started_at, first_clock, channels)


def readings_of(columns: dict[str, Floats]) -> Readings:
    """Columns by role as readings; one that is not there is empty.

    A current that was not logged comes from power and voltage, or from the growth of a count.
    """
    if "current" not in columns:
        columns["current"] = _derived_current(columns)
    nothing = np.full(len(columns["time"]), np.nan)
    made = []
    for role in ("time", "current", "voltage", "temperature", "gauge"):
        packed = array("d")
        column = np.ascontiguousarray(columns.pop(role, nothing), dtype=np.float64)
        packed.frombytes(column.view(np.uint8).data)
        made.append(packed)
    return Readings(*made)


def _derived_current(columns: dict[str, Floats]) -> Floats:
    if "power" in columns:
        volts = np.where(columns["voltage"] > 0, columns["voltage"], np.nan)
        current: Floats = columns["power"] / volts
        if np.isfinite(current).all():
            return current
        row = int(np.flatnonzero(~np.isfinite(current))[0]) + 1
        raise Refused.because(
            say("voltage in reading {number}", number=row),
            "",
            say("a voltage above 0 V, to make a current of the power"),
        )
    growth: Floats = np.gradient(columns["count"], columns["time"] / SECONDS_PER_HOUR)
    return growth


def needed_positions(header: Sequence[str], uses: tuple[ColumnUse, ...]) -> dict[str, int]:
    """Where each role stands. Raises Refused where the time or the current is missing."""
    at = _positions(uses)
    found = ", ".join(name or "?" for name in header)
    if "time" not in at:
        raise Refused.because(say("columns"), found, say("one column with the time"), "file")
    if "current" not in at and "count" not in at and not {"power", "voltage"} <= set(at):
        allowed = say("one column with the current (or power and voltage, or amp-hours counted)")
        raise Refused.because(say("columns"), found, allowed, "file")
    return at


def _positions(uses: tuple[ColumnUse, ...]) -> dict[str, int]:
    at: dict[str, int] = {}
    for index, use in enumerate(uses):
        if use is ColumnUse.IGNORE:
            continue
        if use.role in at:
            allowed = say("one column with the {column}", column=role_said(use.role))
            raise Refused.because(say("columns"), use.label, allowed, "file")
        at[use.role] = index
    return at


def _clock_cells(rows: Sequence[Row], at: dict[str, int]) -> list[str]:
    """The times, with the date of a column beside them put in front."""
    time, date = at["time"], at.get("date")
    if date is None:
        return [row[time] for row in rows]
    return [f"{row[date]} {row[time]}".strip() for row in rows]


def _numbers(
    rows: Sequence[Row],
    lines: Sequence[int],
    index: int,
    use: ColumnUse,
    role: str,
    place: str,
) -> Floats:
    """One column as numbers; nan where a voltage, temperature or percentage was not read."""
    allowed = RANGES[role]
    dated = use in DATED_NUMBERS
    made = np.full(len(rows), np.nan)
    for i, (row, line) in enumerate(zip(rows, lines, strict=True)):
        cell = row[index]
        if role not in _NEEDED and cell.casefold() in NOTHING:
            continue
        if either := two_readings(cell, use):
            raise Refused.because(cell_said(place, line, role), cell, either, "readings")
        value = value_of(cell, use)
        if value is None or not (dated or allowed.holds(value)):
            where = cell_said(place, line, role)
            raise Refused.because(where, cell, allowed.expected(cell), "readings")
        made[i] = value
    return made


def two_readings(cell: str, use: ColumnUse) -> str:
    """What a current in mA could be, whose comma could stand for thousands; else empty."""
    digits, unit = split_unit(cell)
    milliamps = use is ColumnUse.CURRENT_MA if unit is None else unit.symbol == "mA"
    if not (milliamps and THOUSANDS.fullmatch(digits)):
        return ""
    return say(
        "{whole} or {point}: the comma may mean both",
        whole=digits.replace(",", ""),
        point=digits.replace(",", "."),
    )


def value_of(cell: str, use: ColumnUse) -> float | None:
    """A cell in the unit of the readings; its own unit, if it has one, must be of the same kind."""
    digits, unit = split_unit(cell)
    millivolts = use is ColumnUse.VOLTAGE_MV if unit is None else unit.symbol == "mV"
    if millivolts and THOUSANDS.fullmatch(digits):
        # A comma before three digits: no battery has 12.8 mV.
        digits = digits.replace(",", "")
    value = parse_number(digits)
    if value is not None and unit is not None:
        # The unit in the cell counts before the one in the heading.
        return float(unit.to_base(value)) if _ROLES.get(unit.kind) == use.role else None
    convert = CONVERT.get(use)
    return value if value is None or convert is None else float(convert(value))


def since_first(values: Floats, use: ColumnUse) -> tuple[Floats, datetime | None]:
    """Seconds since the first time, and that first where it is a moment of the calendar."""
    since: Floats = values - values[0]
    first = float(values[0])
    try:
        if use is ColumnUse.SERIAL_DAYS:
            # A spreadsheet knows no time zone: the moment is naive.
            since = np.round(since, 3)
            return since, _SERIAL_ZERO + timedelta(seconds=round(first, 3))
        if use in DATED_NUMBERS:
            return since, datetime.fromtimestamp(first, UTC)
    except (OverflowError, ValueError, OSError):
        shown = first / CONVERT[use](1.0) if use in CONVERT else first
        raise Refused.because(say("time"), f"{shown:.10g}", use.label, "file") from None
    return since, None


def _check_order(
    times: Floats, rows: Sequence[Row], lines: Sequence[int], index: int, place: str
) -> None:
    back = np.flatnonzero(np.diff(times) <= 0)
    if back.size:
        i = int(back[0]) + 1
        before = rows[i - 1][index]
        typed = place == "row"
        raise Refused.because(
            cell_said(place, lines[i], "time"),
            rows[i][index],
            say("a time after {before} of the row before", before=before)
            if typed
            else say("a time after {before} of the line before", before=before),
            f"time_{lines[i] - 1}" if typed else "readings",
        )
    if not READING_ELAPSED.holds(float(times[-1])):
        where = cell_said(place, lines[-1], "time")
        raise Refused.because(where, rows[-1][index], READING_ELAPSED.allowed, "readings")
