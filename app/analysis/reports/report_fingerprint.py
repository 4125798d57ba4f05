"""A number for a printed report that follows from its data alone."""

import hashlib
from array import array
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from datetime import UTC, date, datetime
from enum import Enum

import numpy as np

DIGITS = 12


def report_number(*parts: object) -> str:
    """The first 12 hexadecimal digits of SHA-256 over the data.

    The same data give the same number on every machine and day; anything changed gives another,
    but for one chance in 2.8 · 10¹⁴. Knows dataclasses, tuples, columns, numbers, texts, dates,
    enumerations and None. Raises TypeError for anything else, rather than leave it out.
    """
    digest = hashlib.sha256()
    for part in _flat(parts):
        # Its length goes first, or two texts side by side could be split elsewhere.
        digest.update(len(part).to_bytes(8, "big") + part)
    return digest.hexdigest()[:DIGITS]


def _flat(value: object) -> Iterator[bytes]:
    """The value as a row of byte strings, one order for one value."""
    if is_dataclass(value) and not isinstance(value, type):
        yield type(value).__name__.encode()
        for field in fields(value):
            yield field.name.encode()
            yield from _flat(getattr(value, field.name))
    elif isinstance(value, tuple):
        yield f"{len(value)} of".encode()
        for one in value:
            yield from _flat(one)
    elif isinstance(value, array):
        yield _column(value)
    else:
        yield _word(value).encode()


def _column(values: "array[float]") -> bytes:
    """Numbers in the one byte order and with the one "nothing read" of every machine."""
    numbers = np.asarray(values, dtype="<f8").copy()
    numbers[np.isnan(numbers)] = np.nan
    return numbers.tobytes()


def _word(value: object) -> str:
    if isinstance(value, Enum):
        return f"{type(value).__name__} {value.value}"
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat()
    if isinstance(value, date):
        return value.isoformat()
    if value is None or isinstance(value, bool):
        return str(value)
    if isinstance(value, int | float):
        return float(value).hex()
    if isinstance(value, str):
        return f"text {value}"
    raise TypeError(f"a report number cannot be made from {type(value).__name__}")
