"""The cells of a table on a sheet as text, all of a column written alike."""

import re
from collections.abc import Callable, Sequence
from datetime import date, datetime, timedelta
from typing import TypeGuard

from app.ingest.containers.cell_values import Cell, SheetRow

Writer = Callable[[Cell], str]

# Text that can hold only a decimal comma, or only a decimal point.
_SURE = {
    mark: re.compile(rf"[+\-−]?(?:\d*{mark}(?:\d{{1,2}}|\d{{4,}})|0+{mark}\d+)\s*[^\d.,]{{0,3}}")
    for mark in (",", r"\.")
}
_MARKED = re.compile(r"[+\-−]?\d*[.,]\d+\s*[^\d.,]{0,3}")
# Days of the years 2000 to 2100 as spreadsheets count them, and the day from which they do.
_SERIAL_DAYS = (36_526, 73_051)
_DAY_ZERO = datetime(1899, 12, 30)
_WHOLE_DAY_ONLY = re.compile(r"(?i)(?<![a-z])(date|datum)(?![a-z])")
_TIME_OF_DAY = re.compile(r"(?i)(?<![a-z])(time|clock|zeit|uhrzeit|timestamp|zeitstempel)(?![a-z])")
_GAUGE = re.compile(r"(?i)%|(?<![a-z])(soc|gauge|ladestand|ladezustand)(?![a-z])")
# A time that says its unit is no number of days.
_UNIT = re.compile(
    r"(?i)[(\[/ ,_](ms|s|sec|secs|seconds|sekunden|min|minutes|minuten|h|hours?|stunden)[)\]]?$"
)


class TableText:
    """Writes the rows of a table as text.

    decimal is the mark of all its numbers, empty where its cells are text of which nobody knows.
    shares are the headings of columns of shares of 1, which are written in percent. later_days is
    what is added to numbers that are days, where a workbook counts them from a later day.
    """

    def __init__(self, heading: SheetRow, rows: Sequence[SheetRow], later_days: int = 0) -> None:
        width = max((len(row) for row in (heading, *rows)), default=0)
        names = [str(heading[i]) if i < len(heading) else "" for i in range(width)]
        columns = [[row[i] for row in rows if i < len(row)] for i in range(width)]
        self.decimal = _decimal_mark(columns)
        self._later_days = later_days
        self._mark = self.decimal or "."
        self._writers: list[Writer] = []
        self.shares: list[str] = []
        dates = any(self._holds_days(*one) for one in zip(names, columns, strict=True))
        for name, column in zip(names, columns, strict=True):
            self._writers.append(self._writer(name, column, dates))

    def line(self, row: SheetRow) -> str:
        """One row, with tabs between its cells."""
        cells = (*row, *[""] * (len(self._writers) - len(row)))
        return "\t".join(write(cell) for write, cell in zip(self._writers, cells, strict=False))

    def _holds_days(self, name: str, column: Sequence[Cell]) -> bool:
        days = [cell for cell in column if isinstance(cell, date)]
        if days:
            return not any(isinstance(cell, datetime) for cell in days)
        return bool(_WHOLE_DAY_ONLY.search(name)) and self._are_days(_numbers(column), whole=True)

    def _writer(self, name: str, column: Sequence[Cell], dates: bool) -> Writer:
        """How one column is written; the heading tells what plain numbers in it are."""
        moments = any(isinstance(cell, datetime) for cell in column)
        numbers = _numbers(column)
        if numbers and not _UNIT.search(name):
            if _WHOLE_DAY_ONLY.search(name) and self._are_days(numbers, whole=True):
                return lambda cell: self._day(cell) if _is_number(cell) else self._any(cell)
            timed = bool(_WHOLE_DAY_ONLY.search(name) or _TIME_OF_DAY.search(name))
            if timed and self._are_days(numbers, whole=False):
                return lambda cell: self._moment(cell) if _is_number(cell) else self._any(cell)
            if dates and _TIME_OF_DAY.search(name) and _are_shares(numbers):
                return lambda cell: (
                    written_span(timedelta(days=cell)) if _is_number(cell) else self._any(cell)
                )
            if _GAUGE.search(name) and _are_shares(numbers):
                self.shares.append(name)
                return lambda cell: self._any(round(cell * 100, 9) if _is_number(cell) else cell)
        if moments:
            return lambda cell: written_moment(cell) if isinstance(cell, date) else self._any(cell)
        return self._any

    def _are_days(self, numbers: Sequence[float], *, whole: bool) -> bool:
        """Whether numbers are days of this century; such with a time have a fraction somewhere."""
        low, high = (day - self._later_days for day in _SERIAL_DAYS)
        inside = bool(numbers) and all(low <= number < high for number in numbers)
        return inside and whole == all(number % 1 == 0 for number in numbers)

    def _day(self, days: float) -> str:
        return f"{self._since_zero(days):%Y-%m-%d}"

    def _moment(self, days: float) -> str:
        return written_moment(self._since_zero(days))

    def _since_zero(self, days: float) -> datetime:
        return _DAY_ZERO + timedelta(days=days + self._later_days)

    def _any(self, cell: Cell) -> str:
        if isinstance(cell, str):
            return cell
        if isinstance(cell, datetime):
            return written_moment(cell)
        if isinstance(cell, date):
            return cell.isoformat()
        if isinstance(cell, timedelta):
            return written_span(cell)
        return _written_number(cell, self._mark)


