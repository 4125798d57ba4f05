"""The day on which so many nights no longer work, as a threshold of its own."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from app.analysis.battery.capacity_forecast import gain_factors
from app.analysis.nights.nights import spread, threshold_of
from app.analysis.nights.use_cases import UseCase
from app.analysis.projection.end_of_life import coarse_date
from app.analysis.statistics.coverage import HIGH, LOW, MIDDLE
from app.domain.i18n.message import joined, say

LEVELS = (HIGH, MIDDLE, LOW)


@dataclass(frozen=True)
class NightsEnd:
    """When so many nights no longer work: dates by 5, 50 and 95 % chance.

    needed_ah is the capacity at reference conditions that they take. A date is None beyond
    last_day, and where it has passed already.
    """

    label: str
    nights: float
    needed_ah: float
    p05: date | None
    p50: date | None
    p95: date | None
    chance_today: float
    last_day: date

    @property
    def words(self) -> str:
        last_year = self.last_day.year
        if self.chance_today < LEVELS[1]:
            below = min(99.0, 100 * (1 - self.chance_today))
            return say("probably not even today ({below:.0f} % likely)", below=below)
        if self.p05 is None and self.chance_today >= LEVELS[0]:
            return say("very likely beyond {last_year}", last_year=last_year)
        if self.p50 is None and self.p05 is None:
            return say("1 in 2: beyond {last_year}", last_year=last_year)
        start = say("now") if self.p05 is None else coarse_date(self.p05)
        if self.p50 is None:
            return say(
                "very likely not before {start}; 1 in 2: beyond {last_year}",
                start=start,
                last_year=last_year,
            )
        middle = coarse_date(self.p50)
        if self.p95 is None:
            return say(
                "{middle}; 9 in 10: from {start} on, latest not known", middle=middle, start=start
            )
        return say(
            "{middle}; 9 in 10: {start} to {end}",
            middle=middle,
            start=start,
            end=coarse_date(self.p95),
        )


def nights_ends(
    cases: Sequence[UseCase], days: Sequence[date], nights: float
) -> tuple[NightsEnd, ...]:
    """Of every case that charging does not cover; the first of days is today."""
    return tuple(_end(case, days, nights) for case in cases if not case.use.endless)


def _end(case: UseCase, days: Sequence[date], nights: float) -> NightsEnd:
    ahead, cold = case.side.ahead, case.cold
    needed_ah = nights * case.use.net_ah / case.side.kept
    factors = gain_factors(ahead.gain)
    chances = [float(np.mean(spread(ahead.on(day), factors, cold) >= needed_ah)) for day in days]
    where = () if cold is None else (say("in a cold week at {temperature}", temperature=cold.at),)
    threshold = threshold_of(nights, case.use, case.side.about.reserve_share, cold)
    p05, p50, p95 = (_falls_to(level, days, chances) for level in LEVELS)
    return NightsEnd(
        label=joined(", ", (case.how, *where)),
        nights=nights,
        needed_ah=threshold.ah or 0.0,
        p05=p05,
        p50=p50,
        p95=p95,
        chance_today=chances[0],
        last_day=days[-1],
    )


def _falls_to(level: float, days: Sequence[date], chances: Sequence[float]) -> date | None:
    """The day on which the chance falls to that level, between two days along a straight line."""
    if chances[0] < level:
        return None
    for i in range(1, len(days)):
        if chances[i] < level:
            ahead = (chances[i - 1] - level) / (chances[i - 1] - chances[i])
            first, second = days[i - 1].toordinal(), days[i].toordinal()
            return date.fromordinal(round(first + ahead * (second - first)))
    return None
