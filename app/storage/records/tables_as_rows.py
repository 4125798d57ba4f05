"""The tables as plain rows, for every column that the schema has; no row object leaves here."""

from collections.abc import Iterator, Mapping
from datetime import UTC, datetime
from enum import StrEnum
from typing import Any

import sqlalchemy as sa
from sqlmodel import Session

from app.domain.quantity import Quantity
from app.domain.records.table_schema import ColumnKind, FieldSchema, Row, TableSchema
from app.storage.database.collation import in_byte_order
from app.storage.schema.battery_columns import BATTERY, EVENT, METER
from app.storage.schema.discharge_columns import ATTACHMENT, DISCHARGE, PHOTO, RUN, RUN_READING
from app.storage.schema.packing import unpack_row
from app.storage.schema.place_columns import PLACE, STAY, TEMPERATURE_DAY, TEMPERATURE_LOG
from app.storage.schema.program_columns import FILE_SHAPE, REVISION, SETTING
from app.storage.schema.sentences_as_json import in_english
from app.storage.schema.share_columns import SHARE, SHARE_BESIDE
from app.storage.schema.table_docs import Column, StoredText, TableDocs
from app.storage.schema.tables import metadata

# Parents before their children; a test checks that no table is missing.
DESCRIBED: Mapping[str, TableDocs] = {
    "setting": SETTING,
    "file_shape": FILE_SHAPE,
    "battery": BATTERY,
    "meter": METER,
    "discharge": DISCHARGE,
    "event": EVENT,
    "attachment": ATTACHMENT,
    "photo": PHOTO,
    "share": SHARE,
    "share_beside": SHARE_BESIDE,
    "run": RUN,
    "run_reading": RUN_READING,
    "place": PLACE,
    "stay": STAY,
    "temperature_log": TEMPERATURE_LOG,
    "temperature_day": TEMPERATURE_DAY,
    "revision": REVISION,
}
# Bytes that an archive keeps in files of their own.
IN_FILES = ("discharge.readings", "attachment.packed", "photo.jpeg")
_KINDS: tuple[tuple[type[sa.types.TypeEngine[Any]], ColumnKind], ...] = (
    (sa.Boolean, ColumnKind.BOOLEAN),
    (sa.Integer, ColumnKind.INTEGER),
    (sa.Float, ColumnKind.NUMBER),
    (sa.DateTime, ColumnKind.MOMENT),
    (sa.Date, ColumnKind.DATE),
    (sa.String, ColumnKind.TEXT),
    (sa.LargeBinary, ColumnKind.OBJECT),
)
# A nothing in a text cannot be written into any CSV file; its picture can.
_NOTHING, _PICTURE = "\0", "␀"


def record_tables() -> tuple[TableSchema, ...]:
    """All tables of the records, parents first."""
    return tuple(_TABLES.values())


def record_table(name: str) -> TableSchema:
    """One table by its name. Raises KeyError."""
    return _TABLES[name]


def has_table(name: str) -> bool:
    """Whether the records have a table of that name."""
    return name in _TABLES


def rows(session: Session, table: TableSchema) -> Iterator[Row]:
    """Every row in order of its number. The bytes of files are not among the columns."""
    key = metadata.tables[table.name].c[table.primary_key]
    order = key if table.numbered else in_byte_order(key)
    query = sa.select(*columns_of(table)).order_by(order)
    # Readings of running tests may be many: they are never all in memory at once.
    for found in session.execute(query, execution_options={"yield_per": 1000}).mappings():
        yield plain_row(found)


def plain_row(found: sa.RowMapping) -> Row:
    """A row with moments in UTC, sentences in English and texts that any file can hold."""
    return {name: _plain(name, value) for name, value in found.items()}


def columns_of(table: TableSchema) -> list[sa.Column[Any]]:
    """Its columns in the schema, without the bytes of files."""
    columns = metadata.tables[table.name].c
    return [columns[column.name] for column in table.columns]


def is_empty(session: Session, table: TableSchema) -> bool:
    """Whether the table has no row at all."""
    some = sa.select(sa.literal(1)).select_from(metadata.tables[table.name]).limit(1)
    return session.execute(some).first() is None


def holds_text(session: Session, table: TableSchema, text: str) -> bool:
    """Whether some cell of the table is exactly this text."""
    columns = metadata.tables[table.name].c
    texts = [columns[c.name] == text for c in table.columns if c.kind is ColumnKind.TEXT]
    return (
        bool(texts) and session.execute(sa.select(sa.exists().where(sa.or_(*texts)))).scalar_one()
    )


def _plain(column: str, value: Any) -> Any:
    if isinstance(value, str):
        return in_english(column, value).replace(_NOTHING, _PICTURE)
    if isinstance(value, datetime):
        return value.astimezone(UTC)
    if isinstance(value, bytes):
        return {name: in_english(name, one) for name, one in unpack_row(value).items()}
    return value


def kind_of(column: sa.Column[Any]) -> ColumnKind:
    """What the type of a column in the schema says that it holds."""
    # SQLModel wraps some types; what is inside tells.
    inside = getattr(column.type, "impl_instance", column.type)
    return next(kind for type_, kind in _KINDS if isinstance(inside, type_))


def _column(described: Column, column: sa.Column[Any]) -> FieldSchema:
    holds = described.holds
    rule = holds if isinstance(holds, StoredText) else None
    choices = holds if isinstance(holds, type) else None
    return FieldSchema(
        name=column.name,
        kind=ColumnKind.LIST if rule is not None and rule.is_list else kind_of(column),
        title=described.title,
        unit=described.unit,
        description=described.description + ("" if choices is None else _meanings(choices)),
        nullable=bool(column.nullable),
        range=holds if isinstance(holds, Quantity) else None,
        choices=() if choices is None else tuple(choices),
        rule=rule,
        added_later=described.added_later,
        earlier=described.earlier,
    )


def _meanings(choices: type[StrEnum]) -> str:
    meanings = (f"{one.value} ({getattr(one, 'label', one.value)})" for one in choices)
    return f" One of: {', '.join(meanings)}."


def _table(name: str, described: TableDocs) -> TableSchema:
    table = metadata.tables[name]
    keys = [column for column in table.c if column.foreign_keys]
    return TableSchema(
        name=name,
        title=described.title,
        thing=described.thing,
        description=described.description,
        columns=tuple(
            _column(described.columns[c.name], c)
            for c in table.c
            if f"{name}.{c.name}" not in IN_FILES
        ),
        primary_key=next(iter(table.primary_key)).name,
        references=tuple((c.name, next(iter(c.foreign_keys)).column.table.name) for c in keys),
        identity=described.identity,
        uncompared=described.uncompared,
        label=described.label,
        added_later=described.added_later,
    )


_TABLES = {name: _table(name, described) for name, described in DESCRIBED.items()}
