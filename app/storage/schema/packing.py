"""Readings and replaced rows as compact bytes."""

import base64
import json
import struct
import zlib
from array import array
from datetime import date, datetime
from typing import Any

from app.domain.errors import StorageError
from app.domain.i18n.message import say
from app.domain.readings import COLUMNS, COUNTED, Readings

_HEAD = struct.Struct("<4sI")
# By what it begins with: readings without and with what a counter showed.
_MARKS = {b"FLR1": COLUMNS, b"FLR2": (*COLUMNS, COUNTED)}


def pack_readings(readings: Readings) -> bytes:
    """Little-endian doubles column by column, compressed; the head carries the row count."""
    packer = zlib.compressobj(6)
    mark = next(mark for mark, names in _MARKS.items() if names == readings.columns)
    parts = [_HEAD.pack(mark, len(readings))]
    # Column by column: a long log should not be held twice.
    parts += [
        packer.compress(memoryview(_little(getattr(readings, name)))) for name in readings.columns
    ]
    return b"".join((*parts, packer.flush()))


def unpack_readings(data: bytes) -> Readings:
    """Invert pack_readings. Raises StorageError where the bytes are damaged."""
    try:
        mark, count = _HEAD.unpack_from(data)
        body = memoryview(zlib.decompress(memoryview(data)[_HEAD.size :]))
    except (struct.error, zlib.error) as error:
        raise StorageError(say("The readings of a test are damaged in the data file.")) from error
    names = _MARKS.get(mark, ())
    if not names or len(body) != count * 8 * len(names):
        raise StorageError(say("The readings of a test are damaged in the data file."))
    columns = []
    for index in range(len(names)):
        values = array("d")
        values.frombytes(body[index * count * 8 : (index + 1) * count * 8])
        columns.append(_little(values))
    return Readings(*columns)


def _little(values: "array[float]") -> "array[float]":
    if struct.pack("=H", 1) == struct.pack("<H", 1):
        return values
    swapped = array("d", values)
    swapped.byteswap()
    return swapped


def pack_row(row: dict[str, Any]) -> bytes:
    """A table row as compressed JSON, with bytes and times written as text."""
    return zlib.compress(json.dumps(row, default=_plain).encode())


def unpack_row(data: bytes) -> dict[str, Any]:
    """Invert pack_row, with readings as such; times stay text. Raises StorageError."""
    try:
        row = json.loads(zlib.decompress(data), object_hook=_bytes_back)
    except (zlib.error, ValueError) as error:
        raise StorageError(say("An earlier version is damaged in the data file.")) from error
    if not isinstance(row, dict):
        raise StorageError(say("An earlier version is damaged in the data file."))
    return row


def _bytes_back(value: dict[str, Any]) -> object:
    if set(value) != {"base64"}:
        return value
    data = base64.b64decode(value["base64"])
    return unpack_readings(data) if data.startswith(tuple(_MARKS)) else data


def _plain(value: object) -> object:
    if isinstance(value, Readings):
        value = pack_readings(value)
    if isinstance(value, bytes):
        return {"base64": base64.b64encode(value).decode()}
    if isinstance(value, datetime | date):
        return value.isoformat()
    raise TypeError(type(value))
