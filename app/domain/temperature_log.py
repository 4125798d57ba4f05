"""What a logger wrote at a place: one mean temperature an hour."""

import math
from array import array
from dataclasses import dataclass
from datetime import date, datetime

HOURS_A_DAY = 24


@dataclass(frozen=True)
class HourlyTemperatures:
    """Mean temperature in °C of each hour from midnight of first_day on; nan where none is known.

    Whole days by the clock of the place. Treated as immutable.
    """

    first_day: date
    celsius: "array[float]"

    @property
    def days(self) -> int:
        return len(self.celsius) // HOURS_A_DAY

    @property
    def known_h(self) -> int:
        return sum(1 for value in self.celsius if not math.isnan(value))


@dataclass(frozen=True)
class TemperatureLog:
    """A stored log of a place. gives_way: where another log knows an hour too, that one counts."""

    id: int
    place_id: int
    source: str
    said: tuple[str, ...]
    first_day: date
    last_day: date
    gives_way: bool
    added_at: datetime
