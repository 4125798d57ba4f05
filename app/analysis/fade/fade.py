"""The fade of one battery: its rate with an interval, and what the record could have shown."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.analysis.fade.fade_line import (
    MIN_DAYS,
    capacities,
    contradicts,
    fit_fade_line,
    own_variance,
    shared_errors,
    span_days,
)
from app.analysis.fade.fade_power import Detectable, detectable
from app.analysis.fade.outliers import odd_tests
from app.analysis.fade.trend_point import TrendPoint
from app.analysis.statistics.coverage import LEVEL
from app.analysis.statistics.line import Line
from app.domain.finding import EvidenceKind, Finding
from app.domain.i18n.message import say, say_plural
from app.domain.units.time_units import DAYS_PER_YEAR


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
    level: float = LEVEL

    @property
    def rises(self) -> bool:
        """Whether the tests show a gain, which no battery has."""
        return self.significant and (self.rate_percent_per_year or 0.0) < 0

    @property
    def words(self) -> str:
        percent, low, high = self.rate_percent_per_year, self.low, self.high
        if percent is None or low is None or high is None or self.reference_ah is None:
            return self.caveats[0].text
        if self.rises:
            percent, low, high = -percent, -high, -low
        ah = self.reference_ah / 100
        rate = say(
            "{ah:.1f} Ah a year ({percent:.1f} % of {reference}), very likely {low:.1f} to "
            "{high:.1f} Ah",
            ah=percent * ah,
            percent=percent,
            reference=self.reference_words,
            low=low * ah,
            high=high * ah,
        )
        if not self.significant:
            return say("No fade proven: {rate}.", rate=rate)
        if self.rises:
            return say("Capacity seems to rise by {rate}.", rate=rate)
        return say("Loses {rate}.", rate=rate)


def fit_fade(
    points: Sequence[TrendPoint],
    reference_ah: float | None = None,
    test_interval_days: float = 91.0,
) -> Fade:
    """Fit the fade: y = c0 - r t + e, e ~ N(0, u² + tau²), with the meters' gains and the rate
    exponent in common.

    tau by restricted maximum likelihood. Lower bounds enter as P(capacity >= bound) where they
    say something; they give no rate alone. The interval is Student's. What is stated about the
    tests counts as much as PRIOR_TESTS residuals would, so that the degrees of freedom are
    n - 2 + PRIOR_TESTS, and the variance is never smaller than stated and scatter make it, and
    larger where the residuals are (as Knapp and Hartung, Statistics in Medicine 22, 2003, scale
    it). Coverage in simulation: tests/benchmarks/bench_fade.py. reference_ah is what the rate is
    a percentage of; the fitted capacity at the first test where it is None.
    """
    used = sorted((p for p in points if not p.left_out), key=lambda p: p.day)
    measured = [p for p in used if p.kind is EvidenceKind.MEASURED]
    bounds = [p for p in used if p.kind is EvidenceKind.AT_LEAST]
    line, tau2 = fit_fade_line(measured, bounds)
    if line is None:
        return _no_rate(points, measured, bounds, reference_ah)
    reference = line.at(0.0) if reference_ah is None else reference_ah
    if reference <= 0:
        return _no_rate(points, measured, bounds, reference_ah)
    scale = -100 * DAYS_PER_YEAR / reference
    rate, half = line.slope * scale, abs(line.factor(LEVEL) * line.slope_se * scale)
    days = np.array([p.day for p in measured])
    odd = tuple(i for row in _odd(days, measured) if (i := measured[row].discharge_id) is not None)
    return Fade(
        line=line,
        first_day=measured[0].day,
        last_day=measured[-1].day,
        measured=len(measured),
        lower_bounds=len(bounds),
        left_out=sum(1 for p in points if p.left_out),
        reference_ah=reference,
        reference_words=_of(reference_ah),
        rate_percent_per_year=rate,
        low=rate - half,
        high=rate + half,
        significant=line.slope_significant(LEVEL),
        scatter_ah=math.sqrt(tau2),
        detectable=detectable(
            days,
            own_variance(measured) + tau2,
            shared_errors(measured),
            test_interval_days,
            abs(scale),
        ),
        odd_discharge_ids=odd,
        caveats=_caveats(
            measured,
            odd,
            sum(contradicts(p, line, measured[0].day, tau2) for p in bounds),
        ),
    )


def _odd(days: NDArray[np.float64], measured: Sequence[TrendPoint]) -> tuple[int, ...]:
    """Rows that lie far from the rest; against another meter its gain counts in full, and against
    another current what lies between the corrections of the rate."""
    rates = np.array([p.rate_ah for p in measured])
    variance = own_variance(measured) + (rates - np.median(rates)) ** 2
    if _meters(measured) > 1:
        variance = variance + np.array([p.gain_ah**2 for p in measured])
    return odd_tests(days, capacities(measured), variance)


def _meters(measured: Sequence[TrendPoint]) -> int:
    return len({p.meter_id for p in measured})


def _caveats(
    measured: Sequence[TrendPoint], odd: tuple[int, ...], contradicting: int
) -> tuple[Finding, ...]:
    found = []
    if contradicting:
        text = say("A lower bound is far above the measured tests: one of them must be wrong.")
        found.append(Finding("bound_contradicts", text))
    if len(measured) == 2:
        text = say("Two tests only: the interval rests on their stated uncertainties.")
        found.append(Finding("two_tests", text))
    if odd:
        text = say_plural(
            "One test lies far from the rest; look at how it was done before you trust it or the "
            "rest.",
            "{count} tests lie far from the rest; look at how they were done.",
            len(odd),
        )
        found.append(Finding("odd_test", text, discharge_ids=odd))
    if _meters(measured) > 1:
        text = say(
            "The tests used more than one meter: their gains may differ by as much as their limits "
            "allow."
        )
        found.append(Finding("meters", text, minor=True))
    return tuple(found)


def _of(reference_ah: float | None) -> str:
    """What the rate is a percentage of, as it stands behind “% of”."""
    return say("the first fitted capacity") if reference_ah is None else say("rated")


def _no_rate(
    points: Sequence[TrendPoint],
    measured: Sequence[TrendPoint],
    bounds: Sequence[TrendPoint],
    reference_ah: float | None,
) -> Fade:
    if not measured and not bounds:
        why = Finding("no_tests", say("No test yet."))
    elif not measured:
        why = Finding("bounds_only", say("Only lower bounds so far: they give no rate of fade."))
    elif len(measured) == 1:
        why = Finding("one_test", say("One measured test: a rate needs at least two."))
    elif span_days(measured) < MIN_DAYS:
        text = say(
            "All tests lie within {days:.0f} days: a rate needs time between them.",
            days=MIN_DAYS,
        )
        why = Finding("one_day", text)
    else:
        why = Finding("no_uncertainty", say("Two tests without uncertainty: a rate needs a third."))
    days = [p.day for p in measured or points] or [0.0]
    return Fade(
        line=None,
        first_day=min(days),
        last_day=max(days),
        measured=len(measured),
        lower_bounds=len(bounds),
        left_out=sum(1 for p in points if p.left_out),
        reference_ah=reference_ah,
        reference_words=say("rated"),
        rate_percent_per_year=None,
        low=None,
        high=None,
        significant=False,
        scatter_ah=None,
        detectable=(),
        odd_discharge_ids=(),
        caveats=(why,),
    )
