"""Whether every value of a data file is one that the program could have stored."""

import contextlib
import hashlib
import itertools
import json
import math
import sqlite3
import zlib
from collections.abc import Callable, Iterator, Mapping
from typing import Any

from app.domain import quantity as q
from app.domain.entities.run import RunState
from app.domain.errors import StorageError, truncate
from app.domain.quantity import Quantity
from app.domain.readings import Readings
from app.domain.records.integrity_issue import IntegrityIssue
from app.domain.tokens import hash_token
from app.storage.backup.column_rules import RULES
from app.storage.backup.integrity import table_names
from app.storage.backup.jpeg_size import jpeg_size
from app.storage.schema.packing import unpack_readings
from app.storage.schema.tables import metadata

Row = Mapping[str, Any]

_BACK = "Go back to a backup from before it (“fadeline restore FILE”, after “fadeline check FILE”)"
_READINGS = f"{_BACK}, or put this test in the bin and log it again from your notes"
_EVIDENCE = f"The test itself is not touched. {_BACK}, or add the file to the test again"
_REVISION = "What is there now is not touched; what an edit replaced is lost in this file"
_LINK = "Revoke the link and make a new one"
_NAMES = {
    "discharge": "capacity test",
    "share": "link",
    "share_beside": "battery beside a link",
    "run": "running test",
    "run_reading": "reading of a running test",
    "attachment": "kept file",
    "temperature_log": "temperature log",
    "temperature_day": "day of a temperature log",
    "file_shape": "remembered columns",
    "revision": "replaced row",
}


def content_damage(connection: sqlite3.Connection, *, current: bool) -> list[IntegrityIssue]:
    """Every value outside its domain, table by table.

    current says that the file has this program's schema, so that nothing of it may be missing; of
    an older one what is there is looked at. Readable connections only; raises nothing for damage.
    """
    # What is no text must not end the walk through a table.
    connection.text_factory = _lenient
    found: list[IntegrityIssue] = []
    there = table_names(connection)
    for table, rules in RULES.items():
        if table in there:
            found += _table_damage(connection, table, rules, current=current)
        elif current:
            found.append(IntegrityIssue(_called(table), "the table is missing", _BACK))
    return found


def row_counts(connection: sqlite3.Connection) -> dict[str, int]:
    """Rows by table of ours that can be counted, for saying what was looked at."""
    counts: dict[str, int] = {}
    for table in RULES:
        with contextlib.suppress(sqlite3.DatabaseError):
            (counts[table],) = connection.execute(f'SELECT count(*) FROM "{table}"').fetchone()  # noqa: S608
    return counts


def _table_damage(
    connection: sqlite3.Connection,
    table: str,
    rules: Mapping[str, Callable[[Any], str]],
    *,
    current: bool,
) -> Iterator[IntegrityIssue]:
    try:
        cursor = connection.execute(f'SELECT * FROM "{table}"')  # noqa: S608
        columns = [column[0] for column in cursor.description]
        if current:
            missing = sorted(column.name for column in metadata.tables[table].columns)
            for name in (name for name in missing if name not in columns):
                yield IntegrityIssue(_called(table), f"the column {name} is missing", _BACK)
        for values in cursor:
            row = {**dict.fromkeys(rules), **dict(zip(columns, values, strict=True))}
            yield from _row_damage(table, row, rules)
    except sqlite3.DatabaseError as error:
        yield IntegrityIssue(_called(table), f"the table cannot be read through ({error})", _BACK)


def _row_damage(
    table: str, row: Row, rules: Mapping[str, Callable[[Any], str]]
) -> Iterator[IntegrityIssue]:
    where = f"{_called(table)} {row['name'] if table == 'setting' else row['id']}"
    for name, value in row.items():
        rule = rules.get(name)
        # An empty column that may not be empty is found by SQLite's own check.
        expected = "" if rule is None or value is None else rule(value)
        if expected:
            what = f"{name.replace('_', ' ')} is “{_shown(value)}”, not {expected}"
            yield IntegrityIssue(where, what, _BACK)
    look = _LOOKS.get(table)
    if look is not None:
        for what, todo in look(row):
            yield IntegrityIssue(where, what, todo)


