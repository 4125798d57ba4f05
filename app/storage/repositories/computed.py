"""What was computed of batteries, under the key of what it was made of."""

from collections.abc import Collection, Mapping
from importlib import import_module
from typing import NamedTuple

from sqlalchemy import Engine, delete, select
from sqlmodel import Session

from app.storage.database.engine import aside_transaction
from app.storage.schema.computed_table import COMPUTED


class Made(NamedTuple):
    """A part of a battery's answers as packed JSON."""

    battery_id: int
    part: str
    key: str
    content: bytes


def found(session: Session, part: str, keys: Mapping[int, str]) -> dict[int, bytes]:
    """The contents of those batteries that are kept under these keys, in one statement."""
    if not keys:
        return {}
    columns = COMPUTED.c
    query = select(columns.battery_id, columns.key, columns.content).where(
        columns.part == part, columns.battery_id.in_(keys)
    )
    rows = session.connection().execute(query)
    return {number: content for number, key, content in rows if keys[number] == key}


def keep(engine: Engine, made: Collection[Made]) -> None:
    """Replace what was kept before, all of it or nothing, without waiting for other writers.

    Raises StorageError and SQLAlchemyError where the database cannot be written to now.
    """
    if not made:
        return
    # In one order, so that two processes cannot wait for each other.
    rows = [one._asdict() for one in sorted(made)]
    with aside_transaction(engine) as connection:
        # Of the two that can replace a row, the one that is there: each takes time to load.
        dialect = import_module(f"sqlalchemy.dialects.{connection.dialect.name}")
        insert = dialect.insert(COMPUTED)
        new = {name: insert.excluded[name] for name in ("key", "content")}
        connection.execute(
            insert.on_conflict_do_update(index_elements=["battery_id", "part"], set_=new), rows
        )


def forget(session: Session, battery_ids: Collection[int]) -> None:
    """Remove what was computed of these batteries, inside the caller's transaction."""
    if battery_ids:
        session.execute(delete(COMPUTED).where(COMPUTED.c.battery_id.in_(battery_ids)))
