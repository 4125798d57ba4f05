"""Two temperature logs of one place that know the same hours."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.domain.temperature_log import HOURS_A_DAY, HourlyTemperatures

# How far two logs may differ in an hour and still tell the same.
SAME_K = 1.0


@dataclass(frozen=True)
class LogOverlap:
    """Hours that both know, how many of them differ by more than SAME_K, and the most in K."""

    hours: int
    differing: int
    most_k: float


def overlap_of(one: HourlyTemperatures, other: HourlyTemperatures) -> LogOverlap | None:
    """None where they have no hour in common."""
    start = max(one.first_day, other.first_day).toordinal()
    end = min(log.first_day.toordinal() + log.days for log in (one, other))
    if start >= end:
        return None
    apart = np.abs(_cut(one, start, end) - _cut(other, start, end))
    apart = apart[~np.isnan(apart)]
    if not apart.size:
        return None
    return LogOverlap(len(apart), int(np.count_nonzero(apart > SAME_K)), float(apart.max()))


def _cut(log: HourlyTemperatures, start: int, end: int) -> NDArray[np.float64]:
    first = log.first_day.toordinal()
    values = np.frombuffer(log.celsius, dtype=np.float64)
    return values[(start - first) * HOURS_A_DAY : (end - first) * HOURS_A_DAY]
