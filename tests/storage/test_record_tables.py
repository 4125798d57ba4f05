from datetime import date, datetime

import pytest
import sqlalchemy as sa

from app.domain.entities.battery import BatteryDetails
from app.domain.entities.discharge import DischargeDetails
from app.domain.entities.event import Event
from app.domain.entities.meter import MeterDetails
from app.domain.entities.place import PlaceDetails
from app.domain.entities.run import RunDetails
from app.domain.fields.described_field import described_fields
from app.domain.records.table_schema import ColumnKind
from app.services.example.demo import fill_with_demo
from app.storage.database.engine import read_session
from app.storage.records.tables_as_rows import DESCRIBED, IN_FILES, kind_of, record_tables, rows
from app.storage.schema.tables import metadata

COLUMNS = [
    (table.name, column)
    for table in metadata.sorted_tables
    for column in table.columns
    if f"{table.name}.{column.name}" not in IN_FILES
]
ENTERED = {
    "battery": BatteryDetails,
    "discharge": DischargeDetails,
    "event": Event,
    "meter": MeterDetails,
    "place": PlaceDetails,
    "run": RunDetails,
}
KINDS = {
    bool: ColumnKind.BOOLEAN,
    int: ColumnKind.INTEGER,
    float: ColumnKind.NUMBER,
    date: ColumnKind.DATE,
    datetime: ColumnKind.MOMENT,
}


def test_every_table_is_among_the_records_after_those_it_refers_to():
    order = [table.name for table in record_tables()]
    assert set(order) == set(metadata.tables)
    for table in record_tables():
        for _, parent in table.references:
            assert order.index(parent) < order.index(table.name)


@pytest.mark.parametrize(("table", "column"), COLUMNS, ids=lambda one: getattr(one, "name", one))
def test_every_column_says_what_it_is(table, column):
    described = DESCRIBED[table].columns[column.name]
    assert described.title
    assert described.description.endswith(".")
    # Numbers of rows have no unit; every other number has one.
    measured = isinstance(column.type, sa.Float | sa.Integer) and not isinstance(
        column.type, sa.Boolean
    )
    assert bool(described.unit) == (
        measured and column.name != "id" and not column.name.endswith("_id")
    )


def test_nothing_is_described_that_is_not_there():
    assert set(DESCRIBED) == set(metadata.tables)
    described = {(name, column) for name, table in DESCRIBED.items() for column in table.columns}
    assert described == {(table, column.name) for table, column in COLUMNS}
    assert all(one.title and one.thing and one.description for one in DESCRIBED.values())


def test_bytes_that_are_no_replaced_row_go_to_files():
    blobs = {
        f"{table.name}.{column.name}"
        for table in metadata.sorted_tables
        for column in table.columns
        if isinstance(column.type, sa.LargeBinary)
    }
    objects = {
        f"{table.name}.{column.name}"
        for table in record_tables()
        for column in table.columns
        if column.kind is ColumnKind.OBJECT
    }
    assert blobs == {*IN_FILES, *objects}
    assert objects == {"revision.before"}


def test_every_row_is_known_again_by_columns_that_it_has():
    for table in record_tables():
        names = {column.name for column in table.columns}
        assert {*table.identity, *table.uncompared, table.primary_key} <= names
        assert not table.label or table.label in names


def test_rows_are_plain(store):
    fill_with_demo(store)
    with read_session(store.engine) as session:
        by_table = {table.name: list(rows(session, table)) for table in record_tables()}
    assert by_table["battery"][0]["name"] == "Marmot galley bank"
    assert len(by_table["discharge"]) == 29
    assert all(type(row) is dict for some in by_table.values() for row in some)


@pytest.mark.parametrize("name", ENTERED)
def test_a_column_is_of_the_kind_that_its_field_says(name):
    """Its length is that which the form allows, and it is empty where the field may be."""
    table = metadata.tables[name]
    for field in described_fields(ENTERED[name]).values():
        column = table.c[field.name]
        assert kind_of(column) is KINDS.get(field.kind, ColumnKind.TEXT), field.name
        assert column.nullable == field.optional, field.name
        if field.told.longest:
            assert column.type.length == field.told.longest, field.name
