"""How the owner reads temperatures, dates and numbers. What is stored stays the same."""

from dataclasses import dataclass
from enum import StrEnum


class TemperatureShown(StrEnum):
    """In which unit pages show a temperature."""

    CELSIUS = "celsius"
    FAHRENHEIT = "fahrenheit"

    @property
    def label(self) -> str:
        return "°C" if self is TemperatureShown.CELSIUS else "°F, with °C beside it"


class DateShown(StrEnum):
    """In which order pages write a date; both are read the same way everywhere."""

    WORDS = "words"
    YEAR_FIRST = "year_first"

    @property
    def label(self) -> str:
        return "3 Apr 2026" if self is DateShown.WORDS else "2026-04-03"


class DecimalShown(StrEnum):
    """Which sign pages put before the decimals; forms take either."""

    POINT = "point"
    COMMA = "comma"

    @property
    def label(self) -> str:
        return "a point, 12.8" if self is DecimalShown.POINT else "a comma, 12,8"


@dataclass(frozen=True)
class Preferences:
    """What the owner chose for the own pages on this machine."""

    temperature: TemperatureShown = TemperatureShown.CELSIUS
    dates: DateShown = DateShown.WORDS
    decimals: DecimalShown = DecimalShown.POINT
