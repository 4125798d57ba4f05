"""Dates as readers type them where the browser has no calendar: in the order they are shown."""

import re
from datetime import date
from functools import cache

from app.domain.i18n.message import ENGLISH
from app.domain.i18n.months import LONG_MONTHS, SHORT_MONTHS
from app.domain.i18n.preferences import Language, Preferences
from app.languages.readers import reader_with

# 3 Apr 2026, 3. April 26, 03.04.2026, 3.4.26. With slashes nobody knows which is the month.
_WORDS = re.compile(r"(\d{1,2})\.? ?([^\W\d_]{3,})\.? (\d{4}|\d{2})")
_POINTS = re.compile(r"(\d{1,2})\. ?(\d{1,2})\. ?(\d{4}|\d{2})")
_YEAR_FIRST = re.compile(r"\d{4}-\d{2}-\d{2}")
_CENTURY = 2000

_MONTH = re.compile(r"(\d{1,2})[./-](\d{4})")
_MONTH_LAST = re.compile(r"(\d{4})[./-](\d{1,2})")
_MONTH_IN_WORDS = re.compile(r"([^\W\d_]{3,})\.? (\d{4})")
_MID_MONTH = 15


def typed_date(text: str) -> date | None:
    """A date with the year first, or in the order of day, month, year; None for anything else."""
    text = " ".join(text.split())
    try:
        if points := _POINTS.fullmatch(text):
            day, month, year = map(int, points.groups())
            return date(_whole_year(year), month, day)
        if words := _WORDS.fullmatch(text):
            year, month = _whole_year(int(words[3])), _months().get(words[2].casefold(), 0)
            return date(year, month, int(words[1]))
        return date.fromisoformat(text)
    except ValueError:
        return None


def names_no_day(text: str) -> bool:
    """Whether a text has the form of a date, but the calendar no such day."""
    text = " ".join(text.split())
    words = _WORDS.fullmatch(text)
    is_date = (words and words[2].casefold() in _months()) or any(
        form.fullmatch(text) for form in (_POINTS, _YEAR_FIRST)
    )
    return bool(is_date) and typed_date(text) is None


def _whole_year(year: int) -> int:
    """Nobody who owns a battery means another century by two digits."""
    return year if year > 99 else _CENTURY + year


def typed_month(text: str, latest: date) -> date | None:
    """The 15th of a month, of the running one its last day so far; None for anything else."""
    text = " ".join(text.split())
    if last := _MONTH_LAST.fullmatch(text):
        year, month = int(last[1]), int(last[2])
    elif first := _MONTH.fullmatch(text):
        year, month = int(first[2]), int(first[1])
    elif words := _MONTH_IN_WORDS.fullmatch(text):
        year, month = int(words[2]), _months().get(words[1].casefold(), 0)
    else:
        return None
    try:
        day = date(year, month, _MID_MONTH)
    except ValueError:
        return None
    is_running = (year, month) == (latest.year, latest.month)
    return min(day, latest) if is_running else day


@cache
def _months() -> dict[str, int]:
    """Months by their names, long and short, in every language that pages are written in."""
    readers = (ENGLISH, reader_with(Preferences(language=Language.GERMAN)))
    return {
        reader.text(name).casefold().rstrip("."): number
        for reader in readers
        for names in (SHORT_MONTHS, LONG_MONTHS)
        for number, name in enumerate(names, start=1)
    }
