"""Times of a long log, all written alike, turned into numbers many at once."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from app.domain.units.column import DayOrder
from app.domain.units.time_units import SECONDS_PER_DAY, SECONDS_PER_HOUR
from app.ingest.clock.time_order import untold_gap
from app.ingest.numbers import Floats
from app.ingest.time_parsing import guess_day_order, read_moment
from app.ingest.wording.moments import canonical

_CLOCK = r"\d{1,2}:\d{2}(?::\d{2}(?:\.\d{1,6})?)?"
# Each with the characters between its numbers, and how many of these make the date.
_FORMS = (
    (re.compile(rf"\d{{4}}-\d{{2}}-\d{{2}}[ T]{_CLOCK}"), "-T: ", 3),
    (re.compile(rf"\d{{4}}/\d{{1,2}}/\d{{1,2}}[ T]{_CLOCK}"), "/T: ", 3),
    (re.compile(rf"\d{{1,2}}/\d{{1,2}}/\d{{4}} +{_CLOCK}"), "/: ", 3),
    (re.compile(rf"\d{{1,2}}-\d{{1,2}}-\d{{4}} +{_CLOCK}"), "-: ", 3),
    (re.compile(r"\d{1,2}\.\d{1,2}\.\d{4} +\d{1,2}:\d{2}(?::\d{2})?"), ".: ", 3),
    (re.compile(r"\d{1,4}:\d{2}(?::\d{2}(?:\.\d+)?)?"), ": ", 0),
)
_SUFFIX = re.compile(r"\s*(Z|[+-]\d{2}:?\d{2})$")


@dataclass(frozen=True)
class Moments:
    """Seconds since the first row, with what the log says of it.

    begin is the first date and time where there are dates, first_of_day_s the first time of day
    where there are none; day_order is how the dates were read where that had to be guessed.
    """

    since_s: Floats
    begin: datetime | None
    first_of_day_s: float | None
    day_order: DayOrder | None

    def turned(self) -> "Moments":
        """The moments from the last to the first, where each has its date."""
        first = float(self.since_s[-1])
        begin = None if self.begin is None else self.begin + timedelta(seconds=first)
        return Moments(self.since_s[::-1] - first, begin, None, self.day_order)

    def of(self, rows: NDArray[np.bool_]) -> "Moments":
        """The moments of some of the rows; they begin with the first of these."""
        since = self.since_s[rows]
        later = float(since[0])
        begin = None if self.begin is None else self.begin + timedelta(seconds=later)
        of_day = self.first_of_day_s
        first = None if of_day is None else (of_day + later) % SECONDS_PER_DAY
        return Moments(since - later, begin, first, self.day_order)


class MomentReader:
    """Takes the cells of a time column bunch by bunch; all of them must be written as the first."""

    def __init__(self, first: str, day_order: DayOrder | None) -> None:
        self._first, self._asked_order = first, day_order
        suffix = _SUFFIX.search(first)
        self._suffix = suffix[0] if suffix and len(first) > len("+00:00") + 5 else ""
        bare = first.removesuffix(self._suffix)
        found = next((form for form in _FORMS if form[0].fullmatch(bare)), None)
        # Odd ways to write a time are brought to the usual one, cell by cell.
        self._rewritten = found is None and canonical(first) != first
        if self._rewritten:
            suffix = _SUFFIX.search(canonical(first))
            self._suffix = suffix[0] if suffix else ""
            bare = canonical(first).removesuffix(self._suffix)
            found = next((form for form in _FORMS if form[0].fullmatch(bare)), None)
        self.understood = found is not None
        if found is not None:
            pattern, between, self._dated = found
            self._all = re.compile(rf"(?:{pattern.pattern}\n)+")
            self._spaces = str.maketrans(between, " " * len(between))
            self._bare = bare
        self._dates: list[NDArray[np.int16]] = []
        self._of_day: list[Floats] = []

    def take(self, cells: Sequence[str]) -> bool:
        """Whether these cells are written as the first one; if so they are kept as numbers."""
        if self._rewritten:
            cells = [canonical(cell) for cell in cells]
        if self._suffix:
            if not all(cell.endswith(self._suffix) for cell in cells):
                return False
            cells = [cell.removesuffix(self._suffix) for cell in cells]
        rows = self._numbers_of(cells)
        if rows is None:
            return False
        clock = rows[:, self._dated :]
        if np.any(clock[:, 1:] >= 60) or (self._dated and np.any(clock[:, 0] >= 24)):
            return False
        self._dates.append(rows[:, : self._dated].astype(np.int16))
        self._of_day.append(clock @ np.array([SECONDS_PER_HOUR, 60.0, 1.0])[: clock.shape[1]])
        return True

    def _numbers_of(self, cells: Sequence[str]) -> Floats | None:
        """The numbers in each cell, a row a cell; None where one is written otherwise."""
        if not self._dated:
            # Hours grow by a digit on the way: with zeros in front all are of one width.
            width = max(map(len, cells))
            cells = [cell.zfill(width) for cell in cells]
        if len(set(map(len, cells))) == 1:
            rows = _of_one_width(cells, self._bare)
            if rows is not None or not self._dated:
                return rows
        text = "\n".join(cells) + "\n"
        if not self._all.fullmatch(text):
            return None
        numbers = np.fromstring(text.translate(self._spaces), sep=" ")
        return numbers.reshape(len(cells), -1) if numbers.size % len(cells) == 0 else None

    def moments(self) -> Moments | None:
        """All that was taken; None where a date is none."""
        of_day = np.concatenate(self._of_day)
        # What was joined is given back at once: a long log should not be held twice.
        self._of_day.clear()
        if not self._dated:
            back = np.diff(of_day, prepend=of_day[0]) < -SECONDS_PER_DAY / 2
            since = of_day - of_day[0] + SECONDS_PER_DAY * np.cumsum(back)
            # A gap that cannot be told is refused the careful way, by its line.
            gap = untold_gap(since) is not None
            return None if gap else Moments(since, None, float(of_day[0]), None)
        dates = np.concatenate(self._dates)
        self._dates.clear()
        order = None
        if dates[0, 0] < 1000:
            order = self._asked_order or self._guessed_order(dates)
            dates = dates[:, [2, 1, 0] if order is not DayOrder.MONTH_FIRST else [2, 0, 1]]
        days = _days(dates)
        begin = read_moment(self._first, order is not DayOrder.MONTH_FIRST)
        if days is None or begin is None:
            return None
        since = (days - days[0]) * SECONDS_PER_DAY + of_day - of_day[0]
        return Moments(since, begin, None, order)

    def _guessed_order(self, dates: NDArray[np.int16]) -> DayOrder | None:
        """By the rule for short records, shown the rows that decide it."""
        telling = [np.flatnonzero(dates[:, column] > 12)[:1] for column in (0, 1)]
        rows = [0, *np.concatenate(telling), len(dates) - 1]
        mark = "." if "." in self._first.split()[0] else "/"
        return guess_day_order([f"{mark.join(map(str, dates[row]))} 0:00" for row in rows])


def _of_one_width(cells: Sequence[str], like: str) -> Floats | None:
    """The numbers in cells that have their digits and marks in the same places as `like`.

    Zeros in front may stand where `like` is shorter.
    """
    width = len(cells[0])
    shape = re.sub(r"\d", "0", like.zfill(width))
    if len(shape) != width:
        return None
    text = "".join(cells)
    if not text.isascii():
        return None
    places = np.frombuffer(text.encode(), np.uint8).reshape(len(cells), width)
    marks = [i for i, mark in enumerate(shape) if mark != "0"]
    digits = places.astype(np.int16) - ord("0")
    of_digits = np.delete(digits, marks, axis=1)
    if np.any(places[:, marks] != np.frombuffer(shape.encode(), np.uint8)[marks]) or np.any(
        (of_digits < 0) | (of_digits > 9)
    ):
        return None
    columns: list[Floats] = []
    for run in re.finditer("0+", shape):
        powers = 10.0 ** np.arange(run.end() - run.start() - 1, -1, -1)
        value: Floats = digits[:, run.start() : run.end()] @ powers
        if run.start() and shape[run.start() - 1] == "." and ":" in shape[: run.start()]:
            columns[-1] = columns[-1] + value / (10 * powers[0])
        else:
            columns.append(value)
    return np.column_stack(columns)


def _days(dates: NDArray[np.int16]) -> Floats | None:
    """Days since 1970 of rows of year, month and day; None where one does not exist."""
    year, month, day = dates.T.astype(np.int32)
    if np.any((month < 1) | (month > 12) | (day < 1) | (year < 1900)):
        return None
    months = (year - 1970) * 12 + month - 1
    firsts = months.astype("datetime64[M]").astype("datetime64[D]")
    days = firsts + (day - 1)
    if np.any(days.astype("datetime64[M]").astype(np.int64) != months):
        return None
    found: Floats = days.astype(np.int64).astype(np.float64)
    return found
