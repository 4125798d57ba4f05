"""How warm a battery had it, hour by hour, as far as it is known."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from app.analysis.ageing.exposure import Exposure
from app.analysis.statistics.arrays import Floats
from app.domain.entities.place import PlaceDetails, Season
from app.domain.temperature_log import HOURS_A_DAY, HourlyTemperatures

STEP_C = 5.0
# The warmest hour of a usual day (common practice: the middle of the afternoon).
WARMEST_HOUR = 15
# A year without a leap day.
A_YEAR = date(2025, 1, 1), date(2026, 1, 1)
NOWHERE = Exposure(np.zeros(0), np.zeros(0))


@dataclass(frozen=True)
class PlaceTemperatures:
    """What is known of a place. Logs in order of precedence: the first that knows an hour tells."""

    details: PlaceDetails
    logs: tuple[HourlyTemperatures, ...] = ()


@dataclass(frozen=True)
class Stretch:
    """A stay from from_day up to and without to_day.

    celsius (n,) is one value an hour, nan where neither log nor seasons tell; logged (n,) says
    which hours a log tells. mix is the typical year by hours, which stands in for the rest.
    """

    place: str
    from_day: date
    to_day: date
    celsius: Floats
    logged: NDArray[np.bool_]
    mix: Exposure

    @cached_property
    def exposure(self) -> Exposure:
        return self.between(self.from_day, self.to_day)

    def between(self, start: date, end: date) -> Exposure:
        """The known hours from start up to and without end, those of the mix among them."""
        hours = self._slice(start, end)
        known = hours[~np.isnan(hours)]
        told = Exposure(known, np.ones(len(known)))
        rest = float(len(hours) - len(known))
        return told.plus(self.mix.lasting(rest)) if rest and self.mix.total_h else told

    def _slice(self, start: date, end: date) -> Floats:
        first = max(0, (start - self.from_day).days) * HOURS_A_DAY
        last = max(0, (min(end, self.to_day) - self.from_day).days) * HOURS_A_DAY
        return self.celsius[first:last]


@dataclass(frozen=True)
class MonthOfHeat:
    """One month at one place: coolest, mean and warmest hour in °C, None where nothing is known.

    known_h is how many of its hours are known, in the part of it that was spent there.
    """

    month: date
    place: str
    low_c: float | None
    mean_c: float | None
    high_c: float | None
    known_share: float
    logged_share: float
    known_h: int


@dataclass(frozen=True)
class TemperatureHistory:
    """The life of a battery from from_day up to and without to_day, stay by stay."""

    from_day: date
    to_day: date
    stretches: tuple[Stretch, ...]

    @property
    def total_h(self) -> float:
        return float((self.to_day - self.from_day).days * HOURS_A_DAY)

    @cached_property
    def exposure(self) -> Exposure:
        """All the known hours."""
        return self.between(self.from_day, self.to_day)

    @property
    def known_share(self) -> float:
        return self.exposure.total_h / self.total_h if self.total_h else 0.0

    @property
    def logged_share(self) -> float:
        logged = sum(int(np.count_nonzero(one.logged)) for one in self.stretches)
        return logged / self.total_h if self.total_h else 0.0

    def between(self, start: date, end: date) -> Exposure:
        """The known hours from start up to and without end."""
        made = NOWHERE
        for one in self.stretches:
            if one.from_day < end and start < one.to_day:
                made = made.plus(one.between(start, end))
        return made

    @cached_property
    def months(self) -> tuple[MonthOfHeat, ...]:
        """Each month of each stay. A typical year by hours has no months."""
        return tuple(month for one in self.stretches for month in _months(one))

    def hours_by_degree(self) -> tuple[tuple[float, float], ...]:
        """Pairs of the lower end of a step of STEP_C in °C and its hours, coolest first."""
        if not self.exposure.total_h:
            return ()
        steps = np.floor(self.exposure.temperature_c / STEP_C)
        whole = np.arange(steps.min(), steps.max() + 1)
        return tuple(
            (float(step * STEP_C), float(self.exposure.hours[steps == step].sum()))
            for step in whole
        )


def temperature_history(
    stays: Sequence[tuple[date, PlaceTemperatures]], from_day: date, to_day: date
) -> TemperatureHistory:
    """From the stays (first day, place) in order of their days.

    Each lasts until the next begins. What lies before the first stay is not known.
    """
    stretches = []
    ends = [*(day for day, _ in stays[1:]), to_day]
    for (start, place), end in zip(stays, ends, strict=False):
        first, last = max(start, from_day), min(end, to_day)
        if first < last:
            stretches.append(_stretch(place, first, last))
    return TemperatureHistory(from_day, to_day, tuple(stretches))


def _stretch(place: PlaceTemperatures, first: date, last: date) -> Stretch:
    celsius = np.full((last - first).days * HOURS_A_DAY, np.nan)
    for log in place.logs:
        _lay(celsius, log, first)
    logged = ~np.isnan(celsius)
    usual = seasonal_hours(place.details.seasons, first, last)
    celsius[~logged] = usual[~logged]
    return Stretch(place.details.name, first, last, celsius, logged, typical_mix(place.details))


def _lay(celsius: Floats, log: HourlyTemperatures, first: date) -> None:
    """Put a log's hours where none is yet."""
    shift = (log.first_day - first).days * HOURS_A_DAY
    values = np.frombuffer(log.celsius, dtype=np.float64)
    start, end = max(0, shift), min(len(celsius), shift + len(values))
    if start >= end:
        return
    here, given = celsius[start:end], values[start - shift : end - shift]
    empty = np.isnan(here)
    here[empty] = given[empty]


