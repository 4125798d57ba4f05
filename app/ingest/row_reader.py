"""From cells to the readings of one test."""

from array import array
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from app.domain.errors import InvalidInput
from app.domain.i18n.message import say
from app.domain.quantity import READING_ELAPSED
from app.domain.readings import Readings
from app.domain.units.column import ColumnUse, DayOrder
from app.ingest.clock.time_order import spread_moments, two_currents
from app.ingest.derived import carrier, power_beside, readings_of
from app.ingest.dialect import CellTable, Row, TypedTable
from app.ingest.discharge_selection import ListedDischarge
from app.ingest.notes import (
    cell_said,
    role_said,
    row_said,
    shared_said,
    uses_said,
)
from app.ingest.numbers import Floats, two_readings, value_of
from app.ingest.ranges import RANGES
from app.ingest.row_filter import two_rows_said, usable
from app.ingest.time_parsing import RowTimes, TimedRows
from app.ingest.wording.cells import is_missing

# What is looked at beside a current; a cell of it that is none stops nothing.
WITNESSES = ("power", "count", "energy")


@dataclass(frozen=True)
class Imported:
    """Readings with everything that was assumed to get them.

    started_at is what the file itself says, aware or naive as written there; None where it has no
    date. first_clock_s is the time of day of the first reading where times have no date. channels
    are those found where a column tells several apart. power_w is the power of each reading where
    it was logged beside the current. discharges are those among which the owner has to choose.
    ended_after_h is when the load went off, where the file is one of Fadeline's own that says so.
    """

    readings: Readings
    assumptions: tuple[str, ...]
    started_at: datetime | None
    first_clock_s: float | None
    channels: tuple[str, ...] = ()
    power_w: "array[float] | None" = None
    discharges: tuple[ListedDischarge, ...] = ()
    ended_after_h: float | None = None


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
        raise InvalidInput.because(say("readings"), len(rows), two_rows_said(table, at), "readings")
    times = RowTimes(at, uses[at["time"]], place, table.sure_mark, day_order)
    timed = times.in_order(rows, lines)
    said += timed.said
    carried = carrier(at)
    columns = {
        role: _numbers(timed, index, uses[index], place, table.sure_mark, role == carried)
        for role, index in at.items()
        if role not in ("time", "date", "channel")
    }
    if carried in ("current", "power"):
        _refuse_two_loads(timed, columns[carried], at, carried, place)
    columns["time"] = _rising(timed, columns[carried], at["time"], place, said)
    said += uses_said(table.header, uses, at)
    power = power_beside(columns)
    return Imported(
        readings_of(columns), tuple(said), timed.started_at, timed.first_clock_s, channels, power
    )


def needed_positions(header: Sequence[str], uses: tuple[ColumnUse, ...]) -> dict[str, int]:
    """Where each role stands. Raises InvalidInput where the time or the current is missing."""
    at = _positions(uses)
    found = ", ".join(name or "?" for name in header)
    if "time" not in at:
        allowed = say(
            "one column with the time: name it in the heading, or choose what each column holds"
        )
        raise InvalidInput.because(say("columns"), found, allowed, "file")
    if not carrier(at):
        allowed = say(
            "one column with the current (or power and voltage, or amp-hours counted): name it in "
            "the heading, or choose what each column holds"
        )
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


def _numbers(
    timed: TimedRows,
    index: int,
    use: ColumnUse,
    place: str,
    mark: str,
    needed: bool,
) -> Floats:
    """One column as numbers; nan where one that is not needed was not read."""
    role = use.role
    allowed = RANGES[role]
    made = np.full(len(timed.rows), np.nan)
    for i, (row, line) in enumerate(zip(timed.rows, timed.lines, strict=True)):
        cell = row[index]
        if not needed and is_missing(cell):
            continue
        if either := two_readings(cell, use, mark):
            raise InvalidInput.because(cell_said(place, line, role), cell, either, "readings")
        value = value_of(cell, use, mark)
        if value is not None and allowed.holds(value):
            made[i] = value
        elif needed or role not in WITNESSES:
            where = cell_said(place, line, role)
            raise InvalidInput.because(where, cell, allowed.expected(cell), "readings")
    return made


def _refuse_two_loads(
    timed: TimedRows, loads: Floats, at: dict[str, int], role: str, place: str
) -> None:
    """Raise InvalidInput where one moment has two loads: nobody can say which was meant."""
    row = two_currents(timed.times, loads)
    if row is None:
        return
    before, cells = timed.rows[row - 1], timed.rows[row]
    line, load_at, time_at = timed.lines[row], at[role], at["time"]
    allowed = say(
        "one value at one time: {row} says {value} at {time} (take out the one that is wrong, or "
        "give the later one a time of its own)",
        row=row_said(place, timed.lines[row - 1]),
        value=before[load_at],
        time=before[time_at],
    )
    given = say("{value} at {time}", value=cells[load_at], time=cells[time_at])
    field = f"time_{line - 1}" if place == "row" else "readings"
    raise InvalidInput.because(cell_said(place, line, role), given, allowed, field)


def _rising(timed: TimedRows, currents: Floats, index: int, place: str, said: list[str]) -> Floats:
    """Times that rise from row to row; rows of one moment are spread over it, which is said."""
    times = timed.times
    if place != "row" and (spread := spread_moments(times, timed.shown_s, currents)):
        said.append(shared_said(spread.count, timed.lines[spread.first]))
        times = spread.times
    _check_order(times, timed.rows, timed.lines, index, place)
    return times


def _check_order(
    times: Floats, rows: Sequence[Row], lines: Sequence[int], index: int, place: str
) -> None:
    refuse_order(times, lines, lambda row: rows[row][index], place)
    if not READING_ELAPSED.holds(float(times[-1])):
        where = cell_said(place, lines[-1], "time")
        raise InvalidInput.because(where, rows[-1][index], READING_ELAPSED.allowed, "readings")


def refuse_order(
    times: Floats,
    lines: "Sequence[int] | NDArray[np.int64]",
    cell: Callable[[int], str],
    place: str = "line",
) -> None:
    """Raise InvalidInput for the first time that does not rise; cell gives the time of a row."""
    back = np.flatnonzero(np.diff(times) <= 0)
    if not back.size:
        return
    row = int(back[0]) + 1
    line, before, typed = int(lines[row]), cell(row - 1), place == "row"
    allowed = (
        say("a time after {before} of the row before", before=before)
        if typed
        else _after_said(times, row, before)
    )
    field = f"time_{line - 1}" if typed else "readings"
    raise InvalidInput.because(cell_said(place, line, "time"), cell(row), allowed, field)


def _after_said(times: Floats, row: int, before: str) -> str:
    """What is needed instead of a time that does not rise, and what may be done about it."""
    steps = np.diff(times)
    if steps[row - 1] == 0 and not np.any(steps < 0):
        return say(
            "a time after {before} of the line before (rows with one time and different currents "
            "may come from two batteries: add a column with the channel, or use a file for each)",
            before=before,
        )
    if times[row] <= times[0]:
        return say(
            "a time after {before} of the line before (the record seems to start again here: "
            "keep one record in the file)",
            before=before,
        )
    return say("a time after {before} of the line before", before=before)
