"""Units of what is typed and of what files hold: one table, the only one in the program.

Factors are exact by definition: SI prefixes, and minute, hour and day of the SI Brochure (9th
edition, tables 7 and 8); °F = 1.8 °C + 32 (NIST SP 811, B.8). A year is twelve months and nothing
else: neither is a fixed number of days.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from app.domain.i18n.marks import N_
from app.domain.i18n.message import say
from app.domain.units.time_units import SECONDS_PER_DAY, SECONDS_PER_HOUR


class Dimension(StrEnum):
    """What a unit measures, in the words of a refusal."""

    CURRENT = N_("a current")
    VOLTAGE = N_("a voltage")
    CHARGE = N_("an amount of charge")
    POWER = N_("a power")
    ENERGY = N_("an energy")
    TEMPERATURE = N_("a temperature")
    SHARE = N_("a share")
    TIME = N_("a length of time")
    CALENDAR = N_("a number of months or years")

    @property
    def label(self) -> str:
        return say(self.value)


@dataclass(frozen=True)
class Unit:
    """A unit and its way to the base unit of its kind: (value - zero) * times / over.

    A multiplication and a division, because 850 / 1000 is the nearest double to 0.85 and
    850 * 0.001 need not be.
    """

    symbol: str
    kind: Dimension
    times: float = 1
    over: float = 1
    zero: float = 0
    also: tuple[str, ...] = ()

    @property
    def label(self) -> str:
        """Its symbol; a unit that is written as a word in the reader's language."""
        return say(self.symbol)

    def to_base(self, value: Any) -> Any:
        """A value, or a whole column of them, in the base unit."""
        return (value - self.zero) * self.times / self.over

    def from_base(self, value: float) -> float:
        return value * self.over / self.times + self.zero


UNITS = (
    Unit("A", Dimension.CURRENT, also=("amp", "amps", "ampere", "amperes")),
    Unit("mA", Dimension.CURRENT, over=1000),
    Unit("µA", Dimension.CURRENT, over=1_000_000, also=("uA",)),
    Unit("kA", Dimension.CURRENT, times=1000),
    Unit("V", Dimension.VOLTAGE, also=("volt", "volts")),
    Unit("mV", Dimension.VOLTAGE, over=1000),
    Unit("µV", Dimension.VOLTAGE, over=1_000_000, also=("uV",)),
    Unit("kV", Dimension.VOLTAGE, times=1000),
    Unit("Ah", Dimension.CHARGE, also=("A h", "A·h", "amp-hours", "amp hours")),
    Unit("mAh", Dimension.CHARGE, over=1000, also=("mA h", "mA·h")),
    Unit("kAh", Dimension.CHARGE, times=1000),
    Unit("W", Dimension.POWER, also=("watt", "watts")),
    Unit("mW", Dimension.POWER, over=1000, also=("milliwatt", "milliwatts")),
    Unit("kW", Dimension.POWER, times=1000),
    Unit("Wh", Dimension.ENERGY),
    Unit("kWh", Dimension.ENERGY, times=1000),
    Unit("°C", Dimension.TEMPERATURE, also=("C", "℃", "° C", "deg C", "degC")),
    Unit("°F", Dimension.TEMPERATURE, over=1.8, zero=32, also=("F", "℉", "° F", "deg F", "degF")),
    Unit("%", Dimension.SHARE, also=("percent", "per cent")),
    Unit("s", Dimension.TIME, also=("sec", "secs", "second", "seconds")),
    Unit("ms", Dimension.TIME, over=1000),
    Unit("min", Dimension.TIME, times=60, also=("mins", "minute", "minutes")),
    Unit("h", Dimension.TIME, times=SECONDS_PER_HOUR, also=("hr", "hrs", "hour", "hours")),
    Unit(N_("days"), Dimension.TIME, times=SECONDS_PER_DAY, also=("d", "day", "tag", "tage")),
    Unit(N_("weeks"), Dimension.TIME, times=604_800, also=("week", "woche", "wochen")),
    Unit(N_("months"), Dimension.CALENDAR, also=("month", "monat", "monate")),
    Unit(N_("years"), Dimension.CALENDAR, times=12, also=("year", "yr", "yrs", "jahr", "jahre")),
)
# Capitals do not tell units apart (MA is read as mA): megaamperes are beyond every range here.
_BY_NAME = {name.casefold(): unit for unit in UNITS for name in (unit.symbol, *unit.also)}
_NUMBER = r"[+\-−]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+\-]?\d+)?"
_WITH_UNIT = re.compile(rf"({_NUMBER})\s*(\D.*)", re.DOTALL)
# 1h30, 1 h 30 min, 1h30m20s, 2 h; only whole numbers before the last part that is given.
_SPAN = re.compile(
    r"(\d+)\s*h(?:rs?|ours?)?\s*(?:(\d{1,2})\s*(?:m|min|mins|minutes?)?)?"
    r"\s*(?:(?<=[mins ])(\d{1,2})\s*(?:s|secs?|seconds?)?)?",
    re.IGNORECASE,
)
_COLONS = re.compile(r"(\d+):(\d{2})(?::(\d{2}))?")
THOUSANDS = re.compile(r"[+\-−]?\d{1,3},\d{3}")
POINTED_THOUSANDS = re.compile(r"[+\-−]?[1-9]\d{0,2}\.\d{3}")


def unit_named(name: str) -> Unit | None:
    """The unit of a name or symbol, however its letters are written; None for anything else."""
    plain = name.strip().replace("º", "°").replace("˚", "°")
    if plain.startswith("MW"):
        # Megawatts or milliwatts: both have been meant, and neither is near the other.
        return None
    return _BY_NAME.get(" ".join(plain.split()).casefold())


def split_unit(text: str) -> tuple[str, Unit | None]:
    """A number as typed and the unit behind it; the text as it is where no known unit ends it."""
    cleaned = text.strip().replace("\u00a0", "").replace("\u202f", "")
    if cleaned[-1:].isdigit():
        return cleaned, None
    match = _WITH_UNIT.fullmatch(cleaned)
    unit = unit_named(match[2]) if match else None
    return (cleaned, None) if match is None or unit is None else (match[1], unit)


def parse_duration(text: str) -> float | None:
    """Seconds of a span in hours and smaller parts, such as 1h30 or 1 h 30 min; else None."""
    match = _SPAN.fullmatch(" ".join(text.split()))
    return None if match is None else _seconds(match.groups())


def clock_span_s(text: str) -> float | None:
    """Seconds of h:mm or h:mm:ss; None for anything else."""
    match = _COLONS.fullmatch(text.strip())
    return None if match is None else _seconds(match.groups())


def as_clock_span(seconds: float) -> str:
    """Seconds as h:mm, with :ss and thousandths where there are any."""
    minutes, left = divmod(round(seconds, 3), 60)
    tail = f":{left:06.3f}".rstrip("0").rstrip(".") if left else ""
    return f"{minutes // 60:.0f}:{minutes % 60:02.0f}{tail}"


def _seconds(parts: Sequence[str | None]) -> float | None:
    hours, minutes, seconds = (int(part or 0) for part in parts)
    return (
        None if minutes > 59 or seconds > 59 else hours * SECONDS_PER_HOUR + minutes * 60 + seconds
    )