def seasonal_hours(seasons: Sequence[Season], first: date, last: date) -> Floats:
    """Hours of a typical year over real days: each day a wave between its night and its noon."""
    days = (last - first).days
    made = np.full((days, HOURS_A_DAY), np.nan)
    if not seasons:
        return made.ravel()
    wave = np.cos(2 * np.pi * (np.arange(HOURS_A_DAY) - WARMEST_HOUR) / HOURS_A_DAY)
    months = np.array([(first + timedelta(days=i)).month for i in range(days)], dtype=np.int64)
    for season in seasons:
        middle, swing = (season.night_c + season.day_c) / 2, (season.day_c - season.night_c) / 2
        made[np.isin(months, season.months)] = middle + swing * wave
    return made.ravel()


def typical_mix(details: PlaceDetails) -> Exposure:
    """The typical year by hours; what is missing to a year is taken to be like the rest."""
    return Exposure.of([(one.temperature_c, one.hours) for one in details.hours])


def typical_year(details: PlaceDetails) -> Exposure:
    """The typical year of a place, by hours or by seasons; of no time where neither is told."""
    if details.hours:
        return typical_mix(details)
    celsius = seasonal_hours(details.seasons, A_YEAR[0], A_YEAR[1])
    known = celsius[~np.isnan(celsius)]
    return Exposure(known, np.ones(len(known)))


def _months(one: Stretch) -> list[MonthOfHeat]:
    found = []
    month = one.from_day.replace(day=1)
    while month < one.to_day:
        following = (month + timedelta(days=32)).replace(day=1)
        first = (max(month, one.from_day) - one.from_day).days * HOURS_A_DAY
        last = (min(following, one.to_day) - one.from_day).days * HOURS_A_DAY
        hours = one.celsius[first:last]
        known = hours[~np.isnan(hours)]
        found.append(
            MonthOfHeat(
                month,
                one.place,
                float(known.min()) if known.size else None,
                float(known.mean()) if known.size else None,
                float(known.max()) if known.size else None,
                known.size / hours.size,
                float(one.logged[first:last].mean()),
                known.size,
            )
        )
        month = following
    return found
