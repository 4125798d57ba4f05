"""Whether anything of a battery has changed: a digest of all rows that its report is made of."""

import hashlib
from collections.abc import Sequence
from typing import Any

from sqlalchemy import Table, select, text
from sqlmodel import Session

from app.storage.schema.tables import metadata

_OF_A_BATTERY = (
    ("battery", "id"),
    ("discharge", "battery_id"),
    ("event", "battery_id"),
    ("stay", "battery_id"),
)


def digests(session: Session, battery_ids: Sequence[int]) -> dict[int, bytes]:
    """By battery: equal as long as it, its tests, its events, its stays, all meters and places are.

    Versions would not do: a backup that was brought back gives them anew.
    """
    common = [_rows(session, metadata.tables[name], None, ()) for name in ("meter", "place")]
    made = {battery_id: hashlib.sha256(repr(common).encode()) for battery_id in battery_ids}
    for name, owner in _OF_A_BATTERY:
        table = metadata.tables[name]
        for row in _rows(session, table, owner, battery_ids):
            made[getattr(row, owner)].update(repr((name, *row)).encode())
    return {battery_id: one.digest() for battery_id, one in made.items()}


def _rows(session: Session, table: Table, owner: str | None, ids: Sequence[int]) -> list[Any]:
    # As the database has them: nothing of it is read, so nothing needs its type.
    query = select(text("*")).select_from(table).order_by(table.c.id)
    if owner is not None:
        query = query.where(table.c[owner].in_(ids))
    return list(session.connection().execute(query))
