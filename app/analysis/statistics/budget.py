"""Uncertainty budget of one result, after JCGM 100:2008 (the GUM)."""

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import Protocol

from app.analysis.statistics.coverage import LEVEL, shape_factor, student_factor
from app.domain.i18n.message import say


class Distribution(StrEnum):
    """What is assumed about a source."""

    RECTANGULAR = "rectangular"
    NORMAL = "normal"

    @property
    def label(self) -> str:
        return say("rectangular") if self is Distribution.RECTANGULAR else say("normal")


# The line of what the correction of the rate may be wrong by.
RATE_LINE = "rate_coefficient"


class Doubted(Protocol):
    """A capacity with its standard uncertainty and the parts of it (all in Ah).

    independent_ah is without the meter's gain and without what the correction of the rate may be
    wrong by, which is rate_ah: below zero where the error of the exponent takes away.
    """

    @property
    def standard_ah(self) -> float: ...
    @property
    def independent_ah(self) -> float: ...
    @property
    def rate_ah(self) -> float: ...


@dataclass(frozen=True)
class Contribution:
    """One line of the budget.

    The source may be off by limit (in unit); its standard uncertainty times sensitivity_ah (Ah a
    unit) is standard_ah. degrees_of_freedom is None where it is known well enough (GUM G.4.3).
    common says that other tests have the same error: all tests with one meter that of its gain, all
    of a battery that of its rate exponent, each as much as its current asks for.
    """

    code: str
    label: str
    limit: float
    unit: str
    distribution: Distribution
    standard: float
    sensitivity_ah: float
    standard_ah: float
    degrees_of_freedom: float | None = None
    common: bool = False
    note: str = ""


@dataclass(frozen=True)
class Budget:
    """Combined uncertainty with the lines it is made of."""

    lines: tuple[Contribution, ...]
    standard_ah: float
    independent_ah: float
    degrees_of_freedom: int | None
    coverage_factor: float
    expanded_ah: float
    level: float = LEVEL

    @property
    def largest(self) -> Contribution:
        return max(self.lines, key=lambda line: line.standard_ah)

    @property
    def rate_ah(self) -> float:
        """What the correction of the rate may be wrong by, with its direction."""
        of_rate = (line for line in self.lines if line.code == RATE_LINE and line.common)
        return math.fsum(line.standard * line.sensitivity_ah for line in of_rate)


def gain_ah(one: Doubted) -> float:
    """What the gain of its meter may be wrong by (Ah, standard uncertainty)."""
    return math.sqrt(max(0.0, one.standard_ah**2 - one.independent_ah**2 - one.rate_ah**2))


def of_difference(one: Doubted, other: Doubted, *, same_meter: bool) -> float:
    """Standard uncertainty (Ah) of the difference of two tests of a battery.

    With one meter its gain drops out, and at one current what the correction of the rate may be
    wrong by: a battery has one exponent.
    """
    own = math.hypot(one.independent_ah, other.independent_ah, one.rate_ah - other.rate_ah)
    return own if same_meter else math.hypot(own, gain_ah(one), gain_ah(other))


def rectangular(limit: float) -> float:
    """Standard uncertainty of "within ± limit": limit / sqrt(3) (GUM 4.3.7)."""
    return limit / math.sqrt(3)


def resolution(step: float) -> float:
    """Standard uncertainty of a display with that step: step / sqrt(12) (GUM F.2.2.1)."""
    return step / math.sqrt(12)


def within(
    code: str,
    label: str,
    limit: float,
    unit: str,
    sensitivity_ah: float,
    *,
    common: bool = False,
    note: str = "",
) -> Contribution:
    """A line for a source known to lie within ± limit (rectangular)."""
    standard = rectangular(limit)
    return Contribution(
        code,
        label,
        limit,
        unit,
        Distribution.RECTANGULAR,
        standard,
        sensitivity_ah,
        standard * abs(sensitivity_ah),
        common=common,
        note=note,
    )


def estimated(
    code: str,
    label: str,
    standard: float,
    unit: str,
    sensitivity_ah: float,
    *,
    degrees_of_freedom: float | None = None,
    common: bool = False,
    note: str = "",
) -> Contribution:
    """A line for a source with a standard uncertainty of its own (normal)."""
    return Contribution(
        code,
        label,
        standard,
        unit,
        Distribution.NORMAL,
        standard,
        sensitivity_ah,
        standard * abs(sensitivity_ah),
        degrees_of_freedom=degrees_of_freedom,
        common=common,
        note=note,
    )


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


def combine(lines: tuple[Contribution, ...], level: float = LEVEL) -> Budget:
    """Root sum of squares, effective degrees of freedom and expanded uncertainty.

    The coverage factor is Student's for the effective degrees of freedom, narrowed where
    rectangular sources dominate and the sum is not normal (see coverage).
    """
    total = math.sqrt(math.fsum(line.standard_ah**2 for line in lines))
    own = math.sqrt(math.fsum(line.standard_ah**2 for line in lines if not line.common))
    freedom = effective_degrees_of_freedom(lines)
    flat = [ln.standard_ah for ln in lines if ln.distribution is Distribution.RECTANGULAR]
    normal = math.sqrt(max(0.0, total**2 - math.fsum(u * u for u in flat)))
    shape = shape_factor(flat, normal, level) / student_factor(None, level)
    factor = student_factor(freedom, level) * shape
    return Budget(lines, total, own, freedom, factor, factor * total, level)
