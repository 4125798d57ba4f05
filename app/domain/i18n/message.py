"""Sentences as data: a text with its values, which a reader reads in their language and their way.

What computes makes a Message and knows no reader: as a string it is English, with the usual
numbers, so that files, JSON, the command line and the records hold that. What renders, a page or a
chart, has a Reader and lets it read.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from functools import cached_property
from gettext import NullTranslations
from numbers import Number
from typing import Any

from app.domain.i18n import text_values
from app.domain.i18n.marks import N_
from app.domain.i18n.months import LONG_MONTHS, SHORT_MONTHS
from app.domain.i18n.preferences import DateShown, Preferences, TemperatureShown
from app.domain.i18n.text_places import pieces_of

# What a sentence is made with is found where sentences are.
AlsoFahrenheit = text_values.AlsoFahrenheit
Celsius = text_values.Celsius
CelsiusAround = text_values.CelsiusAround
CelsiusRange = text_values.CelsiusRange
Digits = text_values.Digits

LONG = "long"
"""The format of a date whose month is written out."""


class Message(str):
    """A sentence with the values in its places; as a string it is English.

    values may be numbers, days and moments, temperatures, other messages and plain text; transform
    is applied to what was written. Where there is a plural, text is the form for one, and the value
    `count` chooses. A method of strings gives a plain string, which no reader can put into another
    language: `joined` and `transformed` keep it a message.
    """

    text: str
    values: Mapping[str, object]
    transform: Callable[[str], str] | None
    plural: str

    def __new__(
        cls,
        text: str,
        values: Mapping[str, object] | None = None,
        transform: Callable[[str], str] | None = None,
        plural: str = "",
    ) -> "Message":
        written = ENGLISH.written(text, values or {}, plural)
        made = super().__new__(cls, transform(written) if transform else written)
        made.text, made.values = text, values or {}
        made.transform, made.plural = transform, plural
        return made

    def __getnewargs__(self) -> Any:
        return self.text, self.values, self.transform, self.plural

    def __add__(self, other: str) -> str:
        return joined("", (self, other))

    def __radd__(self, other: str) -> str:
        return joined("", (other, self))


def say(text: str, /, **values: object) -> str:
    """A text of the catalogue as a Message, its {values} by their format.

    Floats and integers take a true minus sign and the reader's decimal sign; a date or a moment is
    written out, or by the pattern behind it with %B and %b as months; a Celsius carries its unit.
    """
    return text if isinstance(text, Message) and not values else Message(text, values)


def say_plural(one: str, many: str, count: float, /, **values: object) -> str:
    """A text with a form for one and a form for many, by the rule of the reader's language.

    The count stands in either as {count}.
    """
    return Message(one, {"count": count, **values}, plural=many)


def joined(separator: str, parts: Iterable[str]) -> str:
    """Messages and other strings as one message, with a separator between them."""
    values = {f"part_{number}": part for number, part in enumerate(parts)}
    places = "{between}".join(f"{{{name}}}" for name in values)
    return Message(places, values | {"between": separator})


def transformed(said: str, transform: Callable[[str], str]) -> str:
    """A string with something done to what is written in it, for any reader."""
    return (
        Message("{said}", {"said": said}, transform)
        if isinstance(said, Message)
        else transform(said)
    )


def written_number(value: float, spec: str = "") -> str:
    """A number by its format, with a true minus sign and the reader's decimal sign."""
    return Message(f"{{value:{spec}}}", {"value": value})


def written_digits(digits: str) -> str:
    """A number that is written already, with the reader's decimal sign."""
    return Message("{digits}", {"digits": Digits(digits)})


def written_day(value: date) -> str:
    """A date in the reader's order."""
    return Message("{day:short}", {"day": value})


def long_day(value: date) -> str:
    """A date in the reader's order, with the whole name of the month."""
    return Message("{day:long}", {"day": value})


def written_celsius(value: float, spec: str = ".1f") -> str:
    """A temperature with its unit; °C stays beside °F, as it is stored."""
    return Message(f"{{value:{spec}}}", {"value": Celsius(value)})


def month_names(*, short: bool = False) -> tuple[str, ...]:
    """The twelve months."""
    return tuple(say(name) for name in (SHORT_MONTHS if short else LONG_MONTHS))


def fahrenheit(celsius: float) -> float:
    """°F = 1.8 °C + 32 (NIST SP 811, B.8)."""
    return celsius * 9 / 5 + 32


