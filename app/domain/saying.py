"""Sentences as their reader wants them: the language, and how numbers stand in them.

English stands in the code and in the templates; a catalogue (app/languages/) holds every other
language. Outside of a request, and in everything that is compared word for word, all is as usual.
"""

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
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
_SHORT_MONTHS = (
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
_MONTHS = (
    noted("January"),
    noted("February"),
    noted("March"),
    noted("April"),
    noted("May"),
    noted("June"),
    noted("July"),
    noted("August"),
    noted("September"),
    noted("October"),
    noted("November"),
    noted("December"),
)


class Celsius(float):
    """A temperature in °C that a sentence shows with its unit, in the reader's."""


@dataclass(frozen=True)
class CelsiusRange:
    """From one temperature to another, in °C, that a sentence shows as it does one."""

    low: float
    high: float


@dataclass(frozen=True)
class CelsiusAround:
    """A temperature in °C and so much more or less, shown likewise."""

    middle: float
    limit: float


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
    written out, or by the pattern behind it with %B and %b as months; a Celsius carries its unit.
    """
    catalogue = _catalogues.get(preferred().language)
    if catalogue is not None:
        text = catalogue().get(text) or text
    return _WRITER.vformat(text, (), values) if values else text


def with_sign(text: str) -> str:
    """A written number with the decimal sign that its reader prefers.

    Where that is a comma, thousands are parted by a narrow space (ISO 80000-1).
    """
    return text.replace(",", "\u202f").replace(".", ",") if preferred().comma else text


def written_day(value: date) -> str:
    """A date as its reader prefers it."""
    return _day(value, month(value))


def long_day(value: date) -> str:
    """The same with the whole name of the month."""
    return _day(value, month_names()[value.month - 1])


def _day(value: date, named: str) -> str:
    if preferred().dates is DateShown.YEAR_FIRST:
        return f"{value:%Y-%m-%d}"
    return say("{day} {month} {year}", day=value.day, month=named, year=str(value.year))


def month(value: date) -> str:
    """The month, shortened."""
    return say(_SHORT_MONTHS[value.month - 1])


def month_names(*, short: bool = False) -> tuple[str, ...]:
    """The twelve months."""
    return tuple(say(name) for name in (_SHORT_MONTHS if short else _MONTHS))


def written_celsius(value: float, spec: str = ".1f") -> str:
    """A temperature with its unit; °C stays beside °F, for forms ask for it."""
    return _in_both(*(written_number(one, spec) for one in (value, fahrenheit(value))))


def fahrenheit(celsius: float) -> float:
    """°F = 1.8 °C + 32 (NIST SP 811, B.8)."""
    return celsius * 9 / 5 + 32


def _in_both(celsius: str, in_fahrenheit: str) -> str:
    if preferred().temperature is TemperatureShown.CELSIUS:
        return f"{celsius} °C"
    return f"{in_fahrenheit} °F ({celsius} °C)"


def _written_range(span: CelsiusRange, spec: str) -> str:
    ends = ((span.low, span.high), (fahrenheit(span.low), fahrenheit(span.high)))
    written = ([written_number(one, spec) for one in pair] for pair in ends)
    return _in_both(*(say("{low} to {high}", low=low, high=high) for low, high in written))


def _written_around(about: CelsiusAround, spec: str) -> str:
    pairs = ((about.middle, about.limit), (fahrenheit(about.middle), about.limit * 9 / 5))
    return _in_both(*(" ± ".join(written_number(one, spec) for one in pair) for pair in pairs))


def written_number(value: Any, spec: str) -> str:
    """A number with a true minus sign, and with the decimal sign that its reader prefers."""
    return with_sign(format(value, spec).replace("-", "−"))


class _Writer(Formatter):
    def format_field(self, value: Any, format_spec: str) -> str:
        if isinstance(value, Celsius):
            return written_celsius(float(value), format_spec)
        if isinstance(value, CelsiusRange):
            return _written_range(value, format_spec)
        if isinstance(value, CelsiusAround):
            return _written_around(value, format_spec)
        if isinstance(value, Number) and not isinstance(value, bool):
            return written_number(value, format_spec)
        if isinstance(value, datetime) and not format_spec:
            return f"{written_day(value)}, {value:%H:%M}"
        if isinstance(value, date):
            if not format_spec:
                return written_day(value)
            # strftime knows the months in English only.
            pattern = format_spec.replace("%B", month_names()[value.month - 1])
            return format(value, pattern.replace("%b", month(value)))
        return format(value, format_spec)


_WRITER = _Writer()
