"""Whether anything of a battery has changed: a digest of all rows that its report is made of."""

import hashlib
import marshal
from collections.abc import Iterable, Iterator, Sequence
from functools import cache
from itertools import groupby
from operator import itemgetter
from typing import Any

from sqlalchemy import (
    BindParameter,
    Connection,
    Select,
    Table,
    Text,
    bindparam,
    cast,
    func,
    literal,
    literal_column,
    select,
    text,
    union_all,
)
from sqlalchemy.dialects.postgresql import aggregate_order_by
from sqlmodel import Session

from app.storage.schema.tables import metadata

# Tables by the column that says whose a row is; those of nobody bear on every battery.
_OWNERS = {
    "battery": "id",
    "discharge": "battery_id",
    "event": "battery_id",
    "stay": "battery_id",
    "meter": None,
    "place": None,
}
# Of longer readings than this: their first bytes, their length and their last bytes, among which is
# the checksum of them all (Adler-32, RFC 1950). The version of the test is in its row besides.
_WHOLE_BYTES, _CHECKED_BYTES = 4096, 16
# The owner of the rows that bear on every battery.
_ALL = 0
# The batteries asked for.
_IDS = "ids"
# Table, owner and what its rows are.
_Part = tuple[str, int, bytes]


def digests(session: Session, battery_ids: Sequence[int]) -> dict[int, str]:
    """By battery: equal as long as it, its tests, its events, its stays, all meters and places are.

    Versions would not do: a backup that was brought back gives them anew.
    """
    made = {battery_id: hashlib.sha256() for battery_id in battery_ids}
    connection = session.connection()
    on_file = connection.dialect.name == "sqlite"
    parts = (_rows if on_file else _hashed_rows)(connection, battery_ids)
    for table, owner, what in parts:
        for battery_id in battery_ids if owner == _ALL else (owner,):
            made[battery_id].update(table.encode() + what)
    return {battery_id: one.hexdigest() for battery_id, one in made.items()}


def digest_of_logs(session: Session, battery_id: int) -> str:
    """Equal as long as all temperature logs are of the places where a battery was."""
    made = hashlib.sha256()
    for query in _LOGS:
        for row in session.connection().execute(query, {"battery_id": battery_id}):
            made.update(repr(tuple(row)).encode())
    return made.hexdigest()


def _rows(connection: Connection, battery_ids: Sequence[int]) -> Iterator[_Part]:
    """Every row of a data file as it lies there: nothing is read, so nothing needs its type."""
    for name, owner in _OWNERS.items():
        asked = {} if owner is None else {_IDS: battery_ids}
        rows = map(tuple, connection.execute(_whole(name), asked).all())
        for number, of_one in groupby(rows, itemgetter(0)):
            # Format 2 knows no references between objects: equal rows give equal bytes.
            yield name, number, marshal.dumps(list(of_one), 2)


@cache
def _whole(name: str) -> Select[Any]:
    """All rows of a table, or those of some batteries; made once, for that takes longer than to
    run it."""
    table = metadata.tables[name]
    owner = _owner(table)
    # By the index of the owners: sorting whole rows would take longer than reading them.
    order: tuple[Any, ...] = (table.c.id,) if _OWNERS[name] is None else (owner, table.c.id)
    query = _of(table, select(owner, *_values(table)), bindparam(_IDS, expanding=True))
    return query.order_by(*order)


def _hashed_rows(connection: Connection, battery_ids: Sequence[int]) -> Iterable[_Part]:
    """The same of a PostgreSQL database, which hashes them itself: hardly anything is sent."""
    asked = []
    for name in _OWNERS:
        table = metadata.tables[name]
        row = cast(func.row(*_values(table)), Text)
        rows = func.string_agg(row, aggregate_order_by(literal("\n"), table.c.id))
        hashed = func.sha256(func.convert_to(rows, "UTF8"))
        owner = _owner(table)
        query = _of(table, select(literal(name), owner, hashed), battery_ids)
        asked.append(query if _OWNERS[name] is None else query.group_by(owner))
    order: tuple[Any, ...] = (literal_column("1"), literal_column("2"))
    for name, owner, what in connection.execute(union_all(*asked).order_by(*order)):
        # Of a table without a row there is nothing.
        yield name, owner, bytes(what or b"")


def _owner(table: Table) -> Any:
    owner = _OWNERS[table.name]
    return literal_column(str(_ALL)) if owner is None else table.c[owner]


def _of(
    table: Table, query: Select[Any], battery_ids: Sequence[int] | BindParameter[Any]
) -> Select[Any]:
    owner = _OWNERS[table.name]
    query = query.select_from(table)
    return query if owner is None else query.where(table.c[owner].in_(battery_ids))


def _values(table: Table) -> list[Any]:
    """All columns as the database has them."""
    plain: dict[str, Any] = {
        column.name: literal_column(f"{table.name}.{column.name}") for column in table.c
    }
    readings = plain.pop("readings", None)
    if readings is None:
        return list(plain.values())
    length = func.length(readings)
    tail = func.substr(readings, length - _CHECKED_BYTES + 1)
    return [*plain.values(), length, func.substr(readings, 1, _WHOLE_BYTES), tail]


def _of_logs() -> tuple[Select[Any], ...]:
    """The logs of the places where a battery was, and their days."""
    log, day, stay = (metadata.tables[n] for n in ("temperature_log", "temperature_day", "stay"))
    places = select(stay.c.place_id).where(stay.c.battery_id == bindparam("battery_id"))
    there = log.c.place_id.in_(places)
    of_logs = day.c.log_id.in_(select(log.c.id).where(there))
    return (
        select(text("*")).select_from(log).where(there).order_by(log.c.id),
        select(text("*")).select_from(day).where(of_logs).order_by(day.c.log_id, day.c.on_date),
    )


# Made once: to put a statement together takes as long as to run it.
_LOGS = _of_logs()
