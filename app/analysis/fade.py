"""The fade of one battery: rate by weighted regression with its interval."""

from collections.abc import Sequence
from dataclasses import dataclass

from app.analysis.line import Line, fit_line
from app.domain.finding import Finding, Kind

DAYS_PER_YEAR = 365.25
RATE_LEVEL = 0.95


@dataclass(frozen=True)
class TrendPoint:
    """One test on the trend.

    day is a proleptic ordinal with its fraction; independent_ah is the standard uncertainty
    without what all tests with the same meter share.
    """

    day: float
    capacity_ah: float
    standard_ah: float
    independent_ah: float
    kind: Kind
    discharge_id: int | None = None


@dataclass(frozen=True)
class Fade:
    """Rate of fade, positive where capacity is lost, in % of reference_ah per year.

    The line runs over days since first_day; all of it is None where no rate can be given, and
    caveats say why.
    """

    line: Line | None
    first_day: float
    last_day: float
    measured: int
    lower_bounds: int
    reference_ah: float | None
    rate_percent_per_year: float | None
    low: float | None
    high: float | None
    significant: bool
    caveats: tuple[Finding, ...]
    level: float = RATE_LEVEL

    @property
    def words(self) -> str:
        if self.rate_percent_per_year is None or self.low is None or self.high is None:
            return self.caveats[0].text
        interval = f"95 % interval {self.low:.1f} to {self.high:.1f}".replace("-", "−")
        if not self.significant:
            rate = f"{self.rate_percent_per_year:.1f}".replace("-", "−")
            return f"No fade proven: {rate} % a year, {interval}."
        if self.rate_percent_per_year < 0:
            return f"Capacity seems to rise: {-self.rate_percent_per_year:.1f} % a year."
        return f"Fading {self.rate_percent_per_year:.1f} % of rated a year, {interval}."


def fit_fade(points: Sequence[TrendPoint], reference_ah: float | None = None) -> Fade:
    """Fit the fade of the measured tests; lower bounds are counted, never fitted as points.

    reference_ah is what the rate is a percentage of; the fitted capacity at the first test where
    it is None.
    """
    measured = sorted((p for p in points if p.kind is Kind.MEASURED), key=lambda p: p.day)
    bounds = sum(1 for p in points if p.kind is Kind.AT_LEAST)
    if not measured:
        return _no_rate(points, measured, bounds, reference_ah)
    first, last = measured[0].day, measured[-1].day
    line = fit_line(
        [p.day - first for p in measured],
        [p.capacity_ah for p in measured],
        [p.independent_ah for p in measured],
    )
    if line is None:
        return _no_rate(points, measured, bounds, reference_ah)
    reference = line.at(0.0) if reference_ah is None else reference_ah
    if reference <= 0:
        return _no_rate(points, measured, bounds, reference_ah)
    scale = -100 * DAYS_PER_YEAR / reference
    rate, half = line.slope * scale, abs(line.factor(RATE_LEVEL) * line.slope_se * scale)
    caveats = []
    if len(measured) == 2:
        caveats.append(
            Finding(
                "two_tests", "Two tests only: the interval rests on their stated uncertainties."
            )
        )
    return Fade(
        line=line,
        first_day=first,
        last_day=last,
        measured=len(measured),
        lower_bounds=bounds,
        reference_ah=reference,
        rate_percent_per_year=rate,
        low=rate - half,
        high=rate + half,
        significant=line.slope_significant(RATE_LEVEL),
        caveats=tuple(caveats),
    )


def _no_rate(
    points: Sequence[TrendPoint],
    measured: Sequence[TrendPoint],
    bounds: int,
    reference_ah: float | None,
) -> Fade:
    if not points:
        why = Finding("no_tests", "No test yet.")
    elif not measured:
        why = Finding("bounds_only", "Only lower bounds so far: they give no rate of fade.")
    elif len(measured) == 1:
        why = Finding("one_test", "One measured test: a rate needs at least two.")
    else:
        why = Finding("one_day", "All tests lie at one moment: a rate needs time between them.")
    days = [p.day for p in measured or points] or [0.0]
    return Fade(
        line=None,
        first_day=min(days),
        last_day=max(days),
        measured=len(measured),
        lower_bounds=bounds,
        reference_ah=reference_ah,
        rate_percent_per_year=None,
        low=None,
        high=None,
        significant=False,
        caveats=(why,),
    )
