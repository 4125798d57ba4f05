"""Times written as clock times, spans or dates, turned into seconds since the first one."""

import re
from collections.abc import Sequence
from datetime import datetime

from app.domain.column import DayOrder
from app.domain.errors import Refused

DAY_S = 86_400.0
_SPAN = re.compile(r"(\d{1,4}):(\d{2})(?::(\d{2}(?:[.,]\d+)?))?\s*([AaPp])?(?:\.?[Mm]\.?)?")
_DATED = re.compile(
    r"(\d{1,2})([./\-])(\d{1,2})\2(\d{4}|\d{2})[ T,]+(\d{1,2}:\d{2}(?::\d{2})?)\s*"
    r"(?:([AaPp])\.?[Mm]\.?)?"
)
_ALLOWED = "a time such as 14:30, 14:30:05 or 2026-03-31 14:30"


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
    day_first = _day_first(cells) if day_order is None else day_order is DayOrder.DAY_FIRST
    seconds: list[float] = []
    begin: datetime | None = None
    days = 0
    last_of_day = None
    for cell, line in zip(cells, lines, strict=True):
        dated = _dated(cell, day_first)
        if dated is not None:
            begin = begin or dated
            try:
                seconds.append((dated - begin).total_seconds())
            except TypeError:
                raise Refused.because(f"{place} {line}, time", cell, _ALLOWED, "file") from None
            continue
        of_day = time_of_day(cell)
        if of_day is None:
            raise Refused.because(f"{place} {line}, time", cell, _ALLOWED, "file")
        if last_of_day is not None and of_day < last_of_day - DAY_S / 2:
            days += 1
        last_of_day = of_day
        seconds.append(days * DAY_S + of_day)
    first = seconds[0] if seconds else 0.0
    return [value - first for value in seconds], begin


def time_of_day(cell: str) -> float | None:
    """Seconds since midnight of a time without a date; None for anything else."""
    match = _SPAN.fullmatch(cell)
    if match is None or int(match[2]) > 59:
        return None
    second = float((match[3] or "0").replace(",", "."))
    return _hour(int(match[1]), match[4]) * 3600 + int(match[2]) * 60 + second


def _hour(hour: int, half: str | None) -> int:
    """The hour of a 12-hour clock; half is a, p or nothing."""
    if not half:
        return hour
    return hour % 12 + (12 if half in "pP" else 0)


def _day_first(cells: Sequence[str]) -> bool:
    """Whether 03/04/2026 is the third of April: yes unless a second number above 12 says no."""
    for cell in cells:
        match = _DATED.fullmatch(cell)
        if match and match[2] != ".":
            if int(match[1]) > 12:
                return True
            if int(match[3]) > 12:
                return False
    return True


def _dated(cell: str, day_first: bool) -> datetime | None:
    match = _DATED.fullmatch(cell)
    try:
        if match is None:
            return datetime.fromisoformat(cell) if len(cell) > 10 else None
        first, second = int(match[1]), int(match[3])
        day, month = (first, second) if day_first or match[2] == "." else (second, first)
        hour, _, rest = match[5].partition(":")
        year = match[4] if len(match[4]) == 4 else f"20{match[4]}"
        clock = f"{_hour(int(hour), match[6]):02d}:{rest}"
        return datetime.fromisoformat(f"{year}-{month:02d}-{day:02d} {clock}")
    except ValueError:
        return None
