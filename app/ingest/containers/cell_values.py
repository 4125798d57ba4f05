"""What a workbook's cell holds, and whether that is a value as a log has them."""

import re
from collections.abc import Sequence
from datetime import date, datetime, time, timedelta
from enum import StrEnum

from app.ingest.wording.cells import is_date

Cell = float | str | date | datetime | timedelta
RawCell = Cell | bool | time
SheetRow = tuple[Cell, ...]

# Longer ones are remarks; nothing behind needs them whole.
_MAX_TEXT = 200
_ERROR = re.compile(
    r"#(DIV/0!|N/A|NAME\?|NULL!|NUM!|REF!|VALUE!|SPILL!|CALC!|BLOCKED!)|Err:\d{3}|#ERR!"
)
_ISO_DURATION = re.compile(r"(-?)PT(\d+)H(\d+)M(\d+(?:\.\d+)?)S")
_VALUE_TEXT = re.compile(
    r"[+\-−]?\d[\d.,]*([eE][+\-]?\d+)?\s*[°µ]?[A-Za-z%]{0,3}"
    r"|[\d./\-]{0,10}[ T]?\d{1,4}:\d{2}(:\d{2}([.,]\d+)?)?\s*"
    r"(Z|[+\-]\d{2}:?\d{2}|[AaPp]\.?[Mm]\.?)?"
    r"|\d{1,4}[./\-]\d{1,2}[./\-]\d{2,4}"
)
# A spreadsheet that is shown a span as a time of day writes it as a moment of its first days.
_FIRST_DAYS = (date(1899, 12, 1), date(1905, 1, 1))


class Kind(StrEnum):
    """What a cell is, as far as rows of one table have the same of it in a column."""

    NOTHING = "nothing"
    WORDS = "words"
    NUMBER = "number"
    DAY = "day"
    MOMENT = "moment"
    SPAN = "span"
    WRITTEN = "written"
    """A value that was typed, or brought in, as text."""

    @property
    def is_value(self) -> bool:
        return self not in (Kind.NOTHING, Kind.WORDS)


def cleaned(cell: RawCell) -> Cell:
    """A cell without what only a spreadsheet means by it.

    Errors are no value, spans of the two kinds of files are spans, moments of a spreadsheet's
    first days are spans as well, and a text is one line.
    """
    if isinstance(cell, bool):
        return "true" if cell else "false"
    if isinstance(cell, str):
        return _cleaned_text(cell) if cell else cell
    if isinstance(cell, time):
        return timedelta(
            hours=cell.hour,
            minutes=cell.minute,
            seconds=cell.second,
            microseconds=cell.microsecond,
        )
    if isinstance(cell, date):
        day = cell.date() if isinstance(cell, datetime) else cell
        return _since_first_day(cell) if _FIRST_DAYS[0] <= day < _FIRST_DAYS[1] else cell
    return cell


def _cleaned_text(text: str) -> Cell:
    text = " ".join(text[: 2 * _MAX_TEXT].split())[:_MAX_TEXT].replace('"', "”")
    if _ERROR.fullmatch(text):
        return ""
    if span := _ISO_DURATION.fullmatch(text):
        length = timedelta(hours=int(span[2]), minutes=int(span[3]), seconds=float(span[4]))
        return -length if span[1] else length
    return text


def _since_first_day(cell: date) -> timedelta:
    """The span that a spreadsheet took for a moment: from 1899, 1900 or 1904 on."""
    moment = cell if isinstance(cell, datetime) else datetime.combine(cell, time())
    if moment.year >= 1904:
        return moment - datetime(1904, 1, 1)
    # Day 60 of the older system is one that never was: from there on it counts from a day earlier.
    first = (
        datetime(1899, 12, 31)
        if datetime(1900, 1, 1) <= moment < datetime(1900, 3, 1)
        else (datetime(1899, 12, 30))
    )
    return moment - first


def kind_of(cell: Cell) -> Kind:
    """The kind of a cleaned cell."""
    if isinstance(cell, str):
        if not cell:
            return Kind.NOTHING
        written = _VALUE_TEXT.fullmatch(cell) or is_date(cell)
        return Kind.WRITTEN if written else Kind.WORDS
    if isinstance(cell, datetime):
        return Kind.MOMENT
    if isinstance(cell, date):
        return Kind.DAY
    return Kind.SPAN if isinstance(cell, timedelta) else Kind.NUMBER


def kinds_of(row: Sequence[Cell]) -> tuple[Kind, ...]:
    return tuple(map(kind_of, row))
