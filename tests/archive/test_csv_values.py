import math
from datetime import UTC, date, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.archive.csv_values import cell_of, parse_number, value_of
from app.domain.errors import InvalidInput
from app.domain.quantity import RATED_CAPACITY
from app.domain.records.table_schema import ColumnKind, FieldSchema, TextRule

pytestmark = pytest.mark.any_database

MOMENTS = st.datetimes(datetime(1900, 1, 1), datetime(2200, 1, 1)).map(
    lambda moment: moment.replace(tzinfo=UTC)
)
TEXTS = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"))
VALUES = [
    (ColumnKind.NUMBER, st.floats(allow_nan=False, allow_infinity=False)),
    (ColumnKind.INTEGER, st.integers(-(10**18), 10**18)),
    (ColumnKind.BOOLEAN, st.booleans()),
    (ColumnKind.DATE, st.dates(date(1900, 1, 1), date(2200, 1, 1))),
    (ColumnKind.MOMENT, MOMENTS),
    (ColumnKind.TEXT, TEXTS.filter(lambda text: text != "NULL")),
    (ColumnKind.OBJECT, st.dictionaries(TEXTS, st.none() | st.integers() | TEXTS)),
]


def column(kind, **more):
    return FieldSchema("x", kind, "X", "", "An x.", **more)


@pytest.mark.parametrize(("kind", "values"), VALUES, ids=lambda one: getattr(one, "value", ""))
def test_a_value_comes_back_to_the_last_bit(kind, values):
    @settings(max_examples=200, derandomize=True)
    @given(st.none() | values)
    def comes_back(value):
        text = cell_of(value, "NULL")
        back = value_of(column(kind, nullable=True), text, "NULL", "row 1")
        assert back == value
        assert type(back) is type(value)
        if isinstance(value, float):
            assert math.copysign(1, back) == math.copysign(1, value)

    comes_back()


@pytest.mark.parametrize(
    ("kind", "text"),
    [
        (ColumnKind.NUMBER, "nan"),
        (ColumnKind.NUMBER, "inf"),
        (ColumnKind.NUMBER, "1E999"),
        (ColumnKind.NUMBER, "1,5"),
        (ColumnKind.NUMBER, " 1"),
        (ColumnKind.NUMBER, "1_0"),
        (ColumnKind.NUMBER, "٣"),
        (ColumnKind.NUMBER, ""),
        (ColumnKind.INTEGER, "1.0"),
        (ColumnKind.INTEGER, "9" * 30),
        (ColumnKind.BOOLEAN, "True"),
        (ColumnKind.BOOLEAN, "1"),
        (ColumnKind.DATE, "2026-02-30"),
        (ColumnKind.DATE, "20260101"),
        (ColumnKind.DATE, "0001-01-01"),
        (ColumnKind.MOMENT, "2026-01-01 00:00"),
        (ColumnKind.MOMENT, "2026-01-01T00:00:00.000000+01:00"),
        (ColumnKind.MOMENT, "2026-01-01T25:00:00.000000Z"),
        (ColumnKind.MOMENT, "9999-12-31T23:59:59.999999Z"),
        (ColumnKind.OBJECT, "[]"),
        (ColumnKind.OBJECT, '{"a":NaN}'),
        (ColumnKind.OBJECT, "{" * 10),
        (ColumnKind.OBJECT, '{"a":' * 100_000),
        (ColumnKind.TEXT, "NULL"),
    ],
)
def test_what_is_not_of_its_kind_is_refused(kind, text):
    with pytest.raises(InvalidInput, match="row 1, x"):
        value_of(column(kind), text, "NULL", "row 1")


def test_what_is_outside_its_range_its_choices_or_its_rule_is_refused():
    ranged = column(ColumnKind.NUMBER, range=RATED_CAPACITY)
    chosen = column(ColumnKind.TEXT, choices=("a", "b"))
    ruled = column(ColumnKind.TEXT, rule=TextRule("three letters", lambda text: len(text) == 3))
    assert value_of(ranged, "0.1", "NULL", "") == 0.1
    for one, text, allowed in (
        (ranged, "0", "a number from 0.1 to 100000 Ah"),
        (chosen, "c", "one of: a, b"),
        (ruled, "ab", "three letters"),
    ):
        with pytest.raises(InvalidInput, match=allowed):
            value_of(one, text, "NULL", "")


def test_numbers_have_the_large_e_of_the_table_schema():
    assert cell_of(1e-7, "") == "1E-07"
    assert parse_number("1E-07") == 1e-7
