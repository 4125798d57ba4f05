"""Where the ticks of an axis stand: round numbers and round dates."""

import math
from collections.abc import Collection
from datetime import date

from app.domain.i18n.message import say, written_number

_STEPS = (1.0, 2.0, 2.5, 5.0, 10.0)
# What a plot of 640 px has room for, as wide as it is at the least where these are shown
# (static/charts.css).
MAX_MONTHS, MAX_YEARS = 7, 15
_MONTHS = (1, 2, 3, 6, 12, 24, 60, 120, 240)


def number_ticks(low: float, high: float, most: int) -> tuple[tuple[float, str], ...]:
    """At most `most` round numbers within low..high, each with its text."""
    if not high > low or most < 1:
        return ()
    step = _round_step((high - low) / most)
    while True:
        first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
        if last - first < most:
            break
        step = _round_step(step * 1.01)
    digits = max(0, -math.floor(math.log10(step) + 1e-9))
    if round(step, digits) != step:
        digits += 1
    return tuple(
        (index * step, written_number(index * step, f".{digits}f"))
        for index in range(first, last + 1)
    )


def date_ticks(
    first: date, last: date, most: int, *, years: bool = False
) -> tuple[tuple[date, str], ...]:
    """At most `most` firsts of a month within first..last, each with its text; of whole years
    alone where years is set."""
    days, step = _firsts(first, last, most, years)
    return tuple((day, _text(day, step)) for day in days)


def further_dates(first: date, last: date, shown: Collection[date]) -> tuple[tuple[date, str], ...]:
    """The dates between those shown for which a wide screen has room: months, else years."""
    for most, years in ((MAX_MONTHS, False), (MAX_YEARS, True)):
        for count in range(most, len(shown), -1):
            days, step = _firsts(first, last, count, years)
            if set(shown) < set(days):
                return tuple((day, _text(day, step)) for day in days if day not in shown)
    return ()


def _round_step(rough: float) -> float:
    """The next round step that is not smaller."""
    size = 10.0 ** math.floor(math.log10(rough))
    return next(step * size for step in _STEPS if step * size >= rough * (1 - 1e-9))


def _firsts(first: date, last: date, most: int, years: bool) -> tuple[list[date], int]:
    """At most `most` firsts of a month within first..last, and the months between them."""
    days: list[date] = []
    for step in _MONTHS:
        if years and step < 12:
            continue
        days = _months(first, last, step)
        if len(days) <= most:
            break
    return days[:most], step


def _months(first: date, last: date, step: int) -> list[date]:
    # Months are counted from the year 0, so that years fall on multiples of 12.
    begin = (first.year * 12 + first.month - 1) // step * step
    counts = range(begin, last.year * 12 + last.month, step)
    days = (date(count // 12, count % 12 + 1, 1) for count in counts)
    return [day for day in days if first <= day <= last]


def _text(day: date, step: int) -> str:
    return str(day.year) if step >= 12 else say("{month:%b %Y}", month=day)
