"""Values of a sentence that are written in more than one way: by the reader's unit or sign."""

from dataclasses import dataclass


class Celsius(float):
    """A temperature in °C that a sentence shows with its unit, in the reader's."""


@dataclass(frozen=True)
class CelsiusRange:
    """From one temperature to another, in °C, that a sentence shows as it does one."""

    low: float
    high: float


@dataclass(frozen=True)
class CelsiusAround:
    """A temperature in °C with its ± limit, which a sentence shows in the reader's unit."""

    middle: float
    limit: float


class Digits(str):
    """A number that is written already, but for the reader's decimal sign."""


@dataclass(frozen=True)
class AlsoFahrenheit:
    """What is said in °C, with the same range in °F behind it for whoever prefers that."""

    said: str
    low: float
    high: float
