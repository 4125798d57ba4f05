"""Comparing the fade of two batteries, or of one before and after a move."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from app.analysis.evidence.verdict import likelihood
from app.analysis.fade.fade_line import (
    MIN_DAYS,
    capacities,
    fitted_shared_errors,
    own_variance,
    span_days,
)
from app.analysis.fade.fade_line import PRIOR_TESTS as FADE_PRIOR_TESTS
from app.analysis.fade.trend_point import TrendPoint
from app.analysis.statistics.arrays import Floats
from app.analysis.statistics.coverage import LEVEL, student_factor
from app.analysis.statistics.distributions import student_probability
from app.analysis.statistics.gls import between_test_scatter, generalised_fit
from app.domain.finding import EvidenceKind
from app.domain.i18n.marks import N_
from app.domain.i18n.message import say
from app.domain.units.time_units import DAYS_PER_YEAR

MIN_EACH_SIDE = 2
# How many residuals the stated uncertainties of all tests are worth. Chosen by simulation so that
# the interval of a difference holds the truth in 95 % of cases (tests/benchmarks/bench_comparison).
PRIOR_TESTS = 2
# From so many tests on, scatter is what is left of a line that may curve: fade slows down with age,
# which a straight line would take for scatter (chosen by the same simulation).
CURVED_FROM = 5
PROVEN = N_(
    "{first} fades faster than {second} by {points:.1f} points a year, {interval}. It is "
    "{likelihood} that it fades faster at all."
)
NOT_PROVEN_FASTER = N_(
    "No difference proven: {first} fades {points:.1f} points a year faster than {second}, "
    "{interval}. It is {likelihood} that it fades faster at all; a proof takes {needed:.1f} %."
)
NOT_PROVEN_SLOWER = N_(
    "No difference proven: {first} fades {points:.1f} points a year more slowly than {second}, "
    "{interval}. It is {likelihood} that it fades more slowly at all; a proof takes {needed:.1f} %."
)


@dataclass(frozen=True)
class Rate:
    """A rate of fade in % of rated per year with the 95 % interval of this rate alone.

    Its line passes through pivot_percent (of rated) at pivot_day. For the difference to another:
    standard is its uncertainty as the tests state it and as they scatter, chi_squared what they
    scatter against that, on residual_freedom degrees of freedom.
    """

    name: str
    percent_per_year: float
    low: float
    high: float
    standard: float
    chi_squared: float
    residual_freedom: int
    pivot_day: float
    pivot_percent: float

    def at(self, day: float) -> float:
        """Capacity on the line in % of rated."""
        return self.pivot_percent - self.percent_per_year * (day - self.pivot_day) / DAYS_PER_YEAR


@dataclass(frozen=True)
class Difference:
    """One rate less another, in points of % of rated per year, with its interval.

    The interval is one of `pairs` that hold the truth together with 95 %: Bonferroni gives each
    the level 1 - 0.05/pairs. probability_faster is that the first fades faster, of this pair alone.
    """

    first: Rate
    second: Rate
    points_per_year: float
    low: float
    high: float
    standard: float
    degrees_of_freedom: int
    probability_faster: float
    pairs: int = 1

    @property
    def proven(self) -> bool:
        return self.low > 0 or self.high < 0

    @property
    def needed_percent(self) -> float:
        """How likely the direction must be: the interval leaves half of its 5 % on either side."""
        return 100 * (1 - (1 - LEVEL) / 2 / self.pairs)

    @property
    def interval_words(self) -> str:
        text = N_("very likely {low:.1f} to {high:.1f}")
        if self.pairs > 1:
            text = N_("very likely {low:.1f} to {high:.1f}, widened for {pairs} pairs")
        return say(text, low=self.low, high=self.high, pairs=self.pairs)

    @property
    def words(self) -> str:
        faster = self.points_per_year >= 0
        first, second, chance = self.first.name, self.second.name, self.probability_faster
        text = PROVEN
        if not self.proven:
            text = NOT_PROVEN_FASTER if faster else NOT_PROVEN_SLOWER
        elif not faster:
            first, second, chance = second, first, 1 - chance
        if not self.proven and not faster:
            chance = 1 - chance
        return say(
            text,
            first=first,
            second=second,
            points=abs(self.points_per_year),
            interval=self.interval_words,
            likelihood=likelihood(chance),
            needed=self.needed_percent,
        )


@dataclass(frozen=True)
class _Fitted:
    """Coefficients of a design in Ah and years, with what the residuals say."""

    coefficients: Floats
    covariance: Floats
    chi_squared: float
    freedom: int


def rate_of(name: str, points: Sequence[TrendPoint], rated_ah: float) -> Rate | None:
    """The rate of the measured tests; None for fewer than two, or within a month.

    Lower bounds do not enter: they say nothing against another battery.
    """
    own = measured(points)
    if len(own) < MIN_EACH_SIDE or span_days(own) < MIN_DAYS:
        return None
    years = np.array([p.day - own[0].day for p in own]) / DAYS_PER_YEAR
    line = np.column_stack([np.ones_like(years), years])
    fit = judged = _fit(own, line, line)
    if len(own) >= CURVED_FROM:
        judged = _fit(own, line, scatter_design(years))
    scale = 100 / rated_ah
    rate, half = -float(fit.coefficients[1]) * scale, _half(fit, 1) * scale
    return Rate(
        name,
        rate,
        rate - half,
        rate + half,
        math.sqrt(float(judged.covariance[1, 1])) * scale,
        judged.chi_squared,
        judged.freedom,
        own[0].day,
        float(fit.coefficients[0]) * scale,
    )


def scatter_design(years: Floats) -> Floats:
    """What tests are held against to see how far they scatter: a line that may curve."""
    columns = [np.ones_like(years), years]
    if len(years) >= CURVED_FROM:
        columns.append(years**2)
    return np.column_stack(columns)


def difference(first: Rate, second: Rate, pairs: int = 1) -> Difference:
    """The difference of two independent rates, as one of `pairs` that are looked at together.

    What both records' residuals say of their stated uncertainties is taken together, and what is
    stated counts as much as PRIOR_TESTS residuals would.
    """
    freedom = first.residual_freedom + second.residual_freedom + PRIOR_TESTS
    scale = (PRIOR_TESTS + first.chi_squared + second.chi_squared) / freedom
    standard = math.sqrt(scale) * math.hypot(first.standard, second.standard)
    gap = first.percent_per_year - second.percent_per_year
    return _difference(first, second, gap, standard, freedom, pairs)


def around_move(
    points: Sequence[TrendPoint], move_day: float, rated_ah: float
) -> Difference | None:
    """The rate after a move less that before it; None where either side has too few tests.

    One line that bends at the move: the battery goes on from where it was.
    """
    own = measured(points)
    if not enough_around(own, move_day):
        return None
    years = np.array([p.day - move_day for p in own]) / DAYS_PER_YEAR
    design = np.column_stack([np.ones_like(years), years, np.maximum(0.0, years)])
    fit = _fit(own, design, design)
    to_rates = np.array([[0.0, 1.0, 0.0], [0.0, 1.0, 1.0]]) * (-100 / rated_ah)
    rates, covariance = to_rates @ fit.coefficients, to_rates @ fit.covariance @ to_rates.T
    level = 100 / rated_ah * float(fit.coefficients[0])
    widen = _factor(fit)
    early, late = (
        Rate(
            name,
            float(rate),
            float(rate) - widen * standard,
            float(rate) + widen * standard,
            standard,
            fit.chi_squared,
            fit.freedom,
            move_day,
            level,
        )
        for name, rate, variance in (
            (say("before the move"), rates[0], covariance[0, 0]),
            (say("after the move"), rates[1], covariance[1, 1]),
        )
        for standard in (math.sqrt(float(variance)),)
    )
    freedom = fit.freedom + PRIOR_TESTS
    scale = (PRIOR_TESTS + fit.chi_squared) / freedom
    standard = math.sqrt(scale * float(fit.covariance[2, 2])) * 100 / rated_ah
    gap = late.percent_per_year - early.percent_per_year
    return _difference(late, early, gap, standard, freedom, 1)


def enough_around(own: Sequence[TrendPoint], move_day: float) -> bool:
    """Whether two measured tests or more stand on either side, and reach a month from the move."""
    before = sum(1 for p in own if p.day <= move_day)
    if min(before, len(own) - before) < MIN_EACH_SIDE:
        return False
    return min(move_day - own[0].day, own[-1].day - move_day) >= MIN_DAYS


def measured(points: Sequence[TrendPoint]) -> list[TrendPoint]:
    """The measured tests that were not left out, in order of time."""
    kept = (p for p in points if p.kind is EvidenceKind.MEASURED and not p.left_out)
    return sorted(kept, key=lambda p: p.day)


def _difference(
    first: Rate, second: Rate, gap: float, standard: float, freedom: int, pairs: int
) -> Difference:
    half = student_factor(freedom, of_them=pairs) * standard
    chance = student_probability(freedom, gap / standard) if standard > 0 else float(gap > 0)
    return Difference(first, second, gap, gap - half, gap + half, standard, freedom, chance, pairs)


def _fit(points: Sequence[TrendPoint], design: Floats, judging: Floats) -> _Fitted:
    """A generalised fit with the meters' gains in common and the scatter between the tests.

    The scatter and the residuals are those of the design `judging`.
    """
    y, variance = capacities(points), own_variance(points)
    shared = fitted_shared_errors(points, design, y, variance)
    freedom = len(points) - judging.shape[1]
    if freedom > 0:
        variance = variance + between_test_scatter(judging, y, variance, shared)
    fit = generalised_fit(design, y, variance, shared)
    left = fit if judging is design else generalised_fit(judging, y, variance, shared)
    return _Fitted(fit.coefficients, fit.covariance, left.chi_squared, freedom)


def _half(fit: _Fitted, coefficient: int) -> float:
    """Half the 95 % interval of one coefficient alone."""
    return _factor(fit) * math.sqrt(float(fit.covariance[coefficient, coefficient]))


def _factor(fit: _Fitted) -> float:
    """Student's factor, widened where the residuals ask for it, as the fade of a battery has it."""
    freedom = fit.freedom + FADE_PRIOR_TESTS
    widen = max(1.0, (FADE_PRIOR_TESTS + fit.chi_squared) / freedom)
    return student_factor(freedom) * math.sqrt(widen)
