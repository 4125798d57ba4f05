"""Projected end of life: from a record of capacity tests to dates with their chances."""

import math
from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from app.analysis.projection.capacity_fan import CapacityFan, capacity_fan
from app.analysis.projection.capacity_record import CapacityRecord, capacity_record
from app.analysis.projection.end_distribution import EndDistribution, LifeSpread, end_distributions
from app.analysis.projection.life_belief import LifePrior, prior_of
from app.analysis.projection.life_posterior import (
    LifePosterior,
    NoiseModel,
    life_posterior,
    log_likelihood,
)
from app.analysis.projection.trajectories import Library
from app.analysis.statistics.arrays import Floats
from app.domain.chemistry import Chemistry
from app.domain.units.time_units import DAYS_PER_YEAR

Flags = NDArray[np.bool_]

LEVELS = (0.05, 0.25, 0.5, 0.75, 0.95)
HORIZON_DAYS = 30.0 * DAYS_PER_YEAR
MOSTLY_PRIOR_OVERLAP = 0.8


class ProjectionOutcome(StrEnum):
    """What can be said of the end of life."""

    ALREADY_BELOW = "already_below"
    PROJECTED = "projected"
    BEYOND_HORIZON = "beyond_horizon"
    NOT_YET_KNOWN = "not_yet_known"


@dataclass(frozen=True)
class ProjectionRequest:
    """What to project. Dates are days on the same axis as the tests.

    share: threshold as a share of the fitted capacity at the first test; used unless `amp_hours`
        gives an absolute one.
    gain: relative standard uncertainty that all tests share (their meter's gain). It moves all
        capacities alike, so that it matters against amp-hours and not against the first test.
    today: day on which the answer is read; None means the day of the last measured test.
    horizon: days after the first test beyond which no date is given.
    fan_points: number of dates in the fan; 0 for none.
    fan_days: the fan's dates themselves, on the axis of the tests; fan_points says them otherwise.
    """

    share: float = 0.8
    amp_hours: float | None = None
    gain: float = 0.0
    today: float | None = None
    horizon: float = HORIZON_DAYS
    levels: tuple[float, ...] = LEVELS
    fan_points: int = 32
    fan_days: tuple[float, ...] = ()


@dataclass(frozen=True)
class Parameters:
    """The constants of the method; the belief is that in a battery of which nothing is known."""

    prior: LifePrior = field(default_factory=lambda: prior_of(Chemistry.LFP))
    misfit: NoiseModel = field(default_factory=NoiseModel)
    smear: LifeSpread = field(default_factory=LifeSpread)


@dataclass(frozen=True)
class Projection:
    """The answer. No field holds infinity or NaN.

    quantiles: (level, day) on the axis of the tests; the day is None beyond the horizon, and where
        nothing is known yet.
    start_amp_hours, threshold_amp_hours: fitted capacity at the first test and threshold, or None.
    chance_above_today, chance_beyond_horizon: of still being above the threshold; None if unknown.
    prior_overlap: 1 where the tests changed nothing, near 0 where they said nearly everything.
    fan: capacity over time, days counted on the axis of the tests; None if unknown or not asked.
    """

    outcome: ProjectionOutcome
    tests: int
    lower_bounds: int
    quantiles: tuple[tuple[float, float | None], ...]
    start_amp_hours: float | None = None
    threshold_amp_hours: float | None = None
    chance_above_today: float | None = None
    chance_beyond_horizon: float | None = None
    prior_overlap: float = 1.0
    fan: CapacityFan | None = None
    first_day: float = 0.0
    end: EndDistribution | None = None

    @property
    def mostly_prior(self) -> bool:
        """True where the answer is nearly what was believed before any test."""
        return self.prior_overlap > MOSTLY_PRIOR_OVERLAP

    def quantile(self, level: float) -> float | None:
        """Day of one of the asked levels. Raises KeyError for a level that was not asked."""
        return dict(self.quantiles)[level]

    def chance_above(self, day: float) -> float | None:
        """Chance that true capacity is still above the threshold on `day`; None if unknown."""
        return None if self.end is None else self.end.chance_above(day - self.first_day)


