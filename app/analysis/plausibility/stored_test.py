"""A stored test, as a new one of the same battery is held against it."""

import numpy as np

from app.analysis.counting.noted_charge import noted_charge
from app.analysis.plausibility.questions import OtherTest
from app.domain.entities.discharge import DischargeDetails


def other_test(name: str, details: DischargeDetails) -> OtherTest:
    """When it ran and its mean current, or its result where no more was noted."""
    if details.is_only_result:
        noted = noted_charge(details)
        return OtherTest(name, details.started_at, None, noted.mean_current_a, noted.charge_ah)
    seconds, amps = np.asarray(details.readings.elapsed_s), np.asarray(details.readings.current_a)
    duration_s = float(seconds[-1] - seconds[0])
    mean_a = abs(float(np.trapezoid(amps, seconds))) / duration_s
    return OtherTest(name, details.started_at, duration_s, mean_a)
