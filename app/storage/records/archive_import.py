"""Bringing plain rows into the data file: new ones are added, what is there stays as it is."""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from itertools import islice
from typing import Any

import sqlalchemy as sa
from sqlalchemy.exc import DataError, IntegrityError
from sqlmodel import Session

from app.domain.entities.run import RunState
from app.domain.errors import InvalidInput
from app.domain.i18n.marks import N_
from app.domain.i18n.message import say
from app.domain.records.merge_report import Conflict, Difference, MergeReport, TableCount
from app.domain.records.table_schema import Row, TableSchema
from app.storage.database.engine import broken_rule, count_on
from app.storage.records.binary_columns import packed
from app.storage.records.id_map import IdMap
from app.storage.records.moved_readings import FormerMoments
from app.storage.records.row_differences import differences, name_of
from app.storage.records.tables_as_rows import columns_of, is_empty, plain_row, record_tables
from app.storage.repositories import batteries
from app.storage.schema.tables import metadata

_ROWS_AT_ONCE = 500
_STAYS = N_("yours differs and stays")
_TAKEN = N_("another test of this battery starts at that moment, so this one was left out")
_GIVEN_UP = N_(
    "Running test “{name}”: it comes in with its readings as one that was given up, because "
    "another test of this battery is running, and a battery runs one at a time. You can go on "
    "with it when the other one has ended."
)

ContentOf = Callable[[Row], Any]


class Merge:
    """One archive on its way into the data file, table by table, parents first.

    A row is known again by the identity of its table. One that is there with equal content is
    skipped, one with other content is a conflict, and a new one gets a number that is free; where
    its table was empty it keeps its own.
    """

    def __init__(self, session: Session) -> None:
        self._session = session
        self._numbers = IdMap()
        self._counts: list[TableCount] = []
        self._conflicts: list[Conflict] = []
        self._changed: list[str] = []
        self.was_empty = records_are_empty(session)

    @property
    def report(self) -> MergeReport:
        counts, conflicts = tuple(self._counts), tuple(self._conflicts)
        return MergeReport(self.was_empty, counts, conflicts, tuple(self._changed))

    def take(
        self,
        table: TableSchema,
        rows: Iterable[Row],
        content_of: ContentOf | None = None,
        former: FormerMoments | None = None,
    ) -> list[int]:
        """Bring in the rows of one table; returns the numbers of those that are new.

        content_of gives what the table keeps as bytes, former the readings that were moved. Raises
        InvalidInput for a row that refers to nothing or repeats another.
        """
        intake = _Intake(self._session, table, self._numbers, content_of, former)
        # With bytes each row goes by itself, so that one file at a time is in memory.
        for some in _in_pieces(rows, 1 if content_of else _ROWS_AT_ONCE):
            intake.take(some)
        if intake.added:
            count_on(self._session, metadata.tables[table.name])
        self._counts.append(intake.count)
        self._conflicts += intake.conflicts
        self._changed += intake.changed
        return intake.added


def records_are_empty(session: Session) -> bool:
    """Whether nothing was recorded yet; settings alone are no records."""
    return all(is_empty(session, table) for table in record_tables() if table.numbered)


