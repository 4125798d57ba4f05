"""What all tables have in common: names of constraints, and names that last."""

import secrets
from typing import Protocol

from sqlalchemy import Index, MetaData, text
from sqlmodel import Field, SQLModel

SQLModel.metadata.naming_convention = {
    "ix": "ix_%(column_0_label)s",
    "uq": "uq_%(table_name)s_%(column_0_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_name)s_%(referred_table_name)s",
    "pk": "pk_%(table_name)s",
}
metadata: MetaData = SQLModel.metadata


def unique_while_kept(name: str, *columns: str) -> Index:
    """An index that lets no two rows be alike in these columns, unless one lies in the bin.

    It says so to SQLite; `complete_indexes` repeats it where tables are made.
    """
    return Index(name, *columns, unique=True, sqlite_where=text("deleted_at IS NULL"))


def complete_indexes() -> None:
    """Say to PostgreSQL, too, which rows an index holds.

    Not where it is declared: that loads the dialect, a thirtieth of the start on a data file.
    """
    for table in metadata.tables.values():
        for index in table.indexes:
            kept = index.dialect_options["sqlite"]["where"]
            if kept is not None:
                index.dialect_options["postgresql"]["where"] = kept


def new_uid() -> str:
    """A name for a thing that is the same in every copy of the records: 128 random bits."""
    return secrets.token_hex(16)


class Numbered(Protocol):
    """A row with a number in its table, None until it is stored."""

    id: int | None


def number_of(row: Numbered) -> int:
    """The number of a stored row. Raises ValueError for one that is not stored yet."""
    if row.id is None:
        raise ValueError(f"a {type(row).__name__} is used before it was stored")
    return row.id


class Identified(SQLModel):
    """A row that is known again when records of two data files are brought together."""

    uid: str = Field(default_factory=new_uid, max_length=32, unique=True)