@dataclass(frozen=True)
class Reader:
    """Somebody who reads: how they want it, and the texts of their language by the English ones."""

    preferences: Preferences = field(default_factory=Preferences)
    catalogue: NullTranslations = field(default_factory=NullTranslations, hash=False, compare=False)

    def read(self, said: object) -> Any:
        """A message in this reader's words; anything else as it is."""
        if not isinstance(said, Message):
            return said
        if self._reads_english:
            return str(said)
        written = self.written(said.text, said.values, said.plural)
        return said.transform(written) if said.transform else written

    @cached_property
    def _reads_english(self) -> bool:
        """Whether messages are as they are, without a language or a way of writing of its own."""
        usual, own = Preferences(), self.preferences
        is_usual = replace(own, language=usual.language) == usual and not own.comma
        return is_usual and type(self.catalogue) is NullTranslations

    def written(self, text: str, values: Mapping[str, object], plural: str = "") -> str:
        """A text of the catalogue with its values."""
        text = self.plural(text, plural, values["count"]) if plural else self.text(text)
        return self._filled(text, values) if values else text

    def text(self, text: str) -> str:
        """A text in this reader's language; what the catalogue does not know stays English."""
        # Under the empty text a catalogue keeps what it says of itself.
        return self.catalogue.gettext(text) if text else text

    def plural(self, one: str, many: str, count: Any) -> str:
        """The form of a text that so many take."""
        # Catalogues have rules for whole numbers; any other is none of one.
        whole = int(count) if count == int(count) else 2
        return self.catalogue.ngettext(one, many, whole)

    def number(self, value: Any, spec: str = "") -> str:
        """A number with a true minus sign and this reader's decimal sign, never as 2.3e+02."""
        written = format(value, spec)
        if "e+" in written:
            written = f"{float(written):.0f}"
        if written.startswith("-") and not set(written) & set("123456789"):
            # What is rounded to nothing has no sign.
            written = written[1:]
        return self.with_sign(written.replace("-", "−"))

    def with_sign(self, digits: str) -> str:
        """A written number with this reader's decimal sign.

        Where that is a comma, thousands are parted by a narrow space (ISO 80000-1).
        """
        comma = self.preferences.comma
        return digits.replace(",", "\u202f").replace(".", ",") if comma else str(digits)

    def day(self, value: date, *, long: bool = False) -> str:
        """A date in this reader's order."""
        if self.preferences.dates is DateShown.YEAR_FIRST:
            return f"{value:%Y-%m-%d}"
        month = self._month(value, short=not long)
        return self.written(
            N_("{day} {month} {year}"),
            {"day": value.day, "month": month, "year": str(value.year)},
        )

    def dated(self, value: date, pattern: str) -> str:
        """A date by a pattern of strftime, which knows the months in English only."""
        pattern = pattern.replace("%B", self._month(value, short=False))
        return format(value, pattern.replace("%b", self._month(value, short=True)))

    def temperature(self, celsius: float, spec: str = ".1f") -> str:
        """A temperature with its unit; °C stays beside °F, as it is stored."""
        return self._in_both(*(self.number(one, spec) for one in (celsius, fahrenheit(celsius))))

    def temperatures(self, span: CelsiusRange, spec: str) -> str:
        """From one temperature to another."""
        ends = ((span.low, span.high), (fahrenheit(span.low), fahrenheit(span.high)))
        written = ([self.number(one, spec) for one in pair] for pair in ends)
        texts = (
            self.written(N_("{low} to {high}"), {"low": low, "high": high}) for low, high in written
        )
        return self._in_both(*texts)

    def temperature_around(self, about: CelsiusAround, spec: str) -> str:
        """A temperature and so much more or less."""
        pairs = ((about.middle, about.limit), (fahrenheit(about.middle), about.limit * 9 / 5))
        return self._in_both(
            *(" ± ".join(self.number(one, spec) for one in pair) for pair in pairs)
        )

    def also_in_fahrenheit(self, about: AlsoFahrenheit) -> str:
        """What was said in °C, and the range in °F where that is preferred."""
        if self.preferences.temperature is TemperatureShown.CELSIUS:
            return str(self.read(about.said))
        return self.written(
            N_("{range} (so {low:g} to {high:g} °F)"),
            {
                "range": about.said,
                "low": fahrenheit(about.low),
                "high": fahrenheit(about.high),
            },
        )

    def _filled(self, text: str, values: Mapping[str, object]) -> str:
        """A text of this reader's language with its values in their places."""
        made: list[str] = []
        for plain, name, spec in pieces_of(text):
            made.append(plain)
            if name is None:
                continue
            value = values[name]
            # The usual kinds first: a page has hundreds of them.
            if type(value) is str and not spec:
                made.append(value)
            elif type(value) is float or type(value) is int:
                made.append(self.number(value, spec))
            else:
                made.append(_in_words(self, value, spec))
        return "".join(made)

    def _month(self, value: date, *, short: bool) -> str:
        return self.written((SHORT_MONTHS if short else LONG_MONTHS)[value.month - 1], {})

    def _in_both(self, celsius: str, in_fahrenheit: str) -> str:
        if self.preferences.temperature is TemperatureShown.CELSIUS:
            return f"{celsius} °C"
        return f"{in_fahrenheit} °F ({celsius} °C)"


def _in_words(reader: Reader, value: Any, spec: str) -> str:
    """A value as this reader has it in a text."""
    if isinstance(value, Digits):
        return reader.with_sign(value)
    if isinstance(value, str):
        return format(reader.read(value), spec)
    if isinstance(value, Celsius):
        return reader.temperature(float(value), spec)
    if isinstance(value, CelsiusRange):
        return reader.temperatures(value, spec)
    if isinstance(value, CelsiusAround):
        return reader.temperature_around(value, spec)
    if isinstance(value, AlsoFahrenheit):
        return reader.also_in_fahrenheit(value)
    if isinstance(value, Number) and not isinstance(value, bool):
        return reader.number(value, spec)
    if isinstance(value, datetime) and not spec:
        return f"{reader.day(value)}, {value:%H:%M}"
    if isinstance(value, date):
        if spec in ("", "short", LONG):
            return reader.day(value, long=spec == LONG)
        return reader.dated(value, spec)
    return format(value, spec)


ENGLISH = Reader()
"""Who reads what leaves this machine, and everything that is compared word for word."""
