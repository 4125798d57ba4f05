"""What each column of the tables may hold, for the check of a data file.

A rule takes a value as SQLite holds it and returns what was expected instead; nothing where the
value is fine. Empty columns are SQLite's own business. Numbers have the ranges that forms and files
are held to; where the program computed a value, any number will do.
"""

import math
from collections.abc import Callable, Mapping
from datetime import date, datetime
from enum import StrEnum
from typing import Any

from app.domain.quantity import Quantity
from app.domain.records.table_schema import ColumnKind
from app.storage.records.tables_as_rows import DESCRIBED, kind_of
from app.storage.schema.common_columns import COUNT
from app.storage.schema.table_docs import Holds, StoredText
from app.storage.schema.tables import metadata

Rule = Callable[[Any], str]


def _rule(kind: ColumnKind, holds: Holds) -> Rule:
    if isinstance(holds, StoredText):
        return _ruled(holds)
    if isinstance(holds, type):
        return _one_of(holds)
    if kind is ColumnKind.INTEGER:
        return _whole(holds or COUNT)
    if kind is ColumnKind.NUMBER:
        return _number(holds)
    return _OF_KIND[kind]


def _ruled(text: StoredText) -> Rule:
    expected, holds = text.in_check or text.words, text.in_file or text.holds
    return lambda v: "" if isinstance(v, str) and holds(v) else expected


def _one_of(kind: type[StrEnum]) -> Rule:
    known = {one.value for one in kind}
    expected = "one of: " + ", ".join(one.value for one in kind)
    return lambda v: "" if isinstance(v, str) and v in known else expected


def _whole(allowed: Quantity) -> Rule:
    low, high = int(allowed.low), int(allowed.high)
    expected = f"a whole number from {low}" + ("" if high == COUNT.high else f" to {high}")
    return lambda v: "" if type(v) is int and low <= v <= high else expected


def _number(allowed: Quantity | None) -> Rule:
    if allowed is None:
        return lambda v: "" if _is_number(v) else "a number"
    return lambda v: "" if _is_number(v) and allowed.holds(v) else allowed.allowed


def _text(value: object) -> str:
    if not isinstance(value, str):
        return "text"
    # What is no UTF-8 comes as lone surrogates.
    return "readable text" if any("\ud800" <= c <= "\udfff" for c in value) else ""


def _moment(value: object) -> str:
    return "" if _parses(datetime.fromisoformat, value) else "a date with a time"


def _day(value: object) -> str:
    return "" if _parses(date.fromisoformat, value) else "a date"


def _flag(value: object) -> str:
    return "" if value in (0, 1) else "yes or no (1 or 0)"


def _bytes(value: object) -> str:
    return "" if isinstance(value, bytes) else "bytes"


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and math.isfinite(value)


def _parses(parse: Callable[[str], object], value: object) -> bool:
    try:
        return isinstance(value, str) and parse(value) is not None
    except ValueError:
        return False


_OF_KIND: Mapping[ColumnKind, Rule] = {
    ColumnKind.TEXT: _text,
    ColumnKind.MOMENT: _moment,
    ColumnKind.DATE: _day,
    ColumnKind.BOOLEAN: _flag,
    ColumnKind.OBJECT: _bytes,
}

RULES: Mapping[str, Mapping[str, Rule]] = {
    name: {
        # Bytes that records keep in files of their own are described there.
        column.name: _rule(
            kind_of(column),
            table.columns[column.name].holds if column.name in table.columns else None,
        )
        for column in metadata.tables[name].columns
    }
    for name, table in DESCRIBED.items()
}
