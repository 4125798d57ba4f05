"""The readings of running tests, kept as columns: a page reads what came since the page before."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from sqlmodel import Session

from app.analysis.counting.run_columns import RunColumns
from app.domain.entities.run import Run
from app.domain.errors import StorageError, truncate
from app.domain.i18n.message import say
from app.services.lru_cache import LruCache
from app.storage.database.damaged_values import NO_DATE
from app.storage.repositories import runs
from app.storage.repositories.narrow_readings import (
    Change,
    last_change,
    narrow_readings,
    newer_readings,
)

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
        known = {run.id: self._known(run, change) for run in of_runs}
        last = {run_id: int(columns.ids.max(initial=0)) for run_id, columns in known.items()}
        # Of a run that had none yet all are new, and those are found by their run.
        behind = {one: after for one, after in last.items() if 0 < after < standings[one][1]}
        for run_id, rows in newer_readings(session, behind).items():
            known[run_id] = known[run_id].with_more(_columns(rows))
        for run in of_runs:
            if len(known[run.id]) != standings[run.id][0]:
                known[run.id] = all_columns(session, run.id)
            self._kept.put(run.course, _Noted(change, known[run.id]))
        return known

    def _known(self, run: Run, change: Change) -> RunColumns:
        noted: _Noted | None = self._kept.find(run.course)
        return noted.columns if noted and noted.change == change else _NONE


_NONE = RunColumns.of_rows(())


def all_columns(session: Session, run_id: int) -> RunColumns:
    """All readings of a run. Raises StorageError for damage."""
    return _columns(narrow_readings(session, run_id))


def _columns(rows: Sequence[Sequence[Any]]) -> RunColumns:
    try:
        return RunColumns.of_rows(rows)
    except ValueError as error:
        raise StorageError(say(NO_DATE, value=truncate(str(error)))) from error
