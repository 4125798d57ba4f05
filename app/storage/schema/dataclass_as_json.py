"""A frozen dataclass of plain fields as packed JSON, and back by what its fields are declared as.

Strict both ways: what has something in it that would not come back the same is refused, and so is a
text that does not fit the declaration to the letter. Sentences keep their text and values.
"""

import json
import zlib
from collections.abc import Callable
from dataclasses import fields, is_dataclass
from datetime import date, datetime
from enum import StrEnum
from functools import cache
from numbers import Integral, Real
from types import NoneType, UnionType
from typing import Any, TypeVar, Union, cast, get_args, get_origin, get_type_hints

from app.domain.i18n.message import Message
from app.domain.i18n.message_as_data import from_plain, plain

T = TypeVar("T")
_Read = Callable[[Any], Any]
_SPOILED = (
    ArithmeticError,
    AttributeError,
    LookupError,
    RecursionError,
    TypeError,
    ValueError,
    zlib.error,
)
# A report of 5,000 tests takes 3 MB.
_MOST_BYTES = 50_000_000


def pack_dataclass(thing: object) -> bytes:
    """Its fields in order, as arrays inside arrays. Raises TypeError for what cannot be kept."""
    return zlib.compress(json.dumps(_plain(thing), separators=(",", ":")).encode())


def unpack_dataclass(data: bytes, kind: type[T]) -> T:
    """Invert pack_dataclass. Raises ValueError where it is not one of this kind."""
    try:
        unpacking = zlib.decompressobj()
        text = unpacking.decompress(data, _MOST_BYTES)
        if not unpacking.eof:
            raise ValueError(len(data))
        return cast(T, _reader(cast(Any, kind))(json.loads(text)))
    except _SPOILED as error:
        raise ValueError(f"not a kept {kind.__name__}") from error


def _plain(value: Any) -> Any:
    if isinstance(value, Message):
        kept = plain(value)
        if isinstance(kept, str):
            # English for everybody would be less than what was computed.
            raise TypeError(f"a sentence that only English would keep: {value}")
        return kept
    if isinstance(value, StrEnum):
        return value.value
    if value is None or type(value) in (bool, str):
        return value
    if isinstance(value, Integral):
        return int(value)
    if isinstance(value, Real):
        return float(value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, tuple):
        return [_plain(one) for one in value]
    if is_dataclass(value):
        return [_plain(getattr(value, field.name)) for field in fields(value)]
    raise TypeError(f"{type(value)} cannot be kept")


@cache
def _reader(kind: Any) -> _Read:
    """What reads a value that is declared so."""
    if kind in _PLAIN:
        return _PLAIN[kind]
    origin, args = get_origin(kind), get_args(kind)
    if origin in (Union, UnionType):
        (inside,) = (one for one in args if one is not NoneType)
        return _or_none(_reader(inside))
    if origin is tuple and len(args) == 2 and args[1] is Ellipsis:
        return _many(_reader(args[0]))
    if origin is tuple:
        return _each(tuple, [_reader(one) for one in args])
    if isinstance(kind, type) and issubclass(kind, StrEnum):
        return kind
    if is_dataclass(kind):
        hints = get_type_hints(kind)
        readers = [_reader(hints[field.name]) for field in fields(kind)]
        make = cast(Callable[..., Any], kind)
        return _each(lambda values: make(*values), readers)
    raise TypeError(f"{kind} cannot be kept")


def _or_none(read: _Read) -> _Read:
    return lambda value: None if value is None else read(value)


def _many(read: _Read) -> _Read:
    return lambda values: tuple(map(read, _array(values)))


def _each(make: Callable[[Any], Any], readers: list[_Read]) -> _Read:
    def read(values: Any) -> Any:
        pairs = zip(readers, _array(values), strict=True)
        return make([one(value) for one, value in pairs])

    return read


def _array(values: Any) -> list[Any]:
    if type(values) is not list:
        raise TypeError(values)
    return values


def _exactly(*kinds: type) -> _Read:
    def read(value: Any) -> Any:
        if type(value) not in kinds:
            raise TypeError(value)
        return value

    return read


_PLAIN: dict[Any, _Read] = {
    str: from_plain,
    bool: _exactly(bool),
    int: _exactly(int),
    # A whole number is written without its point, and is as good.
    float: _exactly(float, int),
    date: date.fromisoformat,
    datetime: datetime.fromisoformat,
}
