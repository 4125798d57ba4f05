"""The fade of one battery: its rate with an interval, and what the record could have shown."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.analysis.censored import censored_line
from app.analysis.fade_power import Detectable, detectable
from app.analysis.gls import between_test_scatter, generalised_fit
from app.analysis.line import Line
from app.analysis.outlier import odd_tests
from app.domain.finding import Finding, Kind

Floats = NDArray[np.float64]
DAYS_PER_YEAR = 365.25
RATE_LEVEL = 0.95
# No test is better than this share of its capacity, whatever was stated.
SMALLEST_RELATIVE = 5e-4
# Closer together than this two tests tell scatter and not fade.
SHORTEST_DAYS = 30.0
# How many residuals the stated uncertainties are worth (chosen by simulation, see bench_fade).
PRIOR_TESTS = 2
# A lower bound this many standard deviations below the line says nothing that is not known.
BOUND_MATTERS = 3.0
# One this far above the line contradicts the measured tests and is named instead of believed.
BOUND_CONTRADICTS = 4.0


@dataclass(frozen=True)
class TrendPoint:
    """One test on the trend.

    day is a proleptic ordinal with its fraction; independent_ah is the standard uncertainty
    without what all tests with the same meter share. left_out says that the owner left it out.
    """

    day: float
    capacity_ah: float
    standard_ah: float
    independent_ah: float
    kind: Kind
    discharge_id: int | None = None
    meter_id: int | None = None
    left_out: bool = False

    @property
    def shared_ah(self) -> float:
        return math.sqrt(max(0.0, self.standard_ah**2 - self.independent_ah**2))


@dataclass(frozen=True)
class Fade:
    """Rate of fade, positive where capacity is lost, in % of reference_ah per year.

    The line runs over days since first_day; all of it is None where no rate can be given, and
    caveats say why. scatter_ah is the scatter between tests beyond their own uncertainty.
    """

    line: Line | None
    first_day: float
    last_day: float
    measured: int
    lower_bounds: int
    left_out: int
    reference_ah: float | None
    reference_words: str
    rate_percent_per_year: float | None
    low: float | None
    high: float | None
    significant: bool
    scatter_ah: float | None
    detectable: tuple[Detectable, ...]
    odd_discharge_ids: tuple[int, ...]
    caveats: tuple[Finding, ...]
    level: float = RATE_LEVEL

    @property
    def words(self) -> str:
        if self.rate_percent_per_year is None or self.low is None or self.high is None:
            return self.caveats[0].text
        interval = f"95 % interval {self.low:.1f} to {self.high:.1f}".replace("-", "−")
        of = f"% of {self.reference_words} a year"
        rate = f"{abs(self.rate_percent_per_year):.1f}"
        if not self.significant:
            sign = "−" if self.rate_percent_per_year < 0 else ""
            return f"No fade proven: {sign}{rate} {of}, {interval}."
        if self.rate_percent_per_year < 0:
            return f"Capacity seems to rise by {rate} {of}, {interval}."
        return f"Fading {rate} {of}, {interval}."


def fit_fade(
    points: Sequence[TrendPoint],
    reference_ah: float | None = None,
    test_interval_days: float = 91.0,
) -> Fade:
    """Fit the fade: y = c0 - r t + e, e ~ N(0, u² + tau²), with the meters' gains in common.

    tau by restricted maximum likelihood. Lower bounds enter as P(capacity >= bound) where they
    say something; they give no rate alone. The interval is Student's. What is stated about the
    tests counts as much as PRIOR_TESTS residuals would, so that the degrees of freedom are
    n - 2 + PRIOR_TESTS, and the variance is never smaller than stated and scatter make it, and
    larger where the residuals are (as Knapp and Hartung, Statistics in Medicine 22, 2003, scale
    it). Coverage in simulation: tests/benchmarks/bench_fade.py. reference_ah is what the rate is
    a percentage of; the fitted capacity at the first test where it is None.
    """
    used = sorted((p for p in points if not p.left_out), key=lambda p: p.day)
    measured = [p for p in used if p.kind is Kind.MEASURED]
    bounds = [p for p in used if p.kind is Kind.AT_LEAST]
    line, tau2 = _line(measured, bounds)
    if line is None:
        return _no_rate(points, measured, bounds, reference_ah)
    reference = line.at(0.0) if reference_ah is None else reference_ah
    if reference <= 0:
        return _no_rate(points, measured, bounds, reference_ah)
    scale = -100 * DAYS_PER_YEAR / reference
    rate, half = line.slope * scale, abs(line.factor(RATE_LEVEL) * line.slope_se * scale)
    days = np.array([p.day for p in measured])
    several = len({p.meter_id for p in measured}) > 1
    # Against tests with another meter, its gain counts in full.
    variance = own_variance(measured)
    if several:
        variance = variance + np.array([p.shared_ah**2 for p in measured])
    odd = odd_tests(days, _capacities(measured), variance)
    return Fade(
        line=line,
        first_day=measured[0].day,
        last_day=measured[-1].day,
        measured=len(measured),
        lower_bounds=len(bounds),
        left_out=sum(1 for p in points if p.left_out),
        reference_ah=reference,
        reference_words="the first fitted capacity" if reference_ah is None else "rated",
        rate_percent_per_year=rate,
        low=rate - half,
        high=rate + half,
        significant=line.slope_significant(RATE_LEVEL),
        scatter_ah=math.sqrt(tau2),
        detectable=detectable(
            days,
            own_variance(measured) + tau2,
            shared_gains(measured),
            test_interval_days,
            abs(scale),
        ),
        odd_discharge_ids=tuple(i for row in odd if (i := measured[row].discharge_id) is not None),
        caveats=_caveats(
            measured,
            len(odd),
            sum(contradicts(p, line, measured[0].day, tau2) for p in bounds),
        ),
    )


def _line(
    measured: Sequence[TrendPoint], bounds: Sequence[TrendPoint]
) -> tuple[Line | None, float]:
    """The line over days since the first measured test, and tau²."""
    stated = any(p.independent_ah > 0 for p in measured)
    if len(measured) < (2 if stated else 3) or _span(measured) < SHORTEST_DAYS:
        return None, 0.0
    days = np.array([p.day - measured[0].day for p in measured])
    y, variance = _capacities(measured), own_variance(measured)
    design = np.column_stack([np.ones_like(days), days / DAYS_PER_YEAR])
    # A gain is a share of the true value: of the fitted one, or low readings would count for more.
    plain = generalised_fit(design, y, variance, np.zeros((len(y), 0)))
    shared = shared_gains(measured, (y - plain.residuals) / y)
    tau2 = between_test_scatter(design, y, variance, shared) if len(measured) > 2 else 0.0
    fit = generalised_fit(design, y, variance + tau2, shared)
    freedom = len(measured) - 2 + (PRIOR_TESTS if stated else 0)
    prior = PRIOR_TESTS if stated else 0
    widen = max(1.0, (prior + fit.chi_squared) / freedom)
    line = _as_line(fit.coefficients, fit.covariance * widen, widen, freedom)
    speaking = [p for p in bounds if _speaks(p, line, measured[0].day, tau2)]
    speaking = [p for p in speaking if not contradicts(p, line, measured[0].day, tau2)]
    if speaking:
        line = _with_bounds(measured, speaking, tau2, widen, freedom)
    return line, tau2


def _span(measured: Sequence[TrendPoint]) -> float:
    return measured[-1].day - measured[0].day if measured else 0.0


def _with_bounds(
    measured: Sequence[TrendPoint],
    bounds: Sequence[TrendPoint],
    tau2: float,
    widen: float,
    freedom: int,
) -> Line:
    """The line once more, with the lower bounds that say something."""
    both = [*measured, *bounds]
    days = np.array([p.day - measured[0].day for p in both])
    at_least = np.array([p.kind is Kind.AT_LEAST for p in both])
    one_meter = len({p.meter_id for p in both}) <= 1
    variance = own_variance(both)
    if not one_meter:
        # The bounds leave no closed form for what meters share: it counts in full.
        variance = variance + np.array([p.shared_ah**2 for p in both])
    fit = censored_line(
        days / DAYS_PER_YEAR, _capacities(both), at_least, variance, math.sqrt(tau2)
    )
    coefficients = np.array([fit.intercept, fit.slope])
    covariance = fit.covariance * widen
    if one_meter:
        gain = max(p.shared_ah / p.capacity_ah for p in measured)
        covariance = covariance + gain**2 * np.outer(coefficients, coefficients)
    return _as_line(coefficients, covariance, widen, freedom)


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


def _capacities(points: Sequence[TrendPoint]) -> Floats:
    return np.array([p.capacity_ah for p in points])


def own_variance(points: Sequence[TrendPoint]) -> Floats:
    """Variance of each test without what its meter shares."""
    return np.array([max(p.independent_ah, SMALLEST_RELATIVE * p.capacity_ah) ** 2 for p in points])


def shared_gains(points: Sequence[TrendPoint], scale: Floats | None = None) -> Floats:
    """One column a meter: what its gain error adds to each of its tests, times scale (n,)."""
    meters = sorted({p.meter_id or 0 for p in points})
    table = np.zeros((len(points), len(meters)))
    for row, point in enumerate(points):
        table[row, meters.index(point.meter_id or 0)] = point.shared_ah
    if scale is not None:
        table *= scale[:, None]
    return table[:, table.any(axis=0)]


def _caveats(measured: Sequence[TrendPoint], odd: int, contradicting: int) -> tuple[Finding, ...]:
    found = []
    if contradicting:
        text = "A lower bound lies far above the measured tests: one of them must be wrong."
        found.append(Finding("bound_contradicts", text))
    if len(measured) == 2:
        text = "Two tests only: the interval rests on their stated uncertainties."
        found.append(Finding("two_tests", text))
    if odd:
        text = (
            "One test lies far from the rest; look at how it was done before you believe either."
            if odd == 1
            else f"{odd} tests lie far from the rest; look at how they were done."
        )
        found.append(Finding("odd_test", text))
    if len({p.meter_id for p in measured}) > 1:
        text = "More than one meter was used: their gains differ by what their limits allow."
        found.append(Finding("meters", text, minor=True))
    return tuple(found)


def _no_rate(
    points: Sequence[TrendPoint],
    measured: Sequence[TrendPoint],
    bounds: Sequence[TrendPoint],
    reference_ah: float | None,
) -> Fade:
    if not measured and not bounds:
        why = Finding("no_tests", "No test yet.")
    elif not measured:
        why = Finding("bounds_only", "Only lower bounds so far: they give no rate of fade.")
    elif len(measured) == 1:
        why = Finding("one_test", "One measured test: a rate needs at least two.")
    elif _span(measured) < SHORTEST_DAYS:
        text = f"All tests lie within {SHORTEST_DAYS:.0f} days: a rate needs time between them."
        why = Finding("one_day", text)
    else:
        why = Finding("no_uncertainty", "Two tests without uncertainty: a rate needs a third.")
    days = [p.day for p in measured or points] or [0.0]
    return Fade(
        line=None,
        first_day=min(days),
        last_day=max(days),
        measured=len(measured),
        lower_bounds=len(bounds),
        left_out=sum(1 for p in points if p.left_out),
        reference_ah=reference_ah,
        reference_words="rated",
        rate_percent_per_year=None,
        low=None,
        high=None,
        significant=False,
        scatter_ah=None,
        detectable=(),
        odd_discharge_ids=(),
        caveats=(why,),
    )
