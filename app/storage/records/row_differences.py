"""In which fields a row of an archive differs from the one that is here."""

from array import array
from datetime import UTC, date, datetime
from typing import Any

from sqlmodel import Session

from app.domain.errors import truncate
from app.domain.i18n.message import say
from app.domain.readings import Readings
from app.domain.records.merge_report import Difference
from app.domain.records.table_schema import Row, TableSchema
from app.storage.records.binary_columns import readings_of

# What opens something is never shown beside a field.
_SECRET = ("token", "token_hash", "feed_hash")


def differences(
    session: Session, table: TableSchema, here: Row, there: Row, content: Any
) -> tuple[Difference, ...]:
    """Every field that differs. The number of a row and what is not compared may."""
    found = [
        Difference(say(column.title), _shown(column.name, here), _shown(column.name, there))
        for column in table.columns
        if column.name not in ("id", *table.uncompared)
        and not _same(here[column.name], there[column.name])
    ]
    # Other files are compared by their SHA-256, which is a column.
    if isinstance(content, Readings):
        kept = readings_of(session, here["uid"])
        if not _same(kept, content):
            here_rows, there_rows = (say("{count} rows", count=len(one)) for one in (kept, content))
            found.append(Difference(say("Readings"), here_rows, there_rows))
    return tuple(found)


def name_of(table: TableSchema, row: Row) -> str:
    """What a row is called when its owner is told of it."""
    value = row[table.label] if table.label else row["id"]
    if isinstance(value, datetime):
        return f"{value.astimezone(UTC):%Y-%m-%d %H:%M:%S} UTC"
    return truncate(str(value)) or say("without a name")


def _same(one: Any, other: Any) -> bool:
    """Equality, with readings equal where they are so bit for bit or both missing."""
    if isinstance(one, dict) and isinstance(other, dict):
        return set(one) == set(other) and all(_same(one[key], other[key]) for key in one)
    if isinstance(one, Readings) and isinstance(other, Readings):
        pairs = [(getattr(one, name), getattr(other, name)) for name in one.columns]
        return one.columns == other.columns and all(_same_column(a, b) for a, b in pairs)
    return bool(one == other)


def _same_column(one: "array[float]", other: "array[float]") -> bool:
    if len(one) != len(other):
        return False
    return all(a == b or (a != a and b != b) for a, b in zip(one, other, strict=True))


def _shown(column: str, row: Row) -> str:
    value = row[column]
    if value is None:
        return say("nothing")
    if column in _SECRET:
        return say("not shown")
    if isinstance(value, dict):
        return say("another row")
    if isinstance(value, date):
        return str(value)
    return f"“{truncate(value, 40)}”" if isinstance(value, str) else f"{value}"
