"""The line of the fade: measured tests, shared errors, scatter and lower bounds."""

import math
from collections.abc import Sequence

import numpy as np

from app.analysis.fade.trend_point import TrendPoint
from app.analysis.statistics.arrays import Floats
from app.analysis.statistics.censored import censored_line
from app.analysis.statistics.gls import between_test_scatter, generalised_fit
from app.analysis.statistics.line import Line
from app.domain.finding import EvidenceKind
from app.domain.units.time_units import DAYS_PER_YEAR

# No test is better than this share of its capacity, whatever was stated.
SMALLEST_RELATIVE = 5e-4
# Closer together than this two tests tell scatter and not fade.
MIN_DAYS = 30.0
# How many residuals the stated uncertainties are worth (chosen by simulation, see bench_fade).
PRIOR_TESTS = 2
# A lower bound this many standard deviations below the line says nothing that is not known.
BOUND_MATTERS = 3.0
# One this far above the line contradicts the measured tests and is named instead of believed.
BOUND_CONTRADICTS = 4.0


def fit_fade_line(
    measured: Sequence[TrendPoint], bounds: Sequence[TrendPoint]
) -> tuple[Line | None, float]:
    """The line over days since the first measured test, and tau²."""
    stated = any(p.independent_ah > 0 for p in measured)
    if len(measured) < (2 if stated else 3) or span_days(measured) < MIN_DAYS:
        return None, 0.0
    days = np.array([p.day - measured[0].day for p in measured])
    y, variance = capacities(measured), own_variance(measured)
    design = np.column_stack([np.ones_like(days), days / DAYS_PER_YEAR])
    shared = fitted_shared_errors(measured, design, y, variance)
    tau2 = between_test_scatter(design, y, variance, shared) if len(measured) > 2 else 0.0
    fit = generalised_fit(design, y, variance + tau2, shared)
    prior = PRIOR_TESTS if stated else 0
    freedom = len(measured) - 2 + prior
    widen = max(1.0, (prior + fit.chi_squared) / freedom)
    line = _as_line(fit.coefficients, fit.covariance * widen, widen, freedom)
    speaking = [p for p in bounds if _speaks(p, line, measured[0].day, tau2)]
    speaking = [p for p in speaking if not contradicts(p, line, measured[0].day, tau2)]
    if speaking:
        line = _with_bounds(measured, speaking, line, tau2, widen, freedom)
    return line, tau2


def span_days(measured: Sequence[TrendPoint]) -> float:
    """Days between the first and the last of them."""
    return measured[-1].day - measured[0].day if measured else 0.0


def _with_bounds(
    measured: Sequence[TrendPoint],
    bounds: Sequence[TrendPoint],
    line: Line,
    tau2: float,
    widen: float,
    freedom: int,
) -> Line:
    """The line once more, with the lower bounds that speak; shared errors are parameters."""
    both = [*measured, *bounds]
    days = np.array([p.day - measured[0].day for p in both])
    at_least = np.array([p.kind is EvidenceKind.AT_LEAST for p in both])
    y, variance = capacities(both), own_variance(both)
    # A shared error is a share of the true value (see fitted_shared_errors): of a test that of the
    # capacity, of a bound that of what was drawn.
    true = np.where(at_least, y, [line.at(float(day)) for day in days])
    shared = shared_errors(both, true / y)
    fit = censored_line(days / DAYS_PER_YEAR, y, at_least, variance, math.sqrt(tau2), shared)
    coefficients = np.array([fit.intercept, fit.slope])
    return _as_line(coefficients, fit.covariance * widen, widen, freedom)


def _as_line(coefficients: Floats, covariance: Floats, widen: float, freedom: int) -> Line:
    """From years to days."""
    per_day = 1 / DAYS_PER_YEAR
    return Line(
        intercept=float(coefficients[0]),
        slope=float(coefficients[1]) * per_day,
        intercept_variance=float(covariance[0, 0]),
        covariance=float(covariance[0, 1]) * per_day,
        slope_variance=float(covariance[1, 1]) * per_day**2,
        residual_sd=math.sqrt(widen),
        degrees_of_freedom=freedom,
    )


def _speaks(bound: TrendPoint, line: Line, first_day: float, tau2: float) -> bool:
    x = bound.day - first_day
    spread = math.sqrt(bound.independent_ah**2 + tau2 + line.se_at(x) ** 2)
    return line.at(x) - bound.capacity_ah < BOUND_MATTERS * spread


def contradicts(bound: TrendPoint, line: Line, first_day: float, tau2: float) -> bool:
    """A bound so far above all the measured tests that one of the two must be wrong."""
    x = bound.day - first_day
    spread = math.sqrt(bound.standard_ah**2 + tau2 + line.se_at(x) ** 2)
    return bound.capacity_ah - line.at(x) > BOUND_CONTRADICTS * spread


def capacities(points: Sequence[TrendPoint]) -> Floats:
    """Their capacities in Ah."""
    return np.array([p.capacity_ah for p in points])


def own_variance(points: Sequence[TrendPoint]) -> Floats:
    """Variance of each test without what it shares with others."""
    return np.array([max(p.independent_ah, SMALLEST_RELATIVE * p.capacity_ah) ** 2 for p in points])


def shared_errors(points: Sequence[TrendPoint], scale: Floats | None = None) -> Floats:
    """A column for each error that tests share: what it adds to each of them, times scale (n,).

    One is the gain of each meter, and one the battery's rate exponent.
    """
    meters = sorted({p.meter_id or 0 for p in points})
    column = {meter: place for place, meter in enumerate(meters)}
    table = np.zeros((len(points), len(meters) + 1))
    for row, point in enumerate(points):
        table[row, column[point.meter_id or 0]] = point.gain_ah
        table[row, -1] = point.rate_ah
    if scale is not None:
        table *= scale[:, None]
    return table[:, table.any(axis=0)]


def fitted_shared_errors(
    points: Sequence[TrendPoint], design: Floats, y: Floats, variance: Floats
) -> Floats:
    """What the shared errors add to each test, as shares of the fitted capacities.

    Such an error is a share of the true value: of what was read, low readings would count for more.
    """
    plain = generalised_fit(design, y, variance, np.zeros((len(y), 0)))
    return shared_errors(points, (y - plain.residuals) / y)
