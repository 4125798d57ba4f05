"""Whether a gauge's percentages say anything that the amp-hour count does not."""

import math
from dataclasses import dataclass

import numpy as np

from app.analysis.counting.delivered import Delivered
from app.analysis.counting.sampling import sampling
from app.analysis.statistics.arrays import Floats
from app.domain.entities.meter import MeterDetails
from app.domain.i18n.message import say
from app.domain.readings import Readings
from app.domain.units.rounding import rounded_up
from app.domain.units.time_units import SECONDS_PER_HOUR

MIN_READINGS = 4
SMALLEST_DROP_PERCENT = 10.0
COARSEST_PERCENT = 4.0
STEPS_PERCENT = (10.0, 5.0, 2.0, 1.0, 0.5, 0.1, 0.01)


@dataclass(frozen=True)
class Gauge:
    """The gauge's percentages against the count.

    independent is None where there is too little to tell. largest_deviation_percent and
    tolerance_percent are percentage points from 100 - count / set_capacity_ah.
    """

    readings: int
    independent: bool | None
    largest_deviation_percent: float | None
    tolerance_percent: float | None
    rounding_percent: float | None
    set_capacity_ah: float | None
    words: str


def compare_gauge(readings: Readings, delivered: Delivered, meter: MeterDetails) -> Gauge | None:
    """Compare; None where no percentage was noted.

    A gauge that counts amp-hours shows 100 - Q / C_set, with C_set a capacity that somebody typed
    in. Percentages that follow that line within their own rounding (and what the meter may drift
    from it, and what our count may miss between two readings) carry no information about wear: a
    worn battery would have shown the same.
    """
    rows = slice(delivered.first_row, delivered.last_row + 1)
    percent = np.asarray(readings.gauge_percent, dtype=np.float64)[rows]
    # At its two ends a gauge stands still, whatever is counted.
    moving = np.isfinite(percent) & (percent > 0) & (percent < 100)
    first_full = np.flatnonzero(np.isfinite(percent) & (percent >= 100))
    if first_full.size:
        moving[first_full[-1]] = True
    noted = int(np.count_nonzero(np.isfinite(percent)))
    if noted == 0:
        return None
    count, shown = delivered.count_ah[moving], percent[moving]
    if shown.size < MIN_READINGS or np.ptp(shown) < SMALLEST_DROP_PERCENT or np.ptp(count) == 0:
        words = say("Too few gauge percentages to compare with the count.")
        return Gauge(noted, None, None, None, None, None, words)
    rounding = _rounding(shown)
    slope, level = _closest_line(count, shown)
    deviation = float(np.max(np.abs(shown - level - slope * count)))
    if slope >= 0:
        words = say("The gauge's percentages did not fall while charge was drawn.")
        return Gauge(noted, True, deviation, rounding / 2, rounding, None, words)
    set_ah = -100 / slope
    hours = delivered.duration_s / SECONDS_PER_HOUR
    # A steady zero error is not proportional to the count where the current changes.
    unsteady = float(np.ptp(delivered.current_a) / max(delivered.mean_current_a, 1e-9))
    drift = 100 * meter.offset_limit_a * hours / set_ah * min(1.0, unsteady)
    tolerance = rounding / 2 + 0.25 * rounding + drift + 100 * _unseen_ah(delivered) / set_ah
    if tolerance > COARSEST_PERCENT:
        words = say("The gauge's percentages are too coarse to compare them with the count.")
        return Gauge(noted, None, deviation, tolerance, rounding, set_ah, words)
    independent = deviation > tolerance
    return Gauge(
        noted,
        independent,
        deviation,
        tolerance,
        rounding,
        set_ah,
        _words(independent, deviation, set_ah),
    )


def _unseen_ah(delivered: Delivered) -> float:
    """How far our own count may lie from the gauge's, which counts between the readings, too."""
    if delivered.counter_step_ah is not None:
        return delivered.counter_step_ah
    hours = delivered.time_s / SECONDS_PER_HOUR
    # Its expanded uncertainty, with the factor 2 (GUM 6.3.3).
    return 2 * math.sqrt(sampling(hours, delivered.current_a, 0.0).variance)


def _words(independent: bool, deviation: float, set_ah: float) -> str:
    if independent:
        return say(
            "The gauge's percentages differ from the count by up to {points:.1f} points: they "
            "follow something besides amp-hours. They still do not measure the capacity.",
            points=rounded_up(deviation),
        )
    return say(
        "The gauge's percentages follow the amp-hour count within {points:.1f} points, as if the "
        "gauge were set to about {set_ah:.0f} Ah. They only repeat the count and prove nothing "
        "of their own: such a gauge shows the same numbers on a worn battery.",
        points=rounded_up(deviation),
        set_ah=set_ah,
    )


def _rounding(shown: Floats) -> float:
    """The step in which the gauge counts: the coarsest that all its values are multiples of."""
    for step in STEPS_PERCENT:
        steps = np.round(shown / step)
        # Single precision is what a file of percentages may have been kept in.
        if np.all(np.abs(shown / step - steps) <= 1e-6 + 1e-5 * np.abs(steps)):
            return step
    return STEPS_PERCENT[-1]


def _closest_line(count: Floats, shown: Floats) -> tuple[float, float]:
    """Slope and level of the straight line with the smallest largest deviation.

    Between what lies highest and what lowest above a slope is a distance that no line of that
    slope can undercut. As a function of the slope it is convex and made of straight pieces, one a
    pair of readings. Where a falling piece and a rising one meet lies the next slope to try; when
    none is higher there, it is the best.
    """
    first, last = int(np.argmin(count)), int(np.argmax(count))
    falling, rising = (last, first), (first, last)
    while True:
        across = [count[high] - count[low] for high, low in (falling, rising)]
        apart = [shown[high] - shown[low] for high, low in (falling, rising)]
        slope = float((apart[0] - apart[1]) / (across[0] - across[1]))
        rest = shown - slope * count
        found = int(np.argmax(rest)), int(np.argmin(rest))
        width, met = rest[found[0]] - rest[found[1]], apart[0] - slope * across[0]
        if width <= met + 1e-9 or found in (falling, rising):
            return slope, float(rest[found[0]] + rest[found[1]]) / 2
        if count[found[0]] > count[found[1]]:
            falling = found
        else:
            rising = found
