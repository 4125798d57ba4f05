"""The readings of running tests, kept as columns: a page reads what came since the page before."""

from collections.abc import Sequence
from dataclasses import dataclass

from sqlmodel import Session

from app.analysis.counting.run_columns import RunColumns
from app.domain.entities.run import Run
from app.domain.errors import StorageError, truncate
from app.domain.i18n.message import say
from app.services.lru_cache import LruCache
from app.storage.database.damaged_values import NO_DATE
from app.storage.repositories import runs
from app.storage.repositories.narrow_readings import Change, last_change, narrow_readings

# More are hardly ever tested at the same time; a logger's 140,000 readings of one take 6 MB.
RUNS_KEPT = 32


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

    def columns(self, session: Session, of_runs: Sequence[Run]) -> dict[int, RunColumns]:
        """All readings of these runs by their numbers, struck ones too.

        For sessions that only read.
        """
        if not of_runs:
            return {}
        change, standings = last_change(session), runs.standings(session, [r.id for r in of_runs])
        return {run.id: self._of(session, run, change, *standings[run.id]) for run in of_runs}

    def _of(
        self, session: Session, run: Run, change: Change, count: int, newest: int
    ) -> RunColumns:
        known: _Noted | None = self._kept.find(run.course)
        columns = None
        if known is not None and known.change == change and len(known.columns):
            columns, last = known.columns, int(known.columns.ids.max())
            if newest > last:
                columns = columns.with_more(columns_after(session, run.id, last))
        if columns is None or len(columns) != count:
            columns = columns_after(session, run.id)
        self._kept.put(run.course, _Noted(change, columns))
        return columns


def columns_after(session: Session, run_id: int, reading_id: int = 0) -> RunColumns:
    """The readings stored after that one; all of them after 0. Raises StorageError for damage."""
    rows = narrow_readings(session, run_id, reading_id)
    try:
        return RunColumns.of_rows(rows)
    except ValueError as error:
        raise StorageError(say(NO_DATE, value=truncate(str(error)))) from error
