"""The smallest fade that a record could have shown: "no fade seen" is worth only as much."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import stdtrit

CONFIDENCE = 0.95
POWER = 0.80
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
    interval_days: float,
    percent_per_ah_a_day: float,
) -> tuple[Detectable, ...]:
    """Now, and after 4 and 8 further tests as good as the usual one so far.

    (t(0.975) + t(0.8)) times the standard error of the slope (the usual formula of the power of a
    t-test, e.g. NIST/SEMATECH e-Handbook 7.2.2.2, from memory). Fewer than three tests in all
    leave no degree of freedom and give no entry.
    """
    found = []
    for further in FURTHER:
        count = len(days) + further
        if count < 3:
            continue
        later = days[-1] + interval_days * np.arange(1, further + 1)
        x = np.concatenate([days, later])
        weights = 1 / np.concatenate([variance, np.full(further, float(np.median(variance)))])
        centre = float(weights @ x) / float(weights.sum())
        information = float(weights @ (x - centre) ** 2)
        if information <= 0:
            continue
        freedom = count - 2
        factor = float(stdtrit(freedom, 0.5 + CONFIDENCE / 2) + stdtrit(freedom, POWER))
        found.append(Detectable(further, factor / math.sqrt(information) * percent_per_ah_a_day))
    return tuple(found)
