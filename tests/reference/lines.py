"""Lines that published tables ask for, made of the program's own least squares and line."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from app.analysis.statistics.gls import generalised_fit
from app.analysis.statistics.line import Line

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class BrokenLine:
    """The broken stick with the smallest sum of squares."""

    knot: float
    slope_before: float
    slope_after: float
    value_at_knot: float
    sum_of_squares: float


def fit_line(x: ArrayLike, y: ArrayLike) -> Line | None:
    """Ordinary least squares; the residuals set the variance. None below three points or one x."""
    xs, ys = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
    if xs.size < 3 or np.ptp(xs) == 0:
        return None
    centre = float(xs.mean())
    design = np.column_stack([np.ones_like(xs), xs - centre])
    fit = generalised_fit(design, ys, np.ones_like(ys), np.zeros((xs.size, 0)))
    freedom = int(xs.size) - 2
    scale = fit.chi_squared / freedom
    level, slope = float(fit.coefficients[0]), float(fit.coefficients[1])
    slope_variance = scale * float(fit.covariance[1, 1])
    return Line(
        intercept=level - slope * centre,
        slope=slope,
        intercept_variance=scale * float(fit.covariance[0, 0]) + centre**2 * slope_variance,
        covariance=-centre * slope_variance,
        slope_variance=slope_variance,
        residual_sd=math.sqrt(scale),
        degrees_of_freedom=freedom,
    )


def broken_line(x: Floats, y: Floats) -> BrokenLine:
    """Least squares of a line with one bend anywhere inside the data (Bacon and Watts 1971).

    The sum of squares is searched over a grid of knots and refined by golden section.
    """
    order = np.argsort(x)
    xs, ys = x[order], y[order]

    def at(knot: float) -> tuple[float, Floats]:
        design = np.column_stack([np.ones_like(xs), xs, np.maximum(0.0, xs - knot)])
        fit = generalised_fit(design, ys, np.ones_like(xs), np.zeros((len(xs), 0)))
        return fit.chi_squared, fit.coefficients

    inner = np.unique(xs)[1:-1]
    grid = np.linspace(inner[0] + 1e-9, inner[-1] - 1e-9, 200)
    best = int(np.argmin([at(knot)[0] for knot in grid]))
    low, high = grid[max(best - 1, 0)], grid[min(best + 1, len(grid) - 1)]
    ratio = (5**0.5 - 1) / 2
    for _ in range(80):
        left, right = high - ratio * (high - low), low + ratio * (high - low)
        low, high = (low, right) if at(left)[0] < at(right)[0] else (left, high)
    knot = float((low + high) / 2)
    squares, b = at(knot)
    return BrokenLine(knot, float(b[1]), float(b[1] + b[2]), float(b[0] + b[1] * knot), squares)
