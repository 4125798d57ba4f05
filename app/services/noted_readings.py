"""The readings of running tests, kept as columns: a page reads what came since the page before."""

from dataclasses import dataclass

from sqlmodel import Session

from app.analysis.counting.run_columns import RunColumns
from app.domain.errors import StorageError, truncate
from app.domain.i18n.message import say
from app.services.lru_cache import LruCache
from app.storage.database.damaged_values import NO_DATE
from app.storage.repositories import runs
from app.storage.repositories.narrow_readings import Change, last_change, narrow_readings

# Batteries that are tested at the same time.
RUNS_KEPT = 8


@dataclass(frozen=True)
class _Noted:
    change: Change
    columns: RunColumns


class NotedReadings:
    """What was read of the runs asked for last.

    Kept only from what was committed; read anew after any edit of a reading, and where the number
    of readings is not that of those known and those behind them.
    """

    def __init__(self, size: int = RUNS_KEPT) -> None:
        self._kept: LruCache[_Noted] = LruCache(size)

    def columns(self, session: Session, run_id: int) -> RunColumns:
        """All readings of a run, struck ones too. For sessions that only read."""
        # The number of a run that is gone may be given again: its name is not.
        name, change = runs.course_of(session, run_id), last_change(session)
        known: _Noted | None = self._kept.find(name)
        if known is not None and known.change == change and len(known.columns):
            newest = int(known.columns.ids.max())
            columns = known.columns.with_more(columns_after(session, run_id, newest))
            if len(columns) == runs.count_readings(session, run_id):
                self._kept.put(name, _Noted(change, columns))
                return columns
        columns = columns_after(session, run_id)
        self._kept.put(name, _Noted(change, columns))
        return columns


def columns_after(session: Session, run_id: int, reading_id: int = 0) -> RunColumns:
    """The readings stored after that one; all of them after 0. Raises StorageError for damage."""
    rows = narrow_readings(session, run_id, reading_id)
    try:
        return RunColumns.of_rows(rows)
    except ValueError as error:
        raise StorageError(say(NO_DATE, value=truncate(str(error)))) from error
