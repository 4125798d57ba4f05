"""From cells to the readings of one test."""

from array import array
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import numpy as np

from app.domain.errors import InvalidInput
from app.domain.i18n.message import say
from app.domain.quantity import READING_ELAPSED
from app.domain.readings import Readings
from app.domain.units.column import DATED_NUMBERS, ColumnUse, DayOrder
from app.ingest.arrays import Floats
from app.ingest.derived import carrier, power_beside, readings_of
from app.ingest.dialect import CellTable, Row, TypedTable
from app.ingest.discharge_selection import ListedDischarge
from app.ingest.notes import cell_said, clock_change_said, role_said, row_said, uses_said
from app.ingest.numbers import CONVERT, two_readings, value_of
from app.ingest.ranges import RANGES
from app.ingest.row_filter import NOTHING, usable
from app.ingest.time_parsing import guess_day_order, mend_clock_change, read_clock, time_of_day

# What is looked at beside a current; a cell of it that is none stops nothing.
WITNESSES = ("power", "count", "energy")
# Day 0 of the numbers by which spreadsheets keep dates (common practice; right from 1 March 1900).
_SERIAL_ZERO = datetime(1899, 12, 30)


@dataclass(frozen=True)
class Imported:
    """Readings with everything that was assumed to get them.

    started_at is what the file itself says, aware or naive as written there; None where it has no
    date. first_clock_s is the time of day of the first reading where times have no date. channels
    are those found where a column tells several apart. power_w is the power of each reading where
    it was logged beside the current. discharges are those among which the owner has to choose.
    """

    readings: Readings
    assumptions: tuple[str, ...]
    started_at: datetime | None
    first_clock_s: float | None
    channels: tuple[str, ...] = ()
    power_w: "array[float] | None" = None
    discharges: tuple[ListedDischarge, ...] = ()


def read_cells(
    table: CellTable | TypedTable,
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
        raise InvalidInput.because(say("readings"), len(rows), allowed, "readings")
    carried = carrier(at)
    columns = {
        role: _numbers(
            rows, lines, index, uses[index], place, table.sure_mark, role in ("time", carried)
        )
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
    power = power_beside(columns)
    return Imported(readings_of(columns), tuple(said), started_at, first_clock, channels, power)


def needed_positions(header: Sequence[str], uses: tuple[ColumnUse, ...]) -> dict[str, int]:
    """Where each role stands. Raises InvalidInput where the time or the current is missing."""
    at = _positions(uses)
    found = ", ".join(name or "?" for name in header)
    if "time" not in at:
        raise InvalidInput.because(say("columns"), found, say("one column with the time"), "file")
    if not carrier(at):
        allowed = say("one column with the current (or power and voltage, or amp-hours counted)")
        raise InvalidInput.because(say("columns"), found, allowed, "file")
    return at


def _positions(uses: tuple[ColumnUse, ...]) -> dict[str, int]:
    at: dict[str, int] = {}
    for index, use in enumerate(uses):
        if use is ColumnUse.IGNORE:
            continue
        if use.role in at:
            allowed = say("one column with the {column}", column=role_said(use.role))
            raise InvalidInput.because(say("columns"), use.label, allowed, "file")
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
    place: str,
    mark: str,
    needed: bool,
) -> Floats:
    """One column as numbers; nan where one that is not needed was not read."""
    role = use.role
    allowed = RANGES[role]
    dated = use in DATED_NUMBERS
    made = np.full(len(rows), np.nan)
    for i, (row, line) in enumerate(zip(rows, lines, strict=True)):
        cell = row[index]
        if not needed and cell.casefold() in NOTHING:
            continue
        if either := two_readings(cell, use, mark):
            raise InvalidInput.because(cell_said(place, line, role), cell, either, "readings")
        value = value_of(cell, use, mark)
        if value is not None and (dated or allowed.holds(value)):
            made[i] = value
        elif needed or role not in WITNESSES:
            where = cell_said(place, line, role)
            raise InvalidInput.because(where, cell, allowed.expected(cell), "readings")
    return made


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
        raise InvalidInput.because(say("time"), f"{shown:.10g}", use.label, "file") from None
    return since, None


def _check_order(
    times: Floats, rows: Sequence[Row], lines: Sequence[int], index: int, place: str
) -> None:
    back = np.flatnonzero(np.diff(times) <= 0)
    if back.size:
        i = int(back[0]) + 1
        before = rows[i - 1][index]
        typed = place == "row"
        raise InvalidInput.because(
            cell_said(place, lines[i], "time"),
            rows[i][index],
            say("a time after {before} of the row before", before=before)
            if typed
            else say("a time after {before} of the line before", before=before),
            f"time_{lines[i] - 1}" if typed else "readings",
        )
    if not READING_ELAPSED.holds(float(times[-1])):
        where = cell_said(place, lines[-1], "time")
        raise InvalidInput.because(where, rows[-1][index], READING_ELAPSED.allowed, "readings")