def project(
    days: Floats,
    capacities: Floats,
    uncertainties: Floats,
    *,
    library: Library,
    at_least: Flags | None = None,
    question: ProjectionRequest | None = None,
    model: Parameters | None = None,
) -> Projection:
    """Project the end of life from n tests in any order.

    days: (n,) any origin. capacities: (n,) Ah. uncertainties: (n,) standard, Ah; zero is allowed.
    at_least: (n,) True where the capacity is only a lower bound.
    Rows without a finite date and a finite positive capacity are left out.
    Raises ValueError where the arrays differ in length, or the question is out of range.
    """
    asked, constants = question or ProjectionRequest(), model or Parameters()
    _check(days, capacities, uncertainties, at_least, asked)
    record = capacity_record(days, capacities, uncertainties, at_least)
    if record.measured == 0:
        unknown = tuple((level, None) for level in asked.levels)
        return Projection(ProjectionOutcome.NOT_YET_KNOWN, 0, record.bounds, unknown)
    fitted = log_likelihood(record, library, constants.misfit)
    parts: list[tuple[LifePosterior, list[EndDistribution], float]] = []
    for factor, weight in _gain_nodes(asked):
        posterior = life_posterior(
            record,
            library,
            share=asked.share if asked.amp_hours is None else None,
            amp_hours=None if asked.amp_hours is None else asked.amp_hours * factor,
            prior=constants.prior,
            misfit=constants.misfit,
            fitted=fitted,
        )
        # What the middle one would say without the tests stands beside it.
        weights = (posterior.weight,) if parts else (posterior.weight, posterior.prior_weight)
        ends = end_distributions(posterior, weights, record.span, constants.smear)
        parts.append((posterior, ends, weight))
    below = np.sum([weight * ends[0].chance_below for _, ends, weight in parts], axis=0)
    middle, (end, before), _ = parts[0]
    mixed = EndDistribution(end.days, below)
    return _answer(record, middle, (before, mixed), library, asked, constants)


def _gain_nodes(asked: ProjectionRequest) -> tuple[tuple[float, float], ...]:
    """Factors of the threshold and their weights: three points of Gauss and Hermite."""
    if asked.amp_hours is None or asked.gain <= 0:
        return ((1.0, 1.0),)
    step = math.exp(math.sqrt(3) * asked.gain)
    return ((1.0, 2 / 3), (step, 1 / 6), (1 / step, 1 / 6))


def _answer(
    record: CapacityRecord,
    posterior: LifePosterior,
    ends: tuple[EndDistribution, EndDistribution],
    library: Library,
    asked: ProjectionRequest,
    constants: Parameters,
) -> Projection:
    """What the end says, given without the tests and with them."""
    before, end = ends
    today = max(record.last_day if asked.today is None else asked.today, record.first_day)
    above_today = end.chance_above(today - record.first_day)
    above_horizon = end.chance_above(asked.horizon)
    start = float(np.exp(np.sum(posterior.weight * posterior.log_start)))
    if above_today < 0.5:
        outcome = ProjectionOutcome.ALREADY_BELOW
    elif above_horizon > 0.5:
        outcome = ProjectionOutcome.BEYOND_HORIZON
    else:
        outcome = ProjectionOutcome.PROJECTED
    quantiles = []
    for level in asked.levels:
        day = end.quantile(level)
        quantiles.append((level, record.first_day + day if day <= asked.horizon else None))
    fan = None
    if asked.fan_days or asked.fan_points > 0:
        reach = min(asked.horizon, max(end.quantile(0.95), record.span, 1.0))
        since = np.linspace(0.0, reach, asked.fan_points)
        if asked.fan_days:
            since = np.array(asked.fan_days) - record.first_day
        own = capacity_fan(posterior, library, record.span, constants.smear, since, asked.levels)
        fan = CapacityFan(own.days + record.first_day, own.levels, own.capacities)
    return Projection(
        outcome=outcome,
        tests=record.measured,
        lower_bounds=record.bounds,
        quantiles=tuple(quantiles),
        start_amp_hours=start,
        threshold_amp_hours=start * asked.share if asked.amp_hours is None else asked.amp_hours,
        chance_above_today=above_today,
        chance_beyond_horizon=above_horizon,
        prior_overlap=_overlap(before, end),
        fan=fan,
        first_day=record.first_day,
        end=end,
    )


def _overlap(before: EndDistribution, end: EndDistribution) -> float:
    """Probability that the answers without and with the tests have in common (0 to 1)."""
    difference = np.diff(end.chance_below) - np.diff(before.chance_below)
    return float(np.clip(1.0 - 0.5 * np.sum(np.abs(difference)), 0.0, 1.0))


def _check(
    days: Floats,
    capacities: Floats,
    uncertainties: Floats,
    at_least: Flags | None,
    asked: ProjectionRequest,
) -> None:
    count = len(days)
    others = [len(capacities), len(uncertainties), count if at_least is None else len(at_least)]
    if any(other != count for other in others):
        raise ValueError(f"{count} dates, but {others} capacities, uncertainties and bounds")
    if not 0.0 < asked.share < 1.0:
        raise ValueError(f"share must be between 0 and 1, not {asked.share}")
    if asked.amp_hours is not None and not asked.amp_hours > 0.0:
        raise ValueError(f"amp_hours must be above 0, not {asked.amp_hours}")
    if not asked.horizon > 0.0:
        raise ValueError(f"horizon must be above 0 days, not {asked.horizon}")
    if not all(0.0 < level < 1.0 for level in asked.levels):
        raise ValueError(f"levels must be between 0 and 1, not {asked.levels}")
