"""The smallest fade that tests could have shown: "no fade seen" is worth only as much."""

import math
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from app.analysis.statistics.coverage import student_factor
from app.analysis.statistics.distributions import normal_quantile, student_shift
from app.analysis.statistics.gls import generalised_fit, median

# The chance that a fade of that size is found (80 % is common practice).
POWER = 0.8
FURTHER = (0, 4, 8)


@dataclass(frozen=True)
class Detectable:
    """The smallest fade, in % a year, that is found with 80 % power at 95 % confidence.

    further is how many tests are still to come, at the battery's interval.
    """

    further: int
    percent_per_year: float


def detectable(
    days: NDArray[np.float64],
    variance: NDArray[np.float64],
    shared: NDArray[np.float64],
    interval_days: float,
    percent_per_ah_a_day: float,
) -> tuple[Detectable, ...]:
    """Now, and after 4 and 8 further tests as good as the usual one so far.

    The non-centrality at which Student's t exceeds its limit in 80 % of cases, times the standard
    error of the slope (the power of a t-test). Fewer than three tests in all leave no degree of
    freedom and give no entry.
    """
    found = []
    for further in FURTHER:
        later = days[-1] + interval_days * np.arange(1, further + 1)
        smallest = smallest_fade(days, variance, shared, later)
        if smallest is not None:
            found.append(Detectable(further, smallest * percent_per_ah_a_day))
    return tuple(found)


def smallest_fade(
    days: NDArray[np.float64],
    variance: NDArray[np.float64],
    shared: NDArray[np.float64],
    later: NDArray[np.float64],
) -> float | None:
    """The smallest fade (Ah a day) that these tests find, with further ones on the later days.

    None for fewer than three tests in all, and for those of one day.
    """
    count = len(days) + len(later)
    if count < 3:
        return None
    x = np.concatenate([days, later])
    spread = np.concatenate([variance, np.full(len(later), median(variance))])
    # Further tests are made with the meter of the last one.
    common = np.vstack([shared, np.repeat(shared[-1:], len(later), axis=0)])
    design = np.column_stack([np.ones(count), x])
    try:
        fit = generalised_fit(design, np.zeros(count), spread, common)
    except ValueError:
        return None
    return _power_factor(count - 2) * math.sqrt(float(fit.covariance[1, 1]))


@cache
def _power_factor(freedom: int) -> float:
    """So many standard errors a slope has to be steep, to be found with that power."""
    return student_shift(freedom, 1 - POWER, student_factor(freedom))


def found_between_two(independent_ah: float) -> float:
    """The smallest difference (Ah) that two tests with the same meter find.

    independent_ah is the standard uncertainty of each without the meter's gain, which both share;
    the difference has twice its variance.
    """
    return (student_factor(None) + normal_quantile(POWER)) * math.sqrt(2) * independent_ah
