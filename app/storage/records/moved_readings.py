"""Readings of running tests whose time was corrected: the same reading at another moment.

A reading is known again by its moment. One that was moved in one copy of the records is still the
same in the other, and must not come in a second time.
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, datetime
from typing import Any

import sqlalchemy as sa
from sqlmodel import Session

from app.domain.records.table_schema import Row
from app.storage.records.tables_as_rows import columns_of, plain_row, record_table
from app.storage.schema.packing import unpack_row
from app.storage.schema.tables import metadata

READING = "run_reading"


class FormerMoments:
    """Where readings stood before they were moved, here and in the archive."""

    def __init__(self, session: Session, in_archive: Mapping[int, Sequence[datetime]]) -> None:
        self._session = session
        self._in_archive = in_archive
        self._readings = metadata.tables[READING]
        self._here = self._moved_here()

    def find(self, in_archive: int, row: Row) -> Row | None:
        """The reading here that is this one, at another moment; None where there is none."""
        run_id, former = row["run_id"], self._in_archive.get(in_archive, ())
        for at in (row["at"], *former):
            number = self._here.get((run_id, at))
            if number is not None:
                return self._row(self._readings.c.id == number)
        for at in former:
            columns = self._readings.c
            found = self._row(sa.and_(columns.run_id == run_id, columns.at == at))
            if found is not None:
                return found
        return None

    def _moved_here(self) -> dict[tuple[int, datetime], int]:
        """The number of each reading by its run and every moment that it had before."""
        revisions, readings = metadata.tables["revision"].c, self._readings.c
        query = sa.select(readings.id, readings.run_id, readings.at, revisions.before).where(
            revisions.thing == READING, revisions.thing_id == readings.id
        )
        moved: dict[tuple[int, datetime], int] = {}
        for number, run_id, at, before in self._session.execute(query):
            for former in former_moments([unpack_row(before)]):
                if former != at:
                    moved[(run_id, former)] = number
        return moved

    def _row(self, where: sa.ColumnElement[bool]) -> Row | None:
        query = sa.select(*columns_of(record_table(READING))).where(where)
        found = self._session.execute(query).mappings().first()
        return None if found is None else plain_row(found)


def former_moments(replaced: Iterable[dict[str, Any]]) -> list[datetime]:
    """The moments in rows of readings that edits replaced."""
    moments = []
    for before in replaced:
        try:
            at = datetime.fromisoformat(str(before.get("at")))
        except ValueError:
            continue
        moments.append(at.astimezone(UTC) if at.tzinfo else at.replace(tzinfo=UTC))
    return moments
