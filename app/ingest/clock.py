"""Times written as clock times, spans or dates, turned into seconds since the first one."""

import re
from bisect import bisect_right
from collections.abc import Sequence
from datetime import datetime, timedelta

import numpy as np

from app.domain.column import DayOrder
from app.domain.errors import Refused
from app.domain.marks import N_
from app.domain.message import say
from app.domain.time_units import SECONDS_PER_DAY, SECONDS_PER_HOUR, since_midnight_s
from app.ingest.arrays import Floats
from app.ingest.assumptions import cell_said

_SPAN = re.compile(r"(\d{1,4}):(\d{2})(?::(\d{2}(?:[.,]\d+)?))?\s*([AaPp])?(?:\.?[Mm]\.?)?")
_DATED = re.compile(
    r"(\d{1,2})([./\-])(\d{1,2})\2(\d{4}|\d{2})[ T,]+(\d{1,2}:\d{2}(?::\d{2}(?:\.\d{1,6})?)?)\s*"
    r"(?:([AaPp])\.?[Mm]\.?)?"
)
_YEAR_FIRST = re.compile(r"^(\d{4})[/.](\d{2})[/.](\d{2})")
_ALLOWED = N_("a time such as 14:30, 14:30:05 or 2026-03-31 14:30")


def read_clock(
    cells: Sequence[str],
    lines: Sequence[int],
    place: str = "line",
    day_order: DayOrder | None = None,
) -> tuple[list[float], datetime | None]:
    """Seconds since the first cell, and the first date and time where the cells carry one.

    A time of day that jumps back by more than half a day has passed midnight. Raises Refused with
    the line for a cell that is no time.
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
                raise Refused.because(where, cell, say(_ALLOWED), "file")
            # A date stands for the rows below it, too, until the next one.
            if last_of_day is not None and of_day < last_of_day - SECONDS_PER_DAY / 2:
                midnight += SECONDS_PER_DAY
        else:
            of_day = since_midnight_s(dated)
            if begin is None and seconds:
                where = cell_said(place, line, "time")
                raise Refused.because(where, cell, say("a time without a date"), "file")
            begin = begin or dated
            try:
                since = (dated - begin).total_seconds()
            except TypeError:
                where = cell_said(place, line, "time")
                raise Refused.because(where, cell, say(_ALLOWED), "file") from None
            midnight = since + since_midnight_s(begin) - of_day
        last_of_day = of_day
        seconds.append(midnight + of_day)
    first = seconds[0] if seconds else 0.0
    return [value - first for value in seconds], begin


def mend_clock_change(times: Floats, begin: datetime | None) -> tuple[Floats, int | None, str]:
    """Times of a record during which the clock was set, the first row after it, and which way.

    Back: where it is plain, one step back, shorter by an hour than the usual one. A record with
    longer steps may as well hold the same row twice, and is refused by its row. Forward: where
    begin is a local time and this machine's own zone sets its clock within a step that is longer
    by just that.
    """
    steps = np.diff(times)
    back = np.flatnonzero(steps <= 0)
    usual = float(np.median(steps)) if steps.size else 0.0
    if not back.size and begin is not None and begin.tzinfo is None and usual > 0:
        row, change = _set_forward(times, begin)
        if row is not None and abs(steps[row - 1] - usual - change) <= _slack(usual):
            return _moved(times, row, -change), row, "forward"
    if back.size != 1 or not 0 < usual <= SECONDS_PER_HOUR / 2:
        return times, None, ""
    row = int(back[0]) + 1
    if abs(steps[row - 1] - (usual - SECONDS_PER_HOUR)) > _slack(usual):
        return times, None, ""
    return _moved(times, row, SECONDS_PER_HOUR), row, "back"


def _slack(usual: float) -> float:
    """How far a step may be from what it would be with the clock set."""
    return max(60.0, 0.1 * usual)


def _moved(times: Floats, row: int, by_s: float) -> Floats:
    moved = times.copy()
    moved[row:] += by_s
    return moved


def _set_forward(times: Floats, begin: datetime) -> tuple[int | None, float]:
    """The first row after this machine's zone set its clock forward, and by how much."""

    def offset(since_s: float) -> float:
        shift = (begin + timedelta(seconds=since_s)).astimezone().utcoffset()
        return 0.0 if shift is None else shift.total_seconds()

    try:
        first, change = offset(0.0), offset(float(times[-1])) - offset(0.0)
        if change <= 0:
            return None, 0.0
        return bisect_right(times, first, key=lambda since_s: offset(float(since_s))), change
    except (OverflowError, ValueError, OSError):
        # Years at the ends of the calendar have no zone.
        return None, 0.0


def time_of_day(cell: str) -> float | None:
    """Seconds since midnight of a time without a date; None for anything else."""
    match = _SPAN.fullmatch(cell)
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
        match = _DATED.fullmatch(cell)
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
