"""A message as plain data, which JSON can hold, and back: what is kept so is read by anybody later.

Strings stay as they are, a message is its text with its values. One that would not come back the
same, for there is something in it that plain data cannot hold, is kept as its English sentence.
"""

import re
from collections.abc import Callable, Mapping
from datetime import date, datetime
from numbers import Integral, Real
from string import Formatter
from typing import Any

from app.domain.i18n.message import (
    AlsoFahrenheit,
    Celsius,
    CelsiusAround,
    CelsiusRange,
    Digits,
    Message,
)

Plain = str | dict[str, Any]

_TEXT, _VALUES = "text", "values"
# Where there is a form for many, and where something is done to what was written.
_PLURAL, _BY = "plural", "by"
_TRANSFORMS: dict[str, Callable[[str], str]] = {}
# Values that are no plain data by the word under which they are kept.
_FROM_ONE: Mapping[str, Callable[[Any], object]] = {
    "celsius": Celsius,
    "digits": Digits,
    "date": date.fromisoformat,
    "moment": datetime.fromisoformat,
}
_FROM_FIELDS: Mapping[str, Any] = {
    "celsius_range": CelsiusRange,
    "celsius_around": CelsiusAround,
    "also_fahrenheit": AlsoFahrenheit,
}
_SPOILED = (
    ArithmeticError,
    AttributeError,
    LookupError,
    RecursionError,
    TypeError,
    ValueError,
)
# No sentence of ours is so long, and none has a format of such a width. What somebody made up could
# fill the memory: a few places that hold one another are enough.
_MOST_LETTERS = 10_000
_ENDLESS = re.compile(r"[{}]|\d{3}")


def kept_by_name(transform: Callable[[str], str]) -> Callable[[str], str]:
    """Let messages with this transform be kept: what is kept is its name."""
    _TRANSFORMS[transform.__qualname__] = transform
    return transform


def plain(said: str) -> Plain:
    """A sentence as it is kept: the English string, or the text and values of a message."""
    if not isinstance(said, Message):
        return said
    try:
        made = _message(said)
        return made if from_plain(made) == said else str(said)
    except (TypeError, ValueError):
        return str(said)


def from_plain(kept: object) -> str:
    """Invert plain. Raises ValueError for what it cannot have made."""
    if isinstance(kept, str):
        return kept
    try:
        made = _read(kept)
    except _SPOILED as error:
        raise ValueError(f"not a kept sentence: {kept}") from error
    if not isinstance(made, Message):
        raise ValueError(f"not a kept sentence: {kept}")
    return made


def _message(said: Message) -> dict[str, Any]:
    values = {name: _value(value) for name, value in said.values.items()}
    made = {_TEXT: said.text, _VALUES: values}
    if said.plural:
        made[_PLURAL] = said.plural
    if said.transform is not None:
        made[_BY] = _name_of(said.transform)
    return made


def _name_of(transform: Callable[[str], str]) -> str:
    name = getattr(transform, "__qualname__", "")
    if _TRANSFORMS.get(name) is not transform:
        raise TypeError(transform)
    return str(name)


def _value(value: object) -> Any:
    if isinstance(value, Message):
        return _message(value)
    if isinstance(value, Digits):
        return {"digits": str(value)}
    # A choice is kept as what it is called.
    if isinstance(value, str):
        return str(value)
    if value is None or isinstance(value, bool):
        return value
    if isinstance(value, Celsius):
        return {"celsius": float(value)}
    if isinstance(value, Integral):
        return int(value)
    if isinstance(value, Real):
        return float(value)
    if isinstance(value, date):
        return {"moment" if isinstance(value, datetime) else "date": value.isoformat()}
    for word, kind in _FROM_FIELDS.items():
        if isinstance(value, kind):
            return {word: {name: _value(one) for name, one in vars(value).items()}}
    raise TypeError(type(value))


def _is_message(kept: object) -> bool:
    has = {_TEXT, _VALUES}
    return isinstance(kept, dict) and has <= kept.keys() <= has | {_PLURAL, _BY}


def _read(kept: Any) -> Any:
    if not isinstance(kept, dict):
        return kept
    if _is_message(kept):
        values = {name: _read(value) for name, value in kept[_VALUES].items()}
        _check(kept[_TEXT], values)
        plural, by = kept.get(_PLURAL, ""), kept.get(_BY)
        if plural:
            _check(plural, values)
        made = Message(kept[_TEXT], values, None if by is None else _TRANSFORMS[by], plural)
        if len(made) > _MOST_LETTERS:
            raise ValueError(len(made))
        return made
    ((word, inside),) = kept.items()
    if word in _FROM_ONE:
        return _FROM_ONE[word](inside)
    return _FROM_FIELDS[word](**{name: _read(value) for name, value in inside.items()})


def _check(text: str, values: Mapping[str, object]) -> None:
    """A text has places for its values alone, in formats of a usual length. Raises ValueError."""
    if len(text) > _MOST_LETTERS:
        raise ValueError(len(text))
    for _, place, spec, how in Formatter().parse(text):
        if place is not None and (place not in values or how or _ENDLESS.search(spec or "")):
            raise ValueError(text)
