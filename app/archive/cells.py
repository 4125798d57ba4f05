"""One value as the text of a cell and back, bit for bit."""

import json
import math
import re
from datetime import UTC, date, datetime
from typing import Any

from app.archive.bounded_json import check_levels
from app.domain.errors import Refused
from app.domain.marks import N_
from app.domain.message import say
from app.domain.record_table import ColumnKind, Plain, RecordColumn

# Fixed width, so that the same moment is the same text everywhere.
MOMENT_FORMAT = "%Y-%m-%dT%H:%M:%S.%fZ"
_INTEGER = re.compile(r"-?[0-9]{1,19}")
_NUMBER = re.compile(r"-?[0-9]+(\.[0-9]+)?(E[+-]?[0-9]+)?", re.IGNORECASE)
_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_MOMENT = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}\.[0-9]{6}Z")
_BOOLEANS = {"true": True, "false": False}
# Outside of it a moment cannot be shown on every clock.
_YEARS = (1900, 9001)
_TEXT = N_("a text")
_WORDS = {
    ColumnKind.INTEGER: N_("a whole number"),
    ColumnKind.NUMBER: N_("a number"),
    ColumnKind.BOOLEAN: N_("true or false"),
    ColumnKind.DATE: N_("a date such as 2030-06-01"),
    ColumnKind.MOMENT: N_("a moment in UTC such as 2030-06-01T08:30:00.000000Z"),
    ColumnKind.OBJECT: N_("a JSON object"),
}


def cell_of(value: Plain, missing: str) -> str:
    """The text of a cell; missing stands for what was not entered."""
    if value is None:
        return missing
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return number_cell(value)
    if isinstance(value, datetime):
        naive = value.astimezone(UTC).replace(tzinfo=None)
        return naive.isoformat(timespec="microseconds") + "Z"
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, dict):
        return json.dumps(
            value, ensure_ascii=False, allow_nan=False, sort_keys=True, separators=(",", ":")
        )
    return str(value)


def number_cell(value: float) -> str:
    """The shortest text that comes back as the same bits; Table Schema wants a large E."""
    return repr(value).replace("e", "E")


def value_of(column: RecordColumn, text: str, missing: str, where: str) -> Plain:
    """Read a cell. Raises Refused with the place, the text and what is allowed."""
    if text == missing:
        if not column.nullable:
            raise Refused.because(_place(where, column), say("nothing"), _allowed(column))
        return None
    value = _read(column, text)
    if value is None or not _fits(column, value):
        raise Refused.because(_place(where, column), text, _allowed(column))
    return value


def parse_number(text: str) -> float | None:
    """A finite number, None where the text is none."""
    value = float(text) if _NUMBER.fullmatch(text) else math.nan
    return value if math.isfinite(value) else None


def _read(column: RecordColumn, text: str) -> Plain:
    if column.kind in (ColumnKind.TEXT, ColumnKind.LIST):
        return text
    if column.kind is ColumnKind.NUMBER:
        return parse_number(text)
    if column.kind is ColumnKind.INTEGER:
        return int(text) if _INTEGER.fullmatch(text) else None
    if column.kind is ColumnKind.BOOLEAN:
        return _BOOLEANS.get(text)
    if column.kind is ColumnKind.OBJECT:
        return _object(text)
    try:
        return _time(column.kind, text)
    except ValueError:
        return None


def _time(kind: ColumnKind, text: str) -> date | datetime | None:
    """Raises ValueError for a day that no calendar has."""
    if kind is ColumnKind.DATE:
        day = date.fromisoformat(text) if _DATE.fullmatch(text) else None
        return day if day and _YEARS[0] <= day.year <= _YEARS[1] else None
    if not _MOMENT.fullmatch(text):
        return None
    moment = datetime.fromisoformat(text[:-1]).replace(tzinfo=UTC)
    return moment if _YEARS[0] <= moment.year <= _YEARS[1] else None


def _object(text: str) -> dict[str, Any] | None:
    try:
        value = json.loads(text, parse_constant=_no_constant)
        # What could not be written out again (1e999, half a surrogate pair) is not let in.
        json.dumps(value, ensure_ascii=False, allow_nan=False).encode()
        check_levels(value)
    except (ValueError, RecursionError):
        return None
    return value if isinstance(value, dict) else None


def _no_constant(name: str) -> float:
    raise ValueError(name)


def _fits(column: RecordColumn, value: Plain) -> bool:
    if isinstance(value, str):
        if column.choices and value not in column.choices:
            return False
        return column.rule is None or column.rule.holds(value)
    if column.range is not None and isinstance(value, int | float):
        return column.range.holds(value)
    return True


def _place(where: str, column: RecordColumn) -> str:
    return f"{where}, {column.name}"


def _allowed(column: RecordColumn) -> str:
    if column.choices:
        return say("one of: {choices}", choices=", ".join(column.choices))
    if column.rule is not None:
        return say(column.rule.words)
    if column.range is not None:
        return column.range.allowed
    return say(_WORDS.get(column.kind, _TEXT))
