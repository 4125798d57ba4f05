"""A weighted straight line and the place where it reaches a level."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import stdtrit


@dataclass(frozen=True)
class Line:
    """A fitted line y = intercept + slope x, kept about its weighted centre.

    centre_x, level: the line passes through (centre_x, level), where slope and level are
    uncorrelated. degrees_of_freedom is None where the variances were given and not estimated.
    """

    centre_x: float
    level: float
    slope: float
    level_variance: float
    slope_variance: float
    residual_sd: float
    degrees_of_freedom: int | None

    @property
    def intercept(self) -> float:
        return self.level - self.slope * self.centre_x

    @property
    def intercept_se(self) -> float:
        return math.sqrt(self.level_variance + self.slope_variance * self.centre_x**2)

    @property
    def slope_se(self) -> float:
        return math.sqrt(self.slope_variance)

    def at(self, x: float) -> float:
        return self.level + self.slope * (x - self.centre_x)

    def se_at(self, x: float) -> float:
        """Standard error of the line itself (not of a new observation) at x."""
        return math.sqrt(self.level_variance + self.slope_variance * (x - self.centre_x) ** 2)

    def factor(self, level: float) -> float:
        """Two-sided Student factor for that level."""
        freedom = math.inf if self.degrees_of_freedom is None else self.degrees_of_freedom
        return float(stdtrit(freedom, 0.5 + level / 2))

    def slope_significant(self, level: float) -> bool:
        return abs(self.slope) > self.factor(level) * self.slope_se


def fit_line(
    x: ArrayLike, y: ArrayLike, standard_uncertainty: ArrayLike | None = None
) -> Line | None:
    """Least squares, weighted by 1/u² where standard uncertainties are given (shape of y).

    Without uncertainties the residuals set the variance (Norris, GUM H.3). With them the variance
    is the greater of the two: stated uncertainties are never shrunk by residuals that happen to
    be small, and never trusted against residuals that are large. Two points with uncertainties
    take the stated ones alone. None where no slope can be had: fewer than two points, one x only,
    or two points without uncertainties.
    """
    xs, ys = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
    if xs.size < 2 or np.ptp(xs) == 0:
        return None
    stated = standard_uncertainty is not None
    u = np.asarray(standard_uncertainty, dtype=np.float64) if stated else np.ones_like(ys)
    # A zero uncertainty is no knowledge of perfection: it takes the smallest that is stated.
    positive = u[u > 0]
    stated = stated and positive.size > 0
    u = np.where(u > 0, u, positive.min() if positive.size else 1.0)
    weights = 1 / u**2
    total = float(weights.sum())
    centre = float(weights @ xs) / total
    level = float(weights @ ys) / total
    spread = float(weights @ (xs - centre) ** 2)
    slope = float(weights @ ((xs - centre) * (ys - level))) / spread
    residuals = ys - level - slope * (xs - centre)
    freedom = xs.size - 2
    if freedom == 0 and not stated:
        return None
    chi = float(weights @ residuals**2) / freedom if freedom else 1.0
    scale = max(1.0, chi) if stated else chi
    return Line(
        centre_x=centre,
        level=level,
        slope=slope,
        level_variance=scale / total,
        slope_variance=scale / spread,
        residual_sd=math.sqrt(chi),
        degrees_of_freedom=freedom or None,
    )


@dataclass(frozen=True)
class Crossing:
    """Where the mean line reaches a level: estimate and interval, None for an unbounded side."""

    estimate: float | None
    low: float | None
    high: float | None


def crossing(line: Line, target: float, level: float, *, observed: bool = False) -> Crossing:
    """Inverse prediction with the interval of Fieller's theorem (inversion of the test).

    The mean line by default; with observed=True the x at which one observed value equals the
    target (Graybill & Iyer 1994; Greenwell & Schubert Kabban, R Journal 6(1), 2014). Where the
    slope does not differ from zero at this level the set is no interval: both ends are None.
    """
    if line.slope == 0:
        return Crossing(None, None, None)
    distance = (target - line.level) / line.slope
    estimate = line.centre_x + distance
    factor = line.factor(level)
    g = (factor * line.slope_se / line.slope) ** 2
    if g >= 1:
        return Crossing(estimate, None, None)
    one = line.residual_sd**2 if observed else 0.0
    middle = distance / (1 - g)
    variance = (line.level_variance + one) * (1 - g) + line.slope_variance * distance**2
    half = factor / abs(line.slope) * math.sqrt(variance) / (1 - g)
    return Crossing(estimate, line.centre_x + middle - half, line.centre_x + middle + half)
