"""Values of a data file that are none: a sentence instead of a fault.

SQLite keeps whatever it was given; a day that is no day is found when it is read.
"""

from collections.abc import Callable
from typing import Any

from sqlalchemy import Date, DateTime, Engine
from sqlalchemy.dialects.sqlite import DATE, DATETIME

from app.domain.errors import StorageTrouble, shorten
from app.domain.marks import N_
from app.domain.message import say

NO_DATE = N_(
    "The data file is damaged: it holds “{value}” where a date belongs. Nothing was changed. "
    "“fadeline check” says where that is and what to do."
)
Read = Callable[[Any], Any]


def watch_dates(engine: Engine) -> None:
    """Let the engine of a data file say what is wrong with a date that it cannot read."""
    dialect = engine.dialect
    # Of this engine alone: the dialect's own table is shared by all.
    dialect.colspecs = {**dialect.colspecs, Date: _CheckedDate, DateTime: _CheckedDateTime}


class _CheckedDate(DATE):
    def result_processor(self, dialect: Any, coltype: object) -> Read | None:
        return _checked(super().result_processor(dialect, coltype))


class _CheckedDateTime(DATETIME):
    def result_processor(self, dialect: Any, coltype: object) -> Read | None:
        return _checked(super().result_processor(dialect, coltype))


def _checked(read: Read | None) -> Read | None:
    if read is None:
        return None

    def checked(value: Any) -> Any:
        try:
            return read(value)
        except (ValueError, TypeError) as error:
            raise StorageTrouble(say(NO_DATE, value=shorten(str(value)))) from error

    return checked
