"""The day on which true capacity falls below the threshold, as a distribution."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from app.analysis.projection.life_posterior import LifePosterior
from app.analysis.statistics.arrays import Floats

_PAST_STEPS = 200
_FIRST_LOG_DAY, _LAST_LOG_DAY = np.log(0.5), np.log(150_000.0)
_LOG_DAYS: Floats = np.linspace(_FIRST_LOG_DAY, _LAST_LOG_DAY, 401)
_STEP = float(_LOG_DAYS[1] - _LOG_DAYS[0])


@dataclass(frozen=True)
class LifeSpread:
    """Spread of the remaining life, for what no trajectory foresaw (from held-out families).

    Headroom is the part of the allowed loss that was still left at the last test. Mostly a
    two-piece normal on ln(remaining life): `early` is its standard deviation on the side of an
    earlier end, `late` + `late_growth` * (1 - headroom) on the other, since little is then left
    beside which an error of the shape counts. With chance `sudden` a knee that nothing announced
    ends it instead, at an evenly likely moment between the soonest possible one and the foreseen
    end. A fall takes time: the soonest is headroom ** `reluctance` of the remaining life.
    """

    early: float = 0.1
    late: float = 0.04
    late_growth: float = 0.2
    sudden: float = 0.35
    reluctance: float = 3.0

    def soonest(self, headroom: float) -> float:
        """Smallest part of the remaining life that a sudden knee leaves; headroom: 0 to 1."""
        return math.pow(min(max(headroom, 0.1), 0.98), self.reluctance)

    def reach(self, headroom: float) -> float:
        """Offset of ln(remaining life) beyond which the density is not worth following."""
        knee = -float(np.log(self.soonest(headroom))) if self.sudden > 0.0 else 0.0
        return min(max(4.0 * self.early, 4.0 * (self.late + self.late_growth), knee), 5.0)

    def density(self, offset: Floats, headroom: float) -> Floats:
        """Density of offsets of ln(remaining life), rising and evenly spaced; their sum is 1."""
        late = self.late + self.late_growth * (1.0 - headroom)
        width = np.where(offset < 0.0, self.early, late)
        usual = np.exp(-0.5 * (offset / width) ** 2)
        possible = (offset <= 0.0) & (offset >= np.log(self.soonest(headroom)))
        knee = np.where(possible, np.exp(np.minimum(offset, 0.0)), 0.0)
        values: Floats = (1.0 - self.sudden) * usual / usual.sum()
        return values + self.sudden * knee / max(float(knee.sum()), 1e-300)

    def offsets(self, number: int, headroom: float) -> Floats:
        """`number` equally probable offsets of ln(remaining life), rising."""
        reach = self.reach(headroom)
        fine = np.linspace(-reach, reach, 4001)
        mass = np.cumsum(self.density(fine, headroom))
        middles = (np.arange(number) + 0.5) / number
        found: Floats = np.interp(middles, mass / mass[-1], fine)
        return found


@dataclass(frozen=True)
class EndDistribution:
    """Chance of being below the threshold on each of `days` (from the first test), rising."""

    days: Floats
    chance_below: Floats

    def quantile(self, level: float) -> float:
        """Day from the first test by which the chance of being below reaches `level`."""
        return float(np.interp(level, self.chance_below, self.days))

    def chance_above(self, day: float) -> float:
        """Chance that capacity is still above the threshold on `day` from the first test."""
        return float(self.chances_above(np.array([day]))[0])

    def chances_above(self, days: Floats) -> Floats:
        """The same on each of several days."""
        below = np.interp(days, self.days, self.chance_below, left=0.0)
        return np.maximum(0.0, 1.0 - below)


def end_distributions(
    posterior: LifePosterior, weights: Sequence[Floats], last_test: float, smear: LifeSpread
) -> list[EndDistribution]:
    """Distribution of the end under each of `weights` (J, A); last_test in days from the first.

    Ends before the last test stand as they are; the remaining life after it is smeared.
    """
    remaining = posterior.end - last_test
    ahead = remaining > 0.0
    past_days = np.linspace(0.0, last_test, _PAST_STEPS + 1)
    edges = np.linspace(0.0, max(last_test, 1e-9), _PAST_STEPS + 1)
    step = np.searchsorted(edges, posterior.end[~ahead], side="right") - 1
    np.minimum(step, _PAST_STEPS - 1, out=step)
    place = (np.log(np.maximum(remaining[ahead], 1.0)) - _FIRST_LOG_DAY) / _STEP
    place = np.clip(place, 0.0, len(_LOG_DAYS) - 1.001)
    low = place.astype(np.intp)
    part = place - low
    size = len(_LOG_DAYS)
    reach = int(np.ceil(smear.reach(posterior.headroom) / _STEP))
    offsets = _STEP * np.arange(-reach, reach + 1, dtype=np.float64)
    kernel = smear.density(offsets, posterior.headroom)
    days = np.concatenate([past_days, last_test + np.exp(_LOG_DAYS + 0.5 * _STEP)])
    found = []
    for weight in weights:
        past = np.bincount(step, weight[~ahead], _PAST_STEPS)
        mass = weight[ahead]
        upper = mass * part
        future = np.bincount(low, mass * (1.0 - part), size) + np.bincount(low + 1, upper, size)
        future = np.convolve(future, kernel)[reach : reach + size]
        below = np.concatenate([[0.0], np.cumsum(past), past.sum() + np.cumsum(future)])
        found.append(EndDistribution(days, below / below[-1]))
    return found
