"""Where the uncertainty of one test comes from."""

import math

import numpy as np

from app.analysis.budget import Budget, Contribution, combine, rectangular, resolution
from app.analysis.delivered import SECONDS_PER_HOUR, Delivered
from app.domain.meter import MeterDetails

NOTED_END_LIMIT_S = 60.0


def budget_of_test(delivered: Delivered, meter: MeterDetails) -> Budget:
    """Budget of the delivered charge of one test, in Ah.

    The meter's limits are read as rectangular (GUM 4.3.7). The gain is common to every test made
    with that meter.
    """
    hours = delivered.duration_s / SECONDS_PER_HOUR
    gain = meter.gain_limit_percent / 100 * abs(delivered.charge_ah)
    lines = (
        Contribution(
            "gain",
            "meter: gain",
            f"± {meter.gain_limit_percent:g} % of the reading",
            rectangular(gain),
            common=True,
        ),
        Contribution(
            "offset",
            "meter: zero point",
            f"± {meter.offset_limit_a:g} A for {hours:.3g} h",
            rectangular(meter.offset_limit_a * hours),
        ),
        Contribution(
            "resolution",
            "meter: smallest step",
            f"steps of {meter.resolution_a:g} A",
            resolution(meter.resolution_a) * hours,
        ),
        _sampling(delivered),
        _end(delivered),
    )
    return combine(lines)


def _sampling(delivered: Delivered) -> Contribution:
    """Between two readings the current may have been anything between the two.

    Each interval's mean is taken as rectangular between its ends, independent of the others.
    """
    steps = np.abs(np.diff(delivered.current_a))
    hours = _interval_hours(delivered)
    standard = math.sqrt(float(np.sum((steps * hours) ** 2)) / 12)
    return Contribution(
        "sampling",
        "current between the readings",
        f"{len(steps)} intervals, the longest {_duration(float(hours.max()))}",
        standard,
    )


def _end(delivered: Delivered) -> Contribution:
    """The moment of the end lies within one interval, or within a minute where it was noted."""
    current = float(delivered.current_a[-1])
    if delivered.end_noted:
        limit_h = NOTED_END_LIMIT_S / SECONDS_PER_HOUR
        said = "noted, ± 1 min"
    else:
        hours = _interval_hours(delivered)
        limit_h = float(hours[-1] if delivered.reached_cut_off else np.median(hours))
        said = f"not noted, within {_duration(limit_h)}"
    return Contribution("end", "moment of the end", said, rectangular(current * limit_h))


def _interval_hours(delivered: Delivered) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    return np.asarray(np.diff(delivered.time_s)) / SECONDS_PER_HOUR


def _duration(hours: float) -> str:
    if hours >= 1:
        return f"{hours:.3g} h"
    return f"{hours * 60:.3g} min" if hours * 60 >= 1 else f"{hours * SECONDS_PER_HOUR:.3g} s"
