"""Sentences as their reader wants them: the language, and how numbers stand in them.

English stands in the code and in the templates; a catalogue (app/languages/) holds every other
language. Outside of a request, and in everything that is compared word for word, all is as usual.
"""

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import date, datetime
from numbers import Number
from string import Formatter
from typing import Any

from app.domain.noted import noted
from app.domain.preferences import (
    DateShown,
    Language,
    Preferences,
    TemperatureShown,
)

USUAL = Preferences()
_reader: ContextVar[Callable[[], Preferences] | None] = ContextVar("reader", default=None)
_catalogues: dict[Language, Callable[[], Mapping[str, str]]] = {}
_MONTHS = (
    noted("Jan"),
    noted("Feb"),
    noted("Mar"),
    noted("Apr"),
    noted("May"),
    noted("Jun"),
    noted("Jul"),
    noted("Aug"),
    noted("Sep"),
    noted("Oct"),
    noted("Nov"),
    noted("Dec"),
)


class Celsius(float):
    """A temperature in °C that a sentence shows with its unit, in the reader's."""


def preferred() -> Preferences:
    """How the reader of what is being written wants it; the usual way outside of a request."""
    reader = _reader.get()
    return USUAL if reader is None else reader()


def written_for(reader: Callable[[], Preferences]) -> None:
    """Write for this reader from here on. It is asked by the first thing that wants to know."""
    _reader.set(reader)


@contextmanager
def shown_as(chosen: Preferences = USUAL) -> Iterator[None]:
    """Write so meanwhile: as usual for what leaves this machine."""
    before = _reader.set(lambda: chosen)
    try:
        yield
    finally:
        _reader.reset(before)


def speak(language: Language, catalogue: Callable[[], Mapping[str, str]]) -> None:
    """Make a language known; its catalogue is asked for each text, by the English one."""
    _catalogues[language] = catalogue


def say(text: str, /, **values: object) -> str:
    """A text in the reader's language, its {values} by their format, in the reader's way.

    Floats and integers take a true minus sign and the reader's decimal sign; a date or a moment is
    written out; a Celsius carries its unit.
    """
    catalogue = _catalogues.get(preferred().language)
    if catalogue is not None:
        text = catalogue().get(text) or text
    return _WRITER.vformat(text, (), values) if values else text


def with_sign(text: str) -> str:
    """A written number with the decimal sign that its reader prefers."""
    return text.replace(".", ",") if preferred().comma else text


def written_day(value: date) -> str:
    """A date as its reader prefers it."""
    if preferred().dates is DateShown.YEAR_FIRST:
        return f"{value:%Y-%m-%d}"
    return say("{day} {month} {year}", day=value.day, month=month(value), year=str(value.year))


def month(value: date) -> str:
    """The month, shortened."""
    return say(_MONTHS[value.month - 1])


def written_celsius(value: float, spec: str = ".1f") -> str:
    """A temperature with its unit; °C stays beside °F, for forms ask for it."""
    shown = f"{_number(value, spec)} °C"
    if preferred().temperature is TemperatureShown.CELSIUS:
        return shown
    return f"{_number(value * 9 / 5 + 32, spec)} °F ({shown})"


def _number(value: Any, spec: str) -> str:
    return with_sign(format(value, spec).replace("-", "−"))


class _Writer(Formatter):
    def format_field(self, value: Any, format_spec: str) -> str:
        if isinstance(value, Celsius):
            return written_celsius(float(value), format_spec)
        if isinstance(value, Number) and not isinstance(value, bool):
            return _number(value, format_spec)
        if isinstance(value, datetime) and not format_spec:
            return f"{written_day(value)}, {value:%H:%M}"
        if isinstance(value, date) and not format_spec:
            return written_day(value)
        return format(value, format_spec)


_WRITER = _Writer()