def written_moment(moment: date) -> str:
    """A date with its time to the millisecond: a spreadsheet's fractions of days are no finer."""
    if not isinstance(moment, datetime):
        return f"{moment.isoformat()} 00:00:00"
    rounded = moment + timedelta(microseconds=500)
    ms = rounded.microsecond // 1000
    return f"{rounded:%Y-%m-%d %H:%M:%S}" + (f".{ms:03d}" if ms else "")


def written_span(span: timedelta) -> str:
    """A span or a time of day in hours, minutes and seconds, to the millisecond."""
    total = round(span / timedelta(milliseconds=1))
    sign, total = ("-", -total) if total < 0 else ("", total)
    seconds, ms = divmod(total, 1000)
    clock = f"{seconds // 3600:02d}:{seconds // 60 % 60:02d}:{seconds % 60:02d}"
    return sign + clock + (f".{ms:03d}" if ms else "")


def _written_number(number: float, mark: str) -> str:
    """All digits that a number has; a whole one without a mark."""
    if float(number).is_integer() and abs(number) < 1e15:
        return str(int(number))
    return repr(float(number)).replace(".", mark)


def _is_number(cell: Cell) -> TypeGuard[float]:
    return isinstance(cell, int | float)


def _numbers(column: Sequence[Cell]) -> list[float]:
    """The numbers of a column; none where a date or a time stands among them."""
    if any(isinstance(cell, date | timedelta) for cell in column):
        return []
    return [cell for cell in column if _is_number(cell)]


def _are_shares(numbers: Sequence[float]) -> bool:
    """Whether numbers are parts of 1, and not whole ones alone."""
    inside = bool(numbers) and all(0 <= number <= 1 for number in numbers)
    return inside and max(numbers) > 0.1 and any(number % 1 for number in numbers)


def _decimal_mark(columns: Sequence[Sequence[Cell]]) -> str:
    """The mark of numbers that are text, which the numbers of the sheet are then written with.

    Where all are numbers it is a point; where text may be read in two ways and no number stands
    beside it, nobody knows.
    """
    texts = [
        cell
        for column in columns
        for cell in column
        if isinstance(cell, str) and _MARKED.fullmatch(cell)
    ]
    comma, point = (any(_SURE[mark].fullmatch(text) for text in texts) for mark in (",", r"\."))
    if comma != point:
        return "," if comma else "."
    broken = any(number % 1 for column in columns for number in _numbers(column))
    return "" if texts and not broken else "."
