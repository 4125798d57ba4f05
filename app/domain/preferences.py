"""In which language the owner reads, and how temperatures, dates and numbers.

What is stored stays the same.
"""

from dataclasses import dataclass
from enum import StrEnum

from app.domain.marks import N_


class Language(StrEnum):
    """What pages are written in, by the codes of BCP 47; DEVICE is what the browser asks for."""

    DEVICE = "device"
    ENGLISH = "en"
    GERMAN = "de"

    @property
    def label(self) -> str:
        """Its name in itself: whoever looks for it may read no other."""
        names = {"device": N_("as the device"), "en": "English", "de": "Deutsch"}
        return names[self.value]


class TemperatureShown(StrEnum):
    """In which unit pages show a temperature."""

    CELSIUS = "celsius"
    FAHRENHEIT = "fahrenheit"

    @property
    def label(self) -> str:
        return "°C" if self is TemperatureShown.CELSIUS else N_("°F, with °C beside it")


class DateShown(StrEnum):
    """In which order pages write a date; both are read the same way everywhere."""

    WORDS = "words"
    YEAR_FIRST = "year_first"

    @property
    def label(self) -> str:
        return N_("3 Apr 2026") if self is DateShown.WORDS else "2026-04-03"


class DecimalShown(StrEnum):
    """Which sign pages put before the decimals; forms take either."""

    LANGUAGE = "language"
    POINT = "point"
    COMMA = "comma"

    @property
    def label(self) -> str:
        return {
            "language": N_("as the language has it"),
            "point": N_("a point, 12.8"),
            "comma": N_("a comma, 12,8"),
        }[self.value]


@dataclass(frozen=True)
class Preferences:
    """What the owner chose for the own pages on this machine."""

    language: Language = Language.DEVICE
    temperature: TemperatureShown = TemperatureShown.CELSIUS
    dates: DateShown = DateShown.WORDS
    decimals: DecimalShown = DecimalShown.LANGUAGE

    @property
    def comma(self) -> bool:
        """Whether a comma stands before the decimals."""
        if self.decimals is DecimalShown.LANGUAGE:
            return self.language is Language.GERMAN
        return self.decimals is DecimalShown.COMMA
