"""The names of things that are the same in every copy of the records, beside their numbers."""

import sqlalchemy as sa
from sqlmodel import Session

from app.storage.schema.tables import metadata


def lasting_names(session: Session, table: str) -> dict[int, str]:
    """Every lasting name of a table by number."""
    columns = metadata.tables[table].c
    found = session.execute(sa.select(columns.id, columns.uid))
    return {row.id: row.uid for row in found}


def number_of(session: Session, table: str, uid: str) -> int | None:
    """The number of the thing with this lasting name, in the bin or not."""
    columns = metadata.tables[table].c
    found = session.execute(sa.select(columns.id).where(columns.uid == uid)).scalar_one_or_none()
    return None if found is None else int(found)


def give_lasting_name(session: Session, table: str, number: int, uid: str) -> None:
    """Name a thing that was just added as another copy of the records has it."""
    rows = metadata.tables[table]
    session.execute(sa.update(rows).where(rows.c.id == number).values(uid=uid))


def longest(table: str, column: str) -> int | None:
    """How many characters a text column takes; None where any number of them."""
    length = getattr(metadata.tables[table].c[column].type, "length", None)
    return None if length is None else int(length)
