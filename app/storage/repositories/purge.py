"""Removing a thing for good with all that belongs to it, along the references between tables.

The tables themselves say what belongs to what, so that a new one is not forgotten.
"""

from collections.abc import Iterator, Sequence

import sqlalchemy as sa
from sqlmodel import Session

from app.domain.errors import NotFound, StaleEdit
from app.domain.i18n.message import say
from app.storage.repositories import computed
from app.storage.schema.tables import metadata

# A statement takes so many numbers with ease; a run may have hundreds of thousands of readings.
_AT_ONCE = 500
_REVISION = "revision"


def belonging(session: Session, table: str, number: int) -> dict[str, list[int]]:
    """Numbers of all rows that go with a row in the bin, itself included, by table.

    Raises NotFound, and StaleEdit where it does not lie in the bin.
    """
    _check_binned(session, table, number)
    found: dict[str, set[int]] = {table: {number}}
    waiting = [(table, [number])]
    while waiting:
        parent, numbers = waiting.pop()
        for key in _references_to(parent):
            child = key.parent.table
            rows = set(_numbers(session, child, key.parent, numbers))
            fresh = sorted(rows - found.setdefault(child.name, set()))
            if fresh:
                found[child.name].update(fresh)
                waiting.append((child.name, fresh))
    found[_REVISION] = set(_revisions(session, found))
    return {name: sorted(numbers) for name, numbers in found.items() if numbers}


def remove(session: Session, rows: dict[str, list[int]]) -> None:
    """Delete these rows, children before their parents, and what was computed of them."""
    computed.forget(session, _batteries_of(session, rows))
    for table in reversed(metadata.sorted_tables):
        for some in _parts(rows.get(table.name, [])):
            session.execute(sa.delete(table).where(table.c.id.in_(some)))


def _batteries_of(session: Session, rows: dict[str, list[int]]) -> set[int]:
    """The batteries whose answers were made of these rows."""
    found = set(rows.get("battery", ()))
    for name in rows.keys() & {"discharge", "event", "stay"}:
        table = metadata.tables[name]
        for some in _parts(rows[name]):
            query = sa.select(table.c.battery_id).where(table.c.id.in_(some))
            found.update(session.execute(query).scalars())
    return found


def _check_binned(session: Session, table: str, number: int) -> None:
    columns = metadata.tables[table].c
    query = sa.select(columns.deleted_at).where(columns.id == number)
    row = session.execute(query).first()
    if row is None:
        raise NotFound(
            say("There is no {thing} {number} any more.", thing=say(table), number=number)
        )
    if row[0] is None:
        raise StaleEdit(say("It is not in the bin: it was restored. Nothing was removed."))


def _references_to(parent: str) -> Iterator[sa.ForeignKey]:
    for table in metadata.sorted_tables:
        yield from (key for key in table.foreign_keys if key.column.table.name == parent)


def _numbers(
    session: Session, table: sa.Table, column: sa.Column[int], among: Sequence[int]
) -> Iterator[int]:
    for some in _parts(among):
        yield from session.execute(sa.select(table.c.id).where(column.in_(some))).scalars()


def _revisions(session: Session, found: dict[str, set[int]]) -> Iterator[int]:
    """What edits of these rows replaced."""
    columns = metadata.tables[_REVISION].c
    for name, numbers in found.items():
        for some in _parts(sorted(numbers)):
            query = sa.select(columns.id).where(columns.thing == name, columns.thing_id.in_(some))
            yield from session.execute(query).scalars()


def _parts(numbers: Sequence[int]) -> Iterator[Sequence[int]]:
    for start in range(0, len(numbers), _AT_ONCE):
        yield numbers[start : start + _AT_ONCE]
