"""Comparing the fade of two batteries, or of one before and after a move."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.special import stdtr, stdtrit

from app.analysis.fade_line import SHORTEST_DAYS, capacities, own_variance, shared_gains, span_days
from app.analysis.gls import between_test_scatter, generalised_fit
from app.analysis.trend_point import DAYS_PER_YEAR, TrendPoint
from app.analysis.verdict import likelihood
from app.domain.finding import Kind

Floats = NDArray[np.float64]
LEVEL = 0.95
POWER = 0.8
MOST_FURTHER_TESTS = 40
FEWEST_EACH_SIDE = 2
# How many residuals the stated uncertainties of one record are worth. Chosen by simulation so that
# the interval of a difference holds the truth in 95 % of cases (tests/benchmarks/bench_comparison).
PRIOR_TESTS = 2


@dataclass(frozen=True)
class Rate:
    """A rate of fade in % of rated per year.

    standard is its uncertainty as the tests state it, chi_squared how far they scatter against
    that, on residual_freedom degrees of freedom.
    """

    name: str
    percent_per_year: float
    standard: float
    chi_squared: float
    residual_freedom: int


@dataclass(frozen=True)
class Difference:
    """One rate less another, in points of % of rated per year, with its 95 % interval.

    probability_faster is that the first fades faster.
    """

    first: Rate
    second: Rate
    points_per_year: float
    low: float
    high: float
    standard: float
    degrees_of_freedom: int
    probability_faster: float

    @property
    def proven(self) -> bool:
        return self.low > 0 or self.high < 0

    @property
    def words(self) -> str:
        size = f"{abs(self.points_per_year):.1f} points a year"
        interval = f"95 % interval {self.low:.1f} to {self.high:.1f}".replace("-", "−")
        if not self.proven:
            way = "faster" if self.points_per_year >= 0 else "slower"
            return (
                f"No difference proven: {self.first.name} fades {size} {way} than "
                f"{self.second.name}, {interval}. That it fades faster at all is "
                f"{likelihood(self.probability_faster)}."
            )
        pair = (self.first.name, self.second.name)
        ahead, behind = pair if self.points_per_year > 0 else pair[::-1]
        return f"{ahead} fades faster than {behind} by {size}, {interval}."


@dataclass(frozen=True)
class _Fitted:
    """Coefficients of a design in Ah and years, with what the residuals say."""

    coefficients: Floats
    covariance: Floats
    chi_squared: float
    freedom: int
    scatter2: float


def rate_of(name: str, points: Sequence[TrendPoint], rated_ah: float) -> Rate | None:
    """The rate of the measured tests; None for fewer than two, or within a month.

    Lower bounds do not enter: they say nothing against another battery.
    """
    measured = _measured(points)
    if len(measured) < FEWEST_EACH_SIDE or span_days(measured) < SHORTEST_DAYS:
        return None
    fit = _fit(measured, _line(measured))
    scale = 100 / rated_ah
    return Rate(
        name,
        -float(fit.coefficients[1]) * scale,
        math.sqrt(float(fit.covariance[1, 1])) * scale,
        fit.chi_squared,
        fit.freedom,
    )


def difference(first: Rate, second: Rate) -> Difference:
    """The difference of two independent rates.

    What both records' residuals say of their stated uncertainties is taken together, and what is
    stated counts as much as PRIOR_TESTS residuals of each would.
    """
    prior = 2 * PRIOR_TESTS
    freedom = first.residual_freedom + second.residual_freedom + prior
    scale = (prior + first.chi_squared + second.chi_squared) / freedom
    standard = math.sqrt(scale) * math.hypot(first.standard, second.standard)
    gap = first.percent_per_year - second.percent_per_year
    return _difference(first, second, gap, standard, freedom)


def around_move(
    points: Sequence[TrendPoint], move_day: float, rated_ah: float
) -> Difference | None:
    """The rate after a move less that before it; None where either side has too few tests.

    One line that bends at the move: the battery goes on from where it was.
    """
    measured = _measured(points)
    before = sum(1 for p in measured if p.day <= move_day)
    if min(before, len(measured) - before) < FEWEST_EACH_SIDE:
        return None
    days = np.array([(p.day - move_day) / DAYS_PER_YEAR for p in measured])
    fit = _fit(measured, np.column_stack([np.ones_like(days), days, np.maximum(0.0, days)]))
    freedom = fit.freedom + PRIOR_TESTS
    covariance = fit.covariance * (100 / rated_ah) ** 2
    slope, bend = (-100 / rated_ah * float(value) for value in fit.coefficients[1:])
    whole = float(covariance[1, 1] + covariance[2, 2] + 2 * covariance[1, 2])
    seen = (fit.chi_squared, fit.freedom)
    early = Rate("before the move", slope, math.sqrt(float(covariance[1, 1])), *seen)
    late = Rate("after the move", slope + bend, math.sqrt(whole), *seen)
    scale = (PRIOR_TESTS + fit.chi_squared) / freedom
    return _difference(late, early, bend, math.sqrt(scale * float(covariance[2, 2])), freedom)


def further_to_show(
    points: Sequence[Sequence[TrendPoint]],
    rated_ah: Sequence[float],
    interval_days: float,
    shown: float,
) -> int | None:
    """How many more tests of each would show a real difference of `shown` points a year.

    With 95 % confidence and 80 % power, tests as good as the ones so far; None where 40 would not.
    """
    records = [_measured(own) for own in points]
    for further in range(MOST_FURTHER_TESTS + 1):
        variance, freedom = 0.0, 2 * PRIOR_TESTS
        for own, rated in zip(records, rated_ah, strict=True):
            longer = [*own, *_further(own[-1], further, interval_days)]
            scatter2 = _fit(own, _line(own)).scatter2
            fit = _fit(longer, _line(longer), scatter2)
            variance += float(fit.covariance[1, 1]) * (100 / rated) ** 2
            freedom += fit.freedom
        needed = float(stdtrit(freedom, (1 + LEVEL) / 2) + stdtrit(freedom, POWER))
        if needed * math.sqrt(variance) <= shown:
            return further
    return None


def _difference(first: Rate, second: Rate, gap: float, standard: float, freedom: int) -> Difference:
    half = float(stdtrit(freedom, (1 + LEVEL) / 2)) * standard
    chance = float(stdtr(freedom, gap / standard)) if standard > 0 else float(gap > 0)
    return Difference(first, second, gap, gap - half, gap + half, standard, freedom, chance)


def _measured(points: Sequence[TrendPoint]) -> list[TrendPoint]:
    kept = (p for p in points if p.kind is Kind.MEASURED and not p.left_out)
    return sorted(kept, key=lambda p: p.day)


def _line(points: Sequence[TrendPoint]) -> Floats:
    days = np.array([p.day - points[0].day for p in points])
    return np.column_stack([np.ones_like(days), days / DAYS_PER_YEAR])


def _fit(points: Sequence[TrendPoint], design: Floats, scatter2: float | None = None) -> _Fitted:
    """A generalised fit with the meters' gains in common and the scatter between the tests."""
    y, variance, shared = capacities(points), own_variance(points), shared_gains(points)
    freedom = len(points) - design.shape[1]
    if scatter2 is None:
        scatter2 = between_test_scatter(design, y, variance, shared) if freedom > 0 else 0.0
    fit = generalised_fit(design, y, variance + scatter2, shared)
    return _Fitted(fit.coefficients, fit.covariance, fit.chi_squared, freedom, scatter2)


def _further(last: TrendPoint, count: int, interval_days: float) -> list[TrendPoint]:
    return [
        replace(last, day=last.day + (i + 1) * interval_days, discharge_id=None)
        for i in range(count)
    ]
