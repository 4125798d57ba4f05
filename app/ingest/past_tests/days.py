"""Days as people write them, for a whole column at once."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, time, timedelta

from app.domain.units.column import DayOrder
from app.domain.units.time_units import EARLIEST_YEAR
from app.ingest.wording.cells import is_bare_date
from app.ingest.wording.moments import canonical, month_of

# Days of the years 1970 to 2100 as spreadsheets count them, and the day from which they do.
_SERIAL_DAYS = (25_569, 73_051)
_DAY_ZERO = date(1899, 12, 30)
_CLOCK = r"(?:[ T,]+(\d{1,2}):(\d{2})(?::\d{2}(?:[.,]\d+)?)?\s*(?:Z|[+\-]\d{2}:?\d{2})?)?"
_ISO = re.compile(rf"(\d{{4}})-(\d{{1,2}})-(\d{{1,2}}){_CLOCK}")
_FIGURES = re.compile(rf"(\d{{1,2}})([./\-])\s?(\d{{1,2}})\2\s?(\d{{4}}|\d{{2}}){_CLOCK}")
_DAY_AND_MONTH = re.compile(r"(\d{1,2})\.\s?(\d{1,2})\.?")
_TWO_FIGURES = re.compile(r"(\d{1,2})[/\-](\d{1,2})")
_DAY_AND_WORD = re.compile(r"(\d{1,2})(?:st|nd|rd|th)?\.?\s*([^\W\d_]{3,})\.?")
_WORD_AND_DAY = re.compile(r"([^\W\d_]{3,})\.?\s*(\d{1,2})(?:st|nd|rd|th)?\.?")
_MONTH_AND_YEAR = re.compile(r"(\d{1,2})[./\-](\d{4})")
_YEAR_AND_MONTH = re.compile(r"(\d{4})[./\-](\d{1,2})")
_WORD_AND_YEAR = re.compile(r"([^\W\d_]{3,})\.?[\s,/\-]*((?:19|20)\d{2})")
_WORD_AND_SHORT_YEAR = re.compile(r"([^\W\d_]{3,})\.?[\s,/\-]*['’]?(\d{2})")
_WEEKDAY = re.compile(r"([^\W\d_]{2,10})\.?,?\s+(?=\d)")
_YEAR = re.compile(r"(?:19|20)\d{2}")
_YEAR_HEADING = re.compile(r"(?:[^\W\d_]+\s+)?((?:19|20)\d{2})\s*:?")


@dataclass(frozen=True)
class WrittenDay:
    """What a cell tells of a day.

    first and second are day and month in an order that open_order says is not told by the cell; a
    number that is missing is 0. century says that the year was written with two digits.
    """

    year: int = 0
    month: int = 0
    day: int = 0
    open_order: bool = False
    century: bool = False
    serial: bool = False
    clock: time | None = None

    @property
    def whole(self) -> bool:
        return bool(self.year and self.month and self.day)

    @property
    def of_month(self) -> bool:
        """Whether it names a month and no day of it."""
        return bool(self.year and self.month and not self.day)

    def on(self, order: DayOrder | None) -> date | None:
        """The day by that order; None where there is no such day."""
        month, day = self.month, self.day
        if self.open_order and order is DayOrder.MONTH_FIRST:
            month, day = day, month
        try:
            return date(self.year, month, day)
        except ValueError:
            return None


def written_day(cell: str, year: int = 0) -> WrittenDay | None:
    """Read a cell; None for what is no date. year is that of the heading above, where there is one.

    Where the order is open, the number that stands first is the day. A month and two digits are
    its year, where no heading has one.
    """
    text = _without_weekday(" ".join(cell.split()))
    if is_bare_date(text):
        return WrittenDay(int(text[:4]), int(text[4:6]), int(text[6:]))
    text = canonical(text)
    if found := _ISO.fullmatch(text):
        year, month, day = map(int, found.groups()[:3])
        return WrittenDay(year, month, day, clock=_clock(found[4], found[5]))
    if found := _FIGURES.fullmatch(text):
        full = len(found[4]) == 4
        return WrittenDay(
            int(found[4]) + (0 if full else 2000),
            int(found[3]),
            int(found[1]),
            open_order=found[2] != ".",
            century=not full,
            clock=_clock(found[5], found[6]),
        )
    return _serial(text) or _month_only(text) or _without_year(text, year)


def year_heading(cell: str) -> int:
    """The year that a row of its own sets for those below; 0 for anything else."""
    found = _YEAR_HEADING.fullmatch(cell.strip())
    return int(found[1]) if found else 0


def order_of(days: Sequence[tuple[int, WrittenDay]]) -> tuple[set[DayOrder], dict[DayOrder, int]]:
    """The orders that some row shows, with the line of the first one that does."""
    shown: dict[DayOrder, int] = {}
    for line, one in days:
        if one.open_order and one.day > 12 >= one.month:
            shown.setdefault(DayOrder.DAY_FIRST, line)
        if one.open_order and one.month > 12 >= one.day:
            shown.setdefault(DayOrder.MONTH_FIRST, line)
    return set(shown), shown


def possible(day: date, today: date) -> bool:
    """Whether a test may have been on that day."""
    return day.year >= EARLIEST_YEAR and day <= today


def _without_weekday(text: str) -> str:
    found = _WEEKDAY.match(text)
    return text[found.end() :] if found and not month_of(found[1]) else text


def _serial(text: str) -> WrittenDay | None:
    found = re.fullmatch(r"(\d{5})(?:[.,]\d+)?", text)
    if not found or not _SERIAL_DAYS[0] <= int(found[1]) < _SERIAL_DAYS[1]:
        return None
    day = _DAY_ZERO + timedelta(days=int(found[1]))
    return WrittenDay(day.year, day.month, day.day, serial=True)


def _month_only(text: str) -> WrittenDay | None:
    if _YEAR.fullmatch(text):
        return WrittenDay(int(text))
    if (found := _MONTH_AND_YEAR.fullmatch(text)) and 1 <= int(found[1]) <= 12:
        return WrittenDay(int(found[2]), int(found[1]))
    if (found := _YEAR_AND_MONTH.fullmatch(text)) and 1 <= int(found[2]) <= 12:
        return WrittenDay(int(found[1]), int(found[2]))
    if (found := _WORD_AND_YEAR.fullmatch(text)) and month_of(found[1]):
        return WrittenDay(int(found[2]), month_of(found[1]))
    return None


def _without_year(text: str, year: int) -> WrittenDay | None:
    found = None if year else _WORD_AND_SHORT_YEAR.fullmatch(text)
    if found and month_of(found[1]):
        return WrittenDay(2000 + int(found[2]), month_of(found[1]), century=True)
    if found := _DAY_AND_MONTH.fullmatch(text):
        return WrittenDay(year, int(found[2]), int(found[1])) if int(found[2]) <= 12 else None
    if found := _TWO_FIGURES.fullmatch(text):
        return WrittenDay(year, int(found[2]), int(found[1]), open_order=True)
    if (found := _DAY_AND_WORD.fullmatch(text)) and month_of(found[2]):
        return WrittenDay(year, month_of(found[2]), int(found[1]))
    if (found := _WORD_AND_DAY.fullmatch(text)) and month_of(found[1]):
        return WrittenDay(year, month_of(found[1]), int(found[2]))
    return None


def _clock(hour: str | None, minute: str | None) -> time | None:
    if hour is None or minute is None or int(hour) > 23 or int(minute) > 59:
        return None
    return time(int(hour), int(minute))
