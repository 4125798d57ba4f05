"""The projected end of life: when the trend falls below the threshold."""

import math
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray
from scipy.special import stdtr

from app.analysis.fade import DAYS_PER_YEAR, Fade
from app.analysis.line import Line
from app.domain.finding import Finding

HORIZON_YEARS = 30.0
LEVEL = 0.90


class Outcome(StrEnum):
    """What a projection can come to."""

    ALREADY_BELOW = "already_below"
    PROJECTED = "projected"
    BEYOND_HORIZON = "beyond_horizon"
    NOT_YET_KNOWN = "not_yet_known"


@dataclass(frozen=True)
class EndOfLife:
    """Dates by which the threshold is reached with 5, 50 and 95 % confidence.

    None lies beyond the horizon, or cannot be told where the outcome is not_yet_known.
    """

    outcome: Outcome
    threshold_ah: float | None
    p05: date | None
    p50: date | None
    p95: date | None
    caveats: tuple[Finding, ...]
    level: float = LEVEL

    @property
    def words(self) -> str:
        if self.outcome is Outcome.ALREADY_BELOW:
            return "The trend already lies below the threshold."
        if self.outcome is Outcome.BEYOND_HORIZON:
            return f"Beyond the horizon of {HORIZON_YEARS:.0f} years."
        if self.outcome is Outcome.NOT_YET_KNOWN:
            start = "Not yet known"
            return f"{start}: {self.caveats[0].text}" if self.caveats else f"{start}."
        middle = "" if self.p50 is None else f", most likely {_month(self.p50)}"
        if self.p95 is None:
            start = "Open" if self.p05 is None else f"Not before {_month(self.p05)}"
            return f"{start}{middle}; no upper bound within {HORIZON_YEARS:.0f} years."
        start = "now" if self.p05 is None else _month(self.p05)
        return f"Between {start} and {_month(self.p95)}{middle}."


def project(fade: Fade, threshold_ah: float | None) -> EndOfLife:
    """Project where the straight line reaches the threshold (Ah), with a 90 % interval.

    The chance that the line lies below the threshold at a date is Student's, from the line and
    its standard error there: the dates where it passes 5 and 95 % are the ends of Fieller's
    interval. Where the slope does not differ from zero there is no upper bound, and none is made
    up. A straight line knows nothing of a knee: a caveat says so.
    """
    if fade.line is None or threshold_ah is None:
        return _unknown(threshold_ah, fade.caveats)
    days = np.arange(0.0, math.floor(HORIZON_YEARS * DAYS_PER_YEAR) + 1)
    below = _chance_below(fade.line, days, threshold_ah)
    p05, p50, p95 = (_first_date(fade.first_day, days, below, q) for q in (0.05, 0.5, 0.95))
    straight = Finding(
        "straight_line",
        "A straight line through the tests. Real batteries often fade slowly for years and then "
        "fast, so the true end may come earlier.",
    )
    if p50 is not None and p50.toordinal() <= fade.last_day:
        return EndOfLife(Outcome.ALREADY_BELOW, threshold_ah, p05, p50, p95, (straight,))
    if fade.line.slope >= 0 or not fade.line.slope_significant(LEVEL):
        flat = Finding("flat", "the fade does not yet differ from zero, so no upper bound exists.")
        return EndOfLife(Outcome.NOT_YET_KNOWN, threshold_ah, p05, None, None, (flat, straight))
    outcome = Outcome.BEYOND_HORIZON if p50 is None else Outcome.PROJECTED
    return EndOfLife(outcome, threshold_ah, p05, p50, p95, (straight,))


def _unknown(threshold_ah: float | None, why: tuple[Finding, ...]) -> EndOfLife:
    return EndOfLife(Outcome.NOT_YET_KNOWN, threshold_ah, None, None, None, why)


def _chance_below(
    line: Line, days: NDArray[np.float64], threshold_ah: float
) -> NDArray[np.float64]:
    se = np.sqrt(line.level_variance + line.slope_variance * (days - line.centre_x) ** 2)
    gap = threshold_ah - (line.level + line.slope * (days - line.centre_x))
    if se.max() == 0:
        return np.where(gap > 0, 1.0, 0.0)
    freedom = 1e9 if line.degrees_of_freedom is None else line.degrees_of_freedom
    chance: NDArray[np.float64] = stdtr(freedom, gap / se)
    return chance


def _first_date(
    first_day: float, days: NDArray[np.float64], below: NDArray[np.float64], q: float
) -> date | None:
    reached = np.flatnonzero(below >= q)
    return date.fromordinal(math.floor(first_day + days[reached[0]])) if reached.size else None


def _month(day: date) -> str:
    return day.strftime("%B %Y")
