"""From where to where capacities are drawn: alike wherever a battery is shown, so that its page,
its links, its report and its small picture can be laid beside each other."""

import math
from collections.abc import Sequence

from app.analysis.battery.battery_report import TestSummary
from app.domain.finding import EvidenceKind

# Shares of the rated capacity. Always shown: what most thresholds and new batteries lie within.
ALWAYS_FROM, ALWAYS_TO = 0.75, 1.05
# The ends are whole steps, so that one more test seldom moves the scale.
STEP, ROOM = 0.05, 0.01


def capacity_range(
    tests: Sequence[TestSummary], rated_ah: float, threshold_ah: float | None
) -> tuple[float, float]:
    """Lowest and highest capacity (Ah) of the scale: all intervals, rated, and a low threshold."""
    drawn = [test for test in tests if test.kind is not EvidenceKind.UNUSABLE]
    ends = [test.lower_ah for test in drawn]
    ends += [
        test.capacity_ah + test.expanded_ah for test in drawn if test.kind is EvidenceKind.MEASURED
    ]
    if threshold_ah is not None:
        ends.append(threshold_ah)
    shares = [end / rated_ah for end in ends]
    low = min([ALWAYS_FROM + ROOM, *shares]) - ROOM
    high = max([ALWAYS_TO - ROOM, *shares]) + ROOM
    steps = (math.floor(low / STEP + 1e-9), math.ceil(high / STEP - 1e-9))
    return round(max(0, steps[0]) * STEP * rated_ah, 3), round(steps[1] * STEP * rated_ah, 3)
