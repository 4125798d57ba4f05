"""What a straight line would have promised: shown to be doubted."""

import math
from dataclasses import dataclass
from datetime import date

from app.analysis.fade.fade import Fade
from app.analysis.statistics.coverage import RANGE_LEVEL
from app.analysis.statistics.line import crossing
from app.domain.threshold import Threshold
from app.domain.units.time_units import DAYS_PER_YEAR

HORIZON_YEARS = 30.0


@dataclass(frozen=True)
class StraightLine:
    """Dates where the line reaches the threshold, with Fieller's 90 % interval.

    None lies beyond the horizon, or has no bound because the slope does not differ from zero.
    """

    p05: date | None
    p50: date | None
    p95: date | None
    significant: bool


def straight_line(fade: Fade, threshold: Threshold) -> StraightLine | None:
    """The projection that is usual; None where there is no line."""
    if fade.line is None:
        return None
    if threshold.share is not None:
        found = crossing(fade.line.above_share(threshold.share), 0.0, RANGE_LEVEL)
    elif threshold.ah is not None:
        found = crossing(fade.line, threshold.ah, RANGE_LEVEL)
    else:
        return None
    significant = fade.line.slope < 0 and fade.line.slope_significant(RANGE_LEVEL)
    if not significant:
        return StraightLine(None, None, None, False)
    low, middle, high = (_date(fade.first_day, x) for x in (found.low, found.estimate, found.high))
    return StraightLine(low, middle, high, True)


def _date(first_day: float, x: float | None) -> date | None:
    if x is None or x > HORIZON_YEARS * DAYS_PER_YEAR:
        return None
    return date.fromordinal(max(1, math.floor(first_day + x)))
