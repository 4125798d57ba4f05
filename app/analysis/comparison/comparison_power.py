"""How many more tests would show a real difference between two rates of fade."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from app.analysis.comparison.comparison import PRIOR_TESTS, measured, scatter_design
from app.analysis.fade.fade_line import (
    MIN_DAYS,
    capacities,
    own_variance,
    shared_errors,
)
from app.analysis.fade.fade_power import POWER
from app.analysis.fade.trend_point import TrendPoint
from app.analysis.statistics.arrays import Floats
from app.analysis.statistics.coverage import student_factor
from app.analysis.statistics.distributions import student_shift
from app.analysis.statistics.gls import between_test_scatter, generalised_fit
from app.domain.units.time_units import DAYS_PER_YEAR

MAX_FURTHER_TESTS = 40


@dataclass(frozen=True)
class Record:
    """The measured tests of one battery, with how often and how well it goes on being tested.

    spread is the variance in Ah² that a further test is expected to have: the usual one so far
    with the scatter between the tests.
    """

    tests: tuple[TrendPoint, ...]
    rated_ah: float
    interval_days: float
    variance: Floats
    spread: float

    @classmethod
    def of(
        cls,
        points: Sequence[TrendPoint],
        rated_ah: float,
        interval_days: float,
        move_day: float | None = None,
    ) -> "Record | None":
        """From the points of a trend; None where no test was measured yet."""
        own = measured(points)
        if not own:
            return None
        variance, judging = own_variance(own), _judging(_days(own), move_day)
        if len(own) > judging.shape[1]:
            scatter2 = between_test_scatter(judging, capacities(own), variance, shared_errors(own))
            variance = variance + scatter2
        return cls(tuple(own), rated_ah, interval_days, variance, float(np.median(variance)))


def further_to_show(records: Sequence[Record], shown: float, pairs: int = 1) -> int | None:
    """How many more tests of each battery would show a real difference of `shown` points a year.

    At 95 % confidence (for all `pairs` together) and 80 % power, tests as good as the ones so far,
    each battery at its own interval; None where 40 would not.
    """

    return _fewest(records, None, shown, pairs)


def further_after_move(record: Record, move_day: float, shown: float) -> int | None:
    """How many more tests after a move show a rate changed by `shown` points; None over 40."""
    return _fewest([record], move_day, shown, 1)


def _fewest(
    records: Sequence[Record], move_day: float | None, shown: float, pairs: int
) -> int | None:
    for further in range(MAX_FURTHER_TESTS + 1):
        seen = [_last_variance(one, further, move_day) for one in records]
        known = [one for one in seen if one is not None]
        if len(known) < len(records):
            continue
        freedom = sum(free for _, free in known) + PRIOR_TESTS
        limit = student_factor(freedom, of_them=pairs)
        # The non-centrality at which Student's t exceeds its limit in 80 % of cases.
        needed = student_shift(freedom, 1 - POWER, limit)
        if needed * math.sqrt(sum(variance for variance, _ in known)) <= shown:
            return further
    return None


def _last_variance(
    record: Record, further: int, move_day: float | None
) -> tuple[float, int] | None:
    """Variance of the rate, or of its change, in (points a year)², and degrees of freedom."""
    days = _days(record.tests)
    days = np.concatenate([days, days[-1] + record.interval_days * np.arange(1, further + 1)])
    x = _design(days, move_day)
    if len(x) < x.shape[1] or days[-1] - days[0] < MIN_DAYS:
        return None
    spread = np.concatenate([record.variance, np.full(further, record.spread)])
    # Further tests are made with the meter of the last one.
    shared = shared_errors(record.tests)
    shared = np.vstack([shared, np.repeat(shared[-1:], further, axis=0)])
    try:
        fit = generalised_fit(x, np.zeros(len(x)), spread, shared)
    except ValueError:
        return None
    freedom = len(x) - _judging(days, move_day).shape[1]
    return float(fit.covariance[-1, -1]) * (100 / record.rated_ah) ** 2, freedom


def _days(points: Sequence[TrendPoint]) -> Floats:
    return np.array([p.day for p in points])


def _years(days: Floats, move_day: float | None) -> Floats:
    made: Floats = (days - (days[0] if move_day is None else move_day)) / DAYS_PER_YEAR
    return made


def _design(days: Floats, move_day: float | None) -> Floats:
    """A straight line, or one that bends at the move; the last column is the one in question."""
    years = _years(days, move_day)
    columns = [np.ones_like(years), years]
    if move_day is not None:
        columns.append(np.maximum(0.0, years))
    return np.column_stack(columns)


def _judging(days: Floats, move_day: float | None) -> Floats:
    """What the scatter is judged by, as in the comparison itself."""
    return _design(days, move_day) if move_day is not None else scatter_design(_years(days, None))