class _Intake:
    """The rows of one table coming in."""

    def __init__(
        self,
        session: Session,
        table: TableSchema,
        numbers: IdMap,
        content_of: ContentOf | None,
        former: FormerMoments | None,
    ) -> None:
        self._session = session
        self._table = table
        self._rows = metadata.tables[table.name]
        self._numbers = numbers
        self._content_of = content_of
        self._former = former
        self._fresh = is_empty(session, table)
        self._next = 0 if self._fresh else self._highest() + 1
        self._outcomes: Counter[str] = Counter()
        self._running = set(self._batteries_running()) if table.name == "run" else set()
        self.changed: list[str] = []
        self.conflicts: list[Conflict] = []
        self.added: list[int] = []

    @property
    def count(self) -> TableCount:
        return TableCount(say(self._table.title), **self._outcomes)

    @property
    def _where(self) -> str:
        return say("{table} of the archive", table=say(self._table.title))

    def take(self, rows: list[Row]) -> None:
        """Sort the rows into new, same, differing and left out; add the new ones."""
        pairs = [(row, self._numbers.resolved(self._table, row)) for row in rows]
        known = self._known([resolved for _, resolved in pairs if resolved is not None])
        new: list[Row] = []
        for row, resolved in pairs:
            if resolved is None:
                self._leave_out(row)
                continue
            here = known.get(_identity(self._table, resolved))
            if here is None and self._former is not None and not self._fresh:
                here = self._former.find(row["id"], resolved)
            if here is not None:
                self._compare(row, resolved, here)
            elif self._start_is_taken(resolved):
                self._conflict(resolved, _TAKEN, ())
                self._leave_out(row)
            else:
                self._one_runs(resolved)
                new.append(self._numbered(row, resolved))
        if new:
            self._add(new)

    def _known(self, rows: list[Row]) -> dict[tuple[Any, ...], Row]:
        """Rows of the data file with the identities of these."""
        if self._fresh or not rows:
            return {}
        columns = [self._rows.c[name] for name in self._table.identity]
        wanted = [_identity(self._table, row) for row in rows]
        query = sa.select(*columns_of(self._table)).where(sa.tuple_(*columns).in_(wanted))
        found = map(plain_row, self._session.execute(query).mappings())
        return {_identity(self._table, row): row for row in found}

    def _compare(self, row: Row, resolved: Row, here: Row) -> None:
        if self._table.numbered:
            self._numbers.know(self._table, row["id"], here["id"])
        content = None if self._content_of is None else self._content_of(resolved)
        found = differences(self._session, self._table, here, resolved, content)
        self._outcomes["differing" if found else "same"] += 1
        if found:
            self._conflict(resolved, _STAYS, found)

    def _conflict(self, row: Row, words: str, found: tuple[Difference, ...]) -> None:
        thing = say(self._table.thing)
        self.conflicts.append(Conflict(thing, self._name_of(row), say(words), found))

    def _name_of(self, row: Row) -> str:
        name = name_of(self._table, row)
        if "battery_id" not in row:
            return name
        return f"{batteries.names(self._session)[row['battery_id']]}, {name}"

    def _leave_out(self, row: Row) -> None:
        self._outcomes["left_out"] += 1
        if self._table.numbered:
            self._numbers.leave_out(self._table, row["id"])

    def _start_is_taken(self, row: Row) -> bool:
        """Two tests of one battery cannot start at the same moment, outside the bin."""
        if self._table.name != "discharge" or self._fresh or row["deleted_at"] is not None:
            return False
        columns = self._rows.c
        there = sa.exists().where(
            columns.battery_id == row["battery_id"],
            columns.started_at == row["started_at"],
            columns.deleted_at.is_(None),
        )
        return bool(self._session.execute(sa.select(there)).scalar_one())

    def _batteries_running(self) -> Iterator[int]:
        """Numbers of the batteries here that run a test."""
        columns = self._rows.c
        query = sa.select(columns.battery_id).where(columns.state == RunState.RUNNING)
        yield from self._session.execute(query).scalars()

    def _one_runs(self, row: Row) -> None:
        """A battery runs one test at a time: another one comes in as one that was given up."""
        if self._table.name != "run" or row["state"] != RunState.RUNNING:
            return
        if row["battery_id"] in self._running:
            # As if its owner had given it up: the feed is closed, and he can go on with it.
            row |= {"state": RunState.ABANDONED.value, "feed_hash": None}
            row["version"] += 1
            self.changed.append(say(_GIVEN_UP, name=self._name_of(row)))
        self._running.add(row["battery_id"])

    def _numbered(self, row: Row, resolved: Row) -> Row:
        """The row as it is added, with a number that is free."""
        if self._table.numbered:
            if not self._fresh:
                resolved["id"], self._next = self._next, self._next + 1
            self._numbers.know(self._table, row["id"], resolved["id"])
            self.added.append(resolved["id"])
        if self._content_of is not None:
            resolved |= packed(self._table.name, self._content_of(resolved))
        return resolved

    def _add(self, rows: list[Row]) -> None:
        try:
            self._session.execute(sa.insert(self._rows), rows)
        except IntegrityError as error:
            allowed = say("rows that do not repeat each other")
            raise InvalidInput.because(self._where, broken_rule(error), allowed) from error
        except DataError as error:
            allowed = say("values that the database can hold")
            raise InvalidInput.because(self._where, broken_rule(error), allowed) from error
        self._outcomes["new"] += len(rows)

    def _highest(self) -> int:
        if not self._table.numbered:
            return 0
        return int(self._session.execute(sa.select(sa.func.max(self._rows.c.id))).scalar_one())


def _identity(table: TableSchema, row: Row) -> tuple[Any, ...]:
    return tuple(row[name] for name in table.identity)


def _in_pieces(rows: Iterable[Row], size: int) -> Iterator[list[Row]]:
    waiting = iter(rows)
    while some := list(islice(waiting, size)):
        yield some
