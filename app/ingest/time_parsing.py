"""Times written as clock times, spans or dates, turned into seconds since the first one."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

import numpy as np

from app.domain.errors import InvalidInput
from app.domain.i18n.marks import N_
from app.domain.i18n.message import say
from app.domain.quantity import READING_ELAPSED
from app.domain.units.column import DATED_NUMBERS, ColumnUse, DayOrder
from app.domain.units.time_units import SECONDS_PER_DAY, SECONDS_PER_HOUR, since_midnight_s
from app.ingest.clock.time_order import mend_clock_change, untold_gap, wild_rows
from app.ingest.dialect import Row
from app.ingest.notes import cell_said, clock_change_said, newest_first_said, row_said, wild_said
from app.ingest.numbers import CONVERT, Floats, two_readings, value_of
from app.ingest.ranges import RANGES
from app.ingest.wording.moments import canonical, clock_of_digits

_SPAN = re.compile(r"(\d{1,4}):(\d{2})(?::(\d{2}(?:[.,]\d+)?))?\s*([AaPp])?(?:\.?[Mm]\.?)?")
_DATED = re.compile(
    r"(\d{1,2})([./\-])(\d{1,2})\2(\d{4}|\d{2})[ T,]+(\d{1,2}:\d{2}(?::\d{2}(?:\.\d{1,6})?)?)\s*"
    r"(?:([AaPp])\.?[Mm]\.?)?"
)
_YEAR_FIRST = re.compile(r"^(\d{4})[/.](\d{2})[/.](\d{2})")
# So many cells tell how finely a clock is written.
_LOOKED_AT = 50
# Day 0 of the numbers by which spreadsheets keep dates (common practice; right from 1 March 1900).
_SERIAL_ZERO = datetime(1899, 12, 30)
_ALLOWED = N_("a time such as 14:30, 14:30:05 or 2026-03-31 14:30")


def read_clock(
    cells: Sequence[str],
    lines: Sequence[int],
    place: str = "line",
    day_order: DayOrder | None = None,
) -> tuple[list[float], datetime | None]:
    """Seconds since the first cell, and the first date and time where the cells carry one.

    A time of day that jumps back by more than half a day has passed midnight. Raises InvalidInput
    with the line for a cell that is no time.
    """
    day_order = day_order or guess_day_order(cells)
    day_first = day_order is not DayOrder.MONTH_FIRST
    seconds: list[float] = []
    begin: datetime | None = None
    # Seconds from the first midnight to that of the row, and the time of day of the row before.
    midnight, last_of_day = 0.0, None
    for cell, line in zip(cells, lines, strict=True):
        dated = read_moment(cell, day_first)
        if dated is None:
            of_day = time_of_day(cell)
            if of_day is None:
                where = cell_said(place, line, "time")
                raise InvalidInput.because(where, cell, say(_ALLOWED), "file")
            # A date stands for the rows below it, too, until the next one.
            if last_of_day is not None and of_day < last_of_day - SECONDS_PER_DAY / 2:
                midnight += SECONDS_PER_DAY
        else:
            of_day = since_midnight_s(dated)
            if begin is None and seconds:
                where = cell_said(place, line, "time")
                raise InvalidInput.because(where, cell, say("a time without a date"), "file")
            begin = begin or dated
            try:
                since = (dated - begin).total_seconds()
            except TypeError:
                where = cell_said(place, line, "time")
                raise InvalidInput.because(where, cell, say(_ALLOWED), "file") from None
            midnight = since + since_midnight_s(begin) - of_day
        last_of_day = of_day
        seconds.append(midnight + of_day)
    first = seconds[0] if seconds else 0.0
    return [value - first for value in seconds], begin


def time_of_day(cell: str) -> float | None:
    """Seconds since midnight of a time without a date; None for anything else."""
    match = _SPAN.fullmatch(canonical(cell))
    if match is None or int(match[2]) > 59:
        return None
    second = float((match[3] or "0").replace(",", "."))
    return _hour(int(match[1]), match[4]) * SECONDS_PER_HOUR + int(match[2]) * 60 + second


def _hour(hour: int, half: str | None) -> int:
    """The hour of a 12-hour clock; half is a, p or nothing."""
    if not half:
        return hour
    return hour % 12 + (12 if half in "pP" else 0)


def guess_day_order(cells: Sequence[str]) -> DayOrder | None:
    """How dates such as 03/04/2026 are meant; None where there are none.

    A number above 12 tells. Where none does, it is the order in which the record spans fewer days,
    and day first for one of a single day.
    """
    dates = []
    for cell in cells:
        match = _DATED.fullmatch(canonical(cell))
        if match and match[2] != ".":
            first, second = int(match[1]), int(match[3])
            if first > 12 or second > 12:
                return DayOrder.DAY_FIRST if first > 12 else DayOrder.MONTH_FIRST
            dates.append((first, second))
    if not dates:
        return None
    (first, second), (last, later) = dates[0], dates[-1]
    day_first = abs(later - second) * 30 + abs(last - first)
    month_first = abs(last - first) * 30 + abs(later - second)
    return DayOrder.MONTH_FIRST if month_first < day_first else DayOrder.DAY_FIRST


def read_moment(cell: str, day_first: bool) -> datetime | None:
    """A date with its time; None for anything else."""
    cell = canonical(cell)
    match = _DATED.fullmatch(cell)
    try:
        if match is None:
            year_first = _YEAR_FIRST.sub(r"\1-\2-\3", cell)
            return datetime.fromisoformat(year_first) if len(cell) > 10 else None
        first, second = int(match[1]), int(match[3])
        day, month = (first, second) if day_first or match[2] == "." else (second, first)
        hour, _, rest = match[5].partition(":")
        year = match[4] if len(match[4]) == 4 else f"20{match[4]}"
        clock = f"{_hour(int(hour), match[6]):02d}:{rest}"
        return datetime.fromisoformat(f"{year}-{month:02d}-{day:02d} {clock}")
    except ValueError:
        return None


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


@dataclass(frozen=True)
class TimedRows:
    """Rows in the order of their times, in seconds since the first.

    shown_s is the smallest step that the times show; said is what was done to their order.
    """

    rows: Sequence[Row]
    lines: Sequence[int]
    times: Floats
    started_at: datetime | None
    first_clock_s: float | None
    shown_s: float
    said: tuple[str, ...] = ()

    @property
    def rises(self) -> bool:
        """Whether no time lies before another, or beyond every test."""
        return bool(np.all(np.diff(self.times) >= 0)) and READING_ELAPSED.holds(
            float(self.times[-1])
        )


@dataclass(frozen=True)
class RowTimes:
    """Where the times of rows stand, and how they are read."""

    at: dict[str, int]
    use: ColumnUse
    place: str
    mark: str
    day_order: DayOrder | None

    def in_order(self, rows: Sequence[Row], lines: Sequence[int]) -> TimedRows:
        """The rows of a file in order: newest first is turned round, single wild times left out.

        What cannot be brought into order so comes back as it stands.
        """
        taken = self._read(rows, lines)
        if self.place == "row" or taken.rises:
            return taken
        wild = {int(row) for row in wild_rows(taken.times)}
        if wild:
            kept = [i for i in range(len(rows)) if i not in wild]
            again = self._read([rows[i] for i in kept], [lines[i] for i in kept])
            first = min(wild)
            said = wild_said(rows[first][self.at["time"]], [lines[i] for i in sorted(wild)])
            return replace(again, said=(said, *again.said)) if again.rises else taken
        if len(rows) > 2:
            try:
                back = self._read(rows[::-1], lines[::-1])
            except InvalidInput:
                return taken
            if back.rises:
                return replace(back, said=(newest_first_said(), *back.said))
        return taken

    def _read(self, rows: Sequence[Row], lines: Sequence[int]) -> TimedRows:
        if self.use is not ColumnUse.CLOCK:
            values = np.array(
                [self._number(row, line) for row, line in zip(rows, lines, strict=True)]
            )
            times, started_at = since_first(values, self.use)
            return TimedRows(
                rows, lines, times, started_at, None, shown_step_s(rows, self.at["time"], self.use)
            )
        cells = self._cells(rows)
        order = self.day_order or guess_day_order(cells)
        said = [] if order is None else [say("Dates were read {order}.", order=order.words)]
        listed, started_at = read_clock(cells, lines, self.place, order)
        if started_at is None and self.place != "row":
            self._refuse_gap(np.array(listed), cells, lines)
        times, changed, way = mend_clock_change(np.array(listed), started_at)
        if changed is not None:
            said.append(clock_change_said(row_said(self.place, lines[changed]), way))
        first_clock = time_of_day(cells[0])
        shown = shown_step_s(rows, self.at["time"], self.use)
        return TimedRows(rows, lines, times, started_at, first_clock, shown, tuple(said))

    def _refuse_gap(self, times: Floats, cells: Sequence[str], lines: Sequence[int]) -> None:
        row = untold_gap(times)
        if row is not None and np.all(np.diff(times) >= 0):
            allowed = say(
                "a time within half a day of {before} in the line before; after a longer gap, "
                "add the date",
                before=cells[row - 1],
            )
            where = cell_said(self.place, lines[row], "time")
            raise InvalidInput.because(where, cells[row], allowed, "readings")

    def _cells(self, rows: Sequence[Row]) -> list[str]:
        """The times, with the date of a column beside them put in front."""
        time, date = self.at["time"], self.at.get("date")
        clocks = [clock_of_digits(row[time]) or row[time] for row in rows]
        if date is None:
            return clocks
        dates = (canonical(row[date]) for row in rows)
        return [f"{day} {clock}".strip() for day, clock in zip(dates, clocks, strict=True)]

    def _number(self, row: Row, line: int) -> float:
        cell, allowed = row[self.at["time"]], RANGES["time"]
        where = cell_said(self.place, line, "time")
        if either := two_readings(cell, self.use, self.mark):
            raise InvalidInput.because(where, cell, either, "readings")
        value = value_of(cell, self.use, self.mark)
        # One beyond every test may be a single wild one, which the order of the rest tells.
        if value is None or (self.use not in DATED_NUMBERS and value < allowed.low):
            raise InvalidInput.because(where, cell, allowed.expected(cell), "readings")
        return value


def shown_step_s(rows: Sequence[Row], index: int, use: ColumnUse) -> float:
    """The smallest step that the first times show, in seconds."""
    cells = [canonical(row[index]) for row in rows[:_LOOKED_AT] if row[index]]
    if use is ColumnUse.CLOCK:
        return min(_shown_by_clock(cell) for cell in cells)
    if use is ColumnUse.SERIAL_DAYS:
        return 1.0
    parts = [re.split("[.,]", cell) for cell in cells]
    decimals = max(len(part[1]) if len(part) > 1 else 0 for part in parts)
    convert = CONVERT.get(use)
    return 10.0**-decimals * (1.0 if convert is None else float(convert(1.0)))


def _shown_by_clock(cell: str) -> float:
    found = re.search(r":\d{2}(?::(\d{2})(?:[.,](\d+))?)?", cell)
    if found is None or not found[1]:
        return 60.0
    return 10.0 ** -len(found[2] or "")
