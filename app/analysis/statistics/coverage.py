"""How far to go to both sides of a result so that the true value lies inside."""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from app.analysis.statistics.distributions import student_quantile

# How surely the truth lies inside every interval of a result and of a rate (common practice).
LEVEL = 0.95
# What is expected is shown with the range that holds 90 % of it, by these quantiles (common
# practice).
RANGE_LEVEL = 0.90
LOW, MIDDLE, HIGH = 0.05, 0.5, 0.95
GRID = 2001
REACH = 6.0


def student_factor(
    degrees_of_freedom: float | None, level: float = LEVEL, of_them: int = 1
) -> float:
    """Two-sided Student factor; the normal one where the degrees of freedom are unlimited.

    of_them is how many intervals are to hold together with that probability (Bonferroni).
    """
    freedom = math.inf if degrees_of_freedom is None else degrees_of_freedom
    return student_quantile(freedom, 1 - (1 - level) / (2 * of_them))


def shape_factor(rectangular: Sequence[float], normal: float, level: float) -> float:
    """Half-width of the interval, in combined standard uncertainties, without t-factors.

    rectangular holds the standard uncertainties of the rectangular sources, normal the combined
    one of all normal sources. A sum that one rectangular source dominates is not normal: 1.96
    would claim too wide an interval (GUM G.1.5 and 4.3.9; for one rectangle alone 95 % lie within
    1.65). The distribution of the sum is found by numerical convolution, which is what JCGM 101
    does by random draws.
    """
    variance = math.fsum(u * u for u in rectangular) + normal**2
    if variance <= 0:
        return 0.0
    scale = math.sqrt(variance)
    x = np.linspace(-REACH, REACH, GRID)
    density = _start(x, normal / scale)
    for standard in rectangular:
        half = math.sqrt(3) * standard / scale
        # A rectangle narrower than the grid changes nothing that could be seen.
        if half > x[1] - x[0]:
            density = _blur(density, half, float(x[1] - x[0]))
    inside = np.cumsum(density[GRID // 2 :])
    inside = 2 * inside - density[GRID // 2]
    inside /= inside[-1]
    # The sum reaches to the right edge of each cell.
    edges = x[GRID // 2 :] + 0.5 * (x[1] - x[0])
    return float(np.interp(level, inside, edges))


def _start(x: NDArray[np.float64], normal: float) -> NDArray[np.float64]:
    step = x[1] - x[0]
    width = max(normal, 0.5 * step)
    density: NDArray[np.float64] = np.exp(-((x / width) ** 2) / 2)
    density /= density.sum()
    return density


def _blur(density: NDArray[np.float64], half: float, step: float) -> NDArray[np.float64]:
    """Convolve with a rectangle of that half-width: a moving mean, by cumulative sums."""
    reach = half / step
    sums = np.cumsum(density)
    edge = math.ceil(reach) + 1
    # What lies below the left edge of each cell; beyond the grid lies nothing more.
    below = np.concatenate((np.zeros(edge + 1), sums, np.full(edge, sums[-1])))

    def below_at(shift: float) -> NDArray[np.float64]:
        whole = math.floor(shift)
        part = shift - whole
        first = below[edge + whole :][: len(density)]
        second = below[edge + whole + 1 :][: len(density)]
        between: NDArray[np.float64] = first * (1 - part) + second * part
        return between

    return (below_at(0.5 + reach) - below_at(0.5 - reach)) / (2 * reach)
