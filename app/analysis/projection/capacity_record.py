"""A battery's capacity tests, made ready for the projection."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.analysis.statistics.arrays import Floats

Flags = NDArray[np.bool_]

LARGEST_SIZE = 36  # more tests than this are grouped, so that time stays bounded
SMALLEST_RELATIVE = 1e-4  # a stated uncertainty of zero is not believed below 0.01 %
LARGEST_RELATIVE = 0.5
NOISE_PRIOR_TESTS = 6.0  # tests that the stated uncertainty is worth when scatter is estimated


@dataclass(frozen=True)
class CapacityRecord:
    """Tests in order of date; n entries each.

    days: since the first test, be it measured or a lower bound.
    log_capacity: natural log of Ah.
    relative: standard uncertainty over capacity, scatter between tests included.
    lower_bound: True where the test only says "at least".
    first_day: of the first test of either kind. last_day: of the last measured one, as given by the
        caller; a later lower bound does not move it.
    measured, bounds: number of tests of either kind, before grouping.
    """

    days: Floats
    log_capacity: Floats
    relative: Floats
    lower_bound: Flags
    first_day: float
    last_day: float
    measured: int
    bounds: int

    @property
    def span(self) -> float:
        """Days from the first test to the last measured one."""
        return self.last_day - self.first_day


def capacity_record(
    days: Floats, capacities: Floats, uncertainties: Floats, at_least: Flags | None = None
) -> CapacityRecord:
    """Sort, drop rows without a finite positive capacity, add scatter, group a long record.

    days: (n,) in any order, any origin. capacities, uncertainties: (n,) in Ah; an uncertainty
    that is NaN or negative counts as zero, one above half the capacity as half of it.
    at_least: (n,) True for lower bounds.
    """
    days, capacities = np.asarray(days, float), np.asarray(capacities, float)
    uncertainties = np.asarray(uncertainties, float)
    bound = np.zeros(len(days), dtype=bool) if at_least is None else np.asarray(at_least, bool)
    usable = np.isfinite(days) & np.isfinite(capacities) & (capacities > 0)
    days, capacities, bound = days[usable], capacities[usable], bound[usable]
    stated = np.nan_to_num(uncertainties[usable], nan=0.0, posinf=1e300, neginf=0.0)
    order = np.lexsort((stated, capacities, days))  # ties too, so that row order changes nothing
    days, capacities, bound = days[order], capacities[order], bound[order]
    relative = np.clip(stated[order] / capacities, SMALLEST_RELATIVE, LARGEST_RELATIVE)
    measured = days[~bound]
    first, last = (float(days[0]), float(measured[-1])) if measured.size else (0.0, 0.0)
    since, logs = days - first, np.log(capacities)
    relative = np.hypot(relative, extra_scatter(since[~bound], logs[~bound], relative[~bound]))
    counts = int(np.sum(~bound)), int(np.sum(bound))
    if len(since) > LARGEST_SIZE:
        since, logs, relative, bound = _grouped(since, logs, relative, bound)
    return CapacityRecord(since, logs, relative, bound, first, last, *counts)


def extra_scatter(days: Floats, logs: Floats, relative: Floats) -> float:
    """Scatter between tests beyond their stated uncertainty, relative (0 where none is seen).

    From each test's distance to the line between its two neighbours, by the median, so that one
    absurd test or a knee says nothing; shrunk towards the stated figure while tests are few.
    """
    if len(days) < 4:
        return 0.0
    gap = np.maximum(days[2:] - days[:-2], 1e-9)
    part = np.clip((days[1:-1] - days[:-2]) / gap, 0.0, 1.0)
    distance = logs[1:-1] - (1.0 - part) * logs[:-2] - part * logs[2:]
    spread = np.sqrt(1.0 + (1.0 - part) ** 2 + part**2)
    seen = 1.4826 * float(np.median(np.abs(distance) / spread))
    stated = float(np.sqrt(np.mean(relative**2)))
    count = len(distance)
    variance = count * max(0.0, seen**2 - stated**2) / (count + NOISE_PRIOR_TESTS)
    return min(float(np.sqrt(variance)), LARGEST_RELATIVE)


def _grouped(
    days: Floats, logs: Floats, relative: Floats, bound: Flags
) -> tuple[Floats, Floats, Floats, Flags]:
    """Medians of consecutive tests, at most LARGEST_SIZE groups; lower bounds keep the highest."""
    kept: list[tuple[float, float, float, bool]] = []
    measured = np.flatnonzero(~bound)
    for group in np.array_split(measured, max(1, min(len(measured), LARGEST_SIZE - 4))):
        if group.size:
            centre = float(np.median(logs[group]))
            # 1.2533: a median of many is that much less certain than their mean.
            wide = 1.2533 if group.size > 2 else 1.0
            error = wide * float(np.sqrt(np.mean(relative[group] ** 2) / group.size))
            kept.append((float(np.mean(days[group])), centre, error, False))
    bounds = np.flatnonzero(bound)
    for group in np.array_split(bounds, max(1, min(len(bounds), 4))):
        if group.size:
            best = int(group[np.argmax(logs[group])])
            kept.append((float(days[best]), float(logs[best]), float(relative[best]), True))
    kept.sort()
    table = np.array([row[:3] for row in kept])
    return table[:, 0], table[:, 1], table[:, 2], np.array([row[3] for row in kept])
