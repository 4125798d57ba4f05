"""Whether the rate of fade changed lately: a line with a bend against a straight one."""

import math
from dataclasses import dataclass

import numpy as np

from app.analysis.statistics.arrays import Floats
from app.analysis.statistics.coverage import student_factor
from app.analysis.statistics.distributions import student_probability
from app.analysis.statistics.gls import generalised_fit

MIN_BEFORE = 4
MIN_AFTER = 3
MAX_AFTER = 5


@dataclass(frozen=True)
class RateChange:
    """The bend that speaks loudest. Slopes in Ah a day, each with half its 95 % interval.

    p_value is one-sided for a faster fade, of that bend alone; tests_after is how many tests lie
    behind it. Both hold for this bend as if it had not been chosen among others.
    """

    tests_after: int
    slope_before: float
    slope_after: float
    p_value: float
    half_before: float = math.inf
    half_after: float = math.inf


def rate_change(
    days: Floats, y: Floats, variance: Floats, shared: Floats | None = None
) -> RateChange | None:
    """Look for a bend before each of the last five tests; None where there are too few.

    The line bends at the test before the stretch; the gain in slope over its standard error is
    Student's with n - 3 degrees of freedom. One or two tests behind the bend are low tests rather
    than a rate, so stretches begin at three. shared (n, m) holds what each test takes of each
    meter's gain.
    """
    count = len(days)
    common = np.zeros((count, 0)) if shared is None else shared
    best: RateChange | None = None
    for after in range(MIN_AFTER, MAX_AFTER + 1):
        if count - after < MIN_BEFORE:
            break
        knot = days[count - after - 1]
        design = np.column_stack([np.ones(count), days, np.maximum(0.0, days - knot)])
        try:
            fit = generalised_fit(design, y, variance, common)
        except ValueError:
            continue
        freedom = count - 3
        scale = max(1.0, fit.chi_squared / freedom)
        error = float(np.sqrt(fit.covariance[2, 2] * scale))
        p = student_probability(freedom, fit.coefficients[2] / error) if error > 0 else 1.0
        if best is None or p < best.p_value:
            before = float(fit.coefficients[1])
            of_slopes = scale * fit.covariance[1:, 1:]
            halves = student_factor(freedom) * np.sqrt([of_slopes[0, 0], of_slopes.sum()])
            gain = float(fit.coefficients[2])
            best = RateChange(after, before, before + gain, p, float(halves[0]), float(halves[1]))
    return best