def _discharge(row: Row) -> Iterator[tuple[str, str]]:
    if not isinstance(row["readings"], bytes):
        return
    try:
        readings = unpack_readings(row["readings"])
    except StorageError:
        yield "its readings cannot be unpacked", _READINGS
        return
    for what in _readings_wrong(readings):
        yield f"its readings hold {what}", _READINGS


def _readings_wrong(readings: Readings) -> Iterator[str]:
    times = readings.elapsed_s
    if not all(map(math.isfinite, (*times, *readings.current_a))):
        yield "a time or a current that is no number"
    elif any(later < earlier for earlier, later in itertools.pairwise(times)):
        yield "times that run backwards"
    ranges: tuple[tuple[str, Quantity], ...] = (
        ("voltage_v", q.READING_VOLTAGE),
        ("temperature_c", q.READING_TEMPERATURE),
        ("gauge_percent", q.READING_GAUGE),
    )
    for name, allowed in ranges:
        values = getattr(readings, name)
        wrong = next((v for v in values if not (math.isnan(v) or allowed.holds(v))), None)
        if wrong is not None:
            yield f"{wrong:g} as {allowed.label}, not {allowed.allowed}"


def _attachment(row: Row) -> Iterator[tuple[str, str]]:
    try:
        data = zlib.decompress(row["packed"])
    except (zlib.error, TypeError):
        yield f"“{_shown(row['name'])}” cannot be unpacked", _EVIDENCE
        return
    if hashlib.sha256(data).hexdigest() != row["sha256"]:
        yield f"“{_shown(row['name'])}” is not what was stored: its hash differs", _EVIDENCE
    elif len(data) != row["size"]:
        yield f"its size is given as {row['size']}, it holds {len(data)} bytes", _EVIDENCE


def _photo(row: Row) -> Iterator[tuple[str, str]]:
    data = row["jpeg"]
    if not isinstance(data, bytes):
        return
    size = jpeg_size(data)
    if hashlib.sha256(data).hexdigest() != row["sha256"]:
        yield "it is not what was stored: its hash differs", _EVIDENCE
    elif size is None:
        yield "it is no JPEG picture", _EVIDENCE
    elif size != (row["width"], row["height"]):
        given = f"{row['width']} × {row['height']}"
        yield f"its size is given as {given}, the picture has {size[0]} × {size[1]}", _EVIDENCE


def _revision(row: Row) -> Iterator[tuple[str, str]]:
    try:
        before = json.loads(zlib.decompress(row["before"]))
    except (zlib.error, ValueError, TypeError):
        yield "it cannot be unpacked", _REVISION
        return
    if not isinstance(before, dict) or before.get("id") != row["thing_id"]:
        yield f"it is not the {row['thing']} {row['thing_id']} it should be", _REVISION


def _share(row: Row) -> Iterator[tuple[str, str]]:
    token = row["token"]
    if isinstance(token, str) and hash_token(token) != row["token_hash"]:
        yield "its address does not fit its hash, so it opens nothing", _LINK


def _run(row: Row) -> Iterator[tuple[str, str]]:
    if row["state"] == RunState.FINISHED and row["discharge_id"] is None:
        yield "it is finished and became no capacity test", _BACK


_LOOKS: Mapping[str, Callable[[Row], Iterator[tuple[str, str]]]] = {
    "discharge": _discharge,
    "attachment": _attachment,
    "photo": _photo,
    "revision": _revision,
    "share": _share,
    "run": _run,
}


def _called(table: str) -> str:
    return _NAMES.get(table, table)


def _shown(value: object) -> str:
    return truncate(f"{len(value)} bytes" if isinstance(value, bytes) else str(value))


def _lenient(data: bytes) -> str:
    return data.decode(errors="surrogateescape")
