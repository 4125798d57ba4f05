"""A straight line with its covariance, and the place where it reaches a level."""

import math
from dataclasses import dataclass

from app.analysis.statistics.coverage import student_factor


@dataclass(frozen=True)
class Line:
    """y = intercept + slope x with the covariance of the two.

    residual_sd is that of one value about the line; degrees_of_freedom is None where the variances
    were stated and not estimated.
    """

    intercept: float
    slope: float
    intercept_variance: float
    covariance: float
    slope_variance: float
    residual_sd: float
    degrees_of_freedom: int | None

    @property
    def slope_se(self) -> float:
        return math.sqrt(self.slope_variance)

    def at(self, x: float) -> float:
        return self.intercept + self.slope * x

    def se_at(self, x: float) -> float:
        """Standard error of the line itself (not of a new observation) at x."""
        variance = self.intercept_variance + 2 * x * self.covariance + x * x * self.slope_variance
        return math.sqrt(max(0.0, variance))

    def factor(self, level: float) -> float:
        """Two-sided Student factor for that level."""
        return student_factor(self.degrees_of_freedom, level)

    def slope_significant(self, level: float) -> bool:
        return abs(self.slope) > self.factor(level) * self.slope_se

    def above_share(self, share: float) -> "Line":
        """How far the line lies above a share of its own start: the two errors go together."""
        left = 1 - share
        return Line(
            left * self.intercept,
            self.slope,
            left * left * self.intercept_variance,
            left * self.covariance,
            self.slope_variance,
            self.residual_sd,
            self.degrees_of_freedom,
        )


@dataclass(frozen=True)
class Crossing:
    """Where a line reaches a level: estimate and interval, None for what has no bound."""

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
    estimate = (target - line.intercept) / line.slope
    k2 = line.factor(level) ** 2
    one = line.residual_sd**2 if observed else 0.0
    gap = line.intercept - target
    a = line.slope**2 - k2 * line.slope_variance
    b = line.slope * gap - k2 * line.covariance
    c = gap**2 - k2 * (line.intercept_variance + one)
    if a <= 0:
        return Crossing(estimate, None, None)
    root = math.sqrt(max(0.0, b * b - a * c))
    return Crossing(estimate, (-b - root) / a, (-b + root) / a)
