"""Uncertainty budget of one result, after JCGM 100:2008 (the GUM)."""

import math
from dataclasses import dataclass

from scipy.special import stdtrit

LEVEL = 0.95


@dataclass(frozen=True)
class Contribution:
    """One source of uncertainty.

    standard_ah is its contribution as a standard uncertainty in Ah; degrees_of_freedom
    is None where it is known well enough (GUM G.4.3). common says that it is shared by all tests
    made with one meter, so that it cancels in the difference of two of them.
    """

    code: str
    label: str
    limit: str
    standard_ah: float
    degrees_of_freedom: float | None = None
    common: bool = False


@dataclass(frozen=True)
class Budget:
    """Combined uncertainty with the lines it is made of."""

    lines: tuple[Contribution, ...]
    standard_ah: float
    independent_ah: float
    degrees_of_freedom: int | None
    coverage_factor: float
    expanded_ah: float

    @property
    def largest(self) -> Contribution:
        return max(self.lines, key=lambda line: line.standard_ah)


def rectangular(limit: float) -> float:
    """Standard uncertainty of "within ± limit": limit / sqrt(3) (GUM 4.3.7)."""
    return limit / math.sqrt(3)


def resolution(step: float) -> float:
    """Standard uncertainty of a display with that step: step / sqrt(12) (GUM F.2.2.1)."""
    return step / math.sqrt(12)


def effective_degrees_of_freedom(lines: tuple[Contribution, ...]) -> int | None:
    """Welch-Satterthwaite, truncated down (GUM G.4.1); None where no line limits it."""
    combined = math.fsum(line.standard_ah**2 for line in lines)
    spread = math.fsum(
        line.standard_ah**4 / line.degrees_of_freedom
        for line in lines
        if line.degrees_of_freedom is not None
    )
    if spread == 0 or combined == 0:
        return None
    return max(1, math.floor(combined**2 / spread))


def coverage_factor(degrees_of_freedom: int | None, level: float = LEVEL) -> float:
    """Two-sided Student factor; the normal one where the degrees of freedom are unlimited."""
    freedom = math.inf if degrees_of_freedom is None else degrees_of_freedom
    return float(stdtrit(freedom, 0.5 + level / 2))


def combine(lines: tuple[Contribution, ...], level: float = LEVEL) -> Budget:
    """Root sum of squares, effective degrees of freedom and expanded uncertainty."""
    total = math.sqrt(math.fsum(line.standard_ah**2 for line in lines))
    own = math.sqrt(math.fsum(line.standard_ah**2 for line in lines if not line.common))
    freedom = effective_degrees_of_freedom(lines)
    factor = coverage_factor(freedom, level)
    return Budget(lines, total, own, freedom, factor, factor * total)
