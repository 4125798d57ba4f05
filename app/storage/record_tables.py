"""The tables as plain rows, for every column that the schema has; no row object leaves here."""

from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

import sqlalchemy as sa
from sqlmodel import Session

from app.domain.record_table import ColumnKind, Plain, RecordColumn, RecordTable, Row
from app.storage.ordering import in_byte_order
from app.storage.packing import unpack_row
from app.storage.record_column_words import COLUMN_WORDS
from app.storage.record_rules import CHOICES, range_of, rule_of
from app.storage.record_table_words import TABLE_WORDS
from app.storage.tables import metadata

# Parents before their children; a test checks that no table is missing.
ORDER = (
    "setting",
    "file_shape",
    "battery",
    "meter",
    "discharge",
    "event",
    "attachment",
    "photo",
    "share",
    "share_beside",
    "run",
    "run_reading",
    "place",
    "stay",
    "temperature_log",
    "temperature_day",
    "revision",
)
IDENTITY: dict[str, tuple[str, ...]] = {
    "setting": ("name",),
    "file_shape": ("headings_hash",),
    "attachment": ("discharge_id", "sha256", "name"),
    "share": ("token_hash",),
    "share_beside": ("share_id", "battery_id"),
    "run_reading": ("run_id", "at"),
    "temperature_day": ("log_id", "on_date"),
    "revision": ("thing", "thing_id", "version", "replaced_at"),
}
# What archives written before migration 0003 lack: whole tables, and columns of the battery with
# what their absence means.
_TABLES_LATER = ("place", "stay", "temperature_log", "temperature_day")
_COLUMNS_LATER: dict[str, Plain] = {
    "battery.currency": "",
    "battery.warranty_from": None,
    "battery.warranty_years": None,
    "battery.warranty_share": None,
    "battery.warranty_cycles": None,
    "battery.drawn_ah_a_week": None,
    "battery.full_discharges_a_year": None,
    "battery.waits_at_low_share": 0.5,
    "battery.waits_at_high_share": 1.0,
    "battery.charge_ah_a_day": None,
    "battery.cold_week_c": None,
    "battery.appliances": "[]",
}
# How often a link was opened is counted by each copy for itself.
UNCOMPARED = {"share": ("views", "viewed_at")}
# By which column a row is called when its owner is told of it.
LABELS = {
    "discharge": "started_at",
    "event": "on_date",
    "share": "label",
    "run": "started_at",
    "run_reading": "at",
    "photo": "caption",
    "stay": "from_date",
    "temperature_log": "source",
    "temperature_day": "on_date",
    "file_shape": "headings_hash",
    "revision": "replaced_at",
}
# Texts whose content is JSON.
_LISTS = (
    "discharge.assumptions",
    "file_shape.uses",
    "battery.appliances",
    "place.seasons",
    "place.hours",
    "temperature_log.said",
)
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


def record_tables() -> tuple[RecordTable, ...]:
    """All tables of the records, parents first."""
    return tuple(_TABLES.values())


def record_table(name: str) -> RecordTable:
    return _TABLES[name]


def has_table(name: str) -> bool:
    return name in _TABLES


def rows(session: Session, table: RecordTable) -> Iterator[Row]:
    """Every row in order of its number. The bytes of files are not among the columns."""
    key = metadata.tables[table.name].c[table.primary_key]
    order = key if table.numbered else in_byte_order(key)
    query = sa.select(*columns_of(table)).order_by(order)
    # Readings of running tests may be many: they are never all in memory at once.
    for found in session.execute(query, execution_options={"yield_per": 1000}).mappings():
        yield plain_row(found)


def plain_row(found: sa.RowMapping) -> Row:
    """A row with moments in UTC and texts that any file can hold."""
    return {name: _plain(value) for name, value in found.items()}


def columns_of(table: RecordTable) -> list[sa.Column[Any]]:
    columns = metadata.tables[table.name].c
    return [columns[column.name] for column in table.columns]


def is_empty(session: Session, table: RecordTable) -> bool:
    some = sa.select(sa.literal(1)).select_from(metadata.tables[table.name]).limit(1)
    return session.execute(some).first() is None


def holds_text(session: Session, table: RecordTable, text: str) -> bool:
    """Whether some cell of the table is exactly this text."""
    columns = metadata.tables[table.name].c
    texts = [columns[c.name] == text for c in table.columns if c.kind is ColumnKind.TEXT]
    return (
        bool(texts) and session.execute(sa.select(sa.exists().where(sa.or_(*texts)))).scalar_one()
    )


def _plain(value: Any) -> Any:
    if isinstance(value, str):
        return value.replace(_NOTHING, _PICTURE)
    if isinstance(value, datetime):
        return value.astimezone(UTC)
    if isinstance(value, bytes):
        return unpack_row(value)
    return value


def _kind(table: str, column: sa.Column[Any]) -> ColumnKind:
    if f"{table}.{column.name}" in _LISTS:
        return ColumnKind.LIST
    # SQLModel wraps some types; what is inside tells.
    inside = getattr(column.type, "impl_instance", column.type)
    return next(kind for type_, kind in _KINDS if isinstance(inside, type_))


def _column(table: str, column: sa.Column[Any]) -> RecordColumn:
    title, unit, description = COLUMN_WORDS[table][column.name]
    choices = CHOICES.get(f"{table}.{column.name}")
    if choices is not None:
        meanings = ", ".join(f"{one.value} ({getattr(one, 'label', one.value)})" for one in choices)
        description = f"{description} One of: {meanings}."
    return RecordColumn(
        name=column.name,
        kind=_kind(table, column),
        title=title,
        unit=unit,
        description=description,
        nullable=bool(column.nullable),
        range=range_of(table, column.name),
        choices=() if choices is None else tuple(choices),
        rule=rule_of(table, column.name),
        added_later=f"{table}.{column.name}" in _COLUMNS_LATER,
        earlier=_COLUMNS_LATER.get(f"{table}.{column.name}"),
    )


def _table(name: str) -> RecordTable:
    table = metadata.tables[name]
    title, thing, description = TABLE_WORDS[name]
    keys = [column for column in table.c if column.foreign_keys]
    return RecordTable(
        name=name,
        title=title,
        thing=thing,
        description=description,
        columns=tuple(_column(name, c) for c in table.c if f"{name}.{c.name}" not in IN_FILES),
        primary_key=next(iter(table.primary_key)).name,
        references=tuple((c.name, next(iter(c.foreign_keys)).column.table.name) for c in keys),
        identity=IDENTITY.get(name, ("uid",)),
        uncompared=UNCOMPARED.get(name, ()),
        label=LABELS.get(name, "name" if "name" in table.c else ""),
        added_later=name in _TABLES_LATER,
    )


_TABLES = {name: _table(name) for name in ORDER}
