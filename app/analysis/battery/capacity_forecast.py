"""What a battery may hold on days of one's choice, as equally likely capacities."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

import numpy as np

from app.analysis.battery.battery_report import BatteryReport
from app.analysis.fade.trend_point import TrendPoint
from app.analysis.projection.end_of_life import (
    Fan,
    common_share,
    counting_tests,
    from_new,
    new_battery,
    run_projection,
)
from app.analysis.projection.projection import HORIZON_DAYS
from app.analysis.statistics.arrays import Floats
from app.analysis.statistics.coverage import HIGH, LOW, MIDDLE
from app.analysis.statistics.distributions import normal_quantiles
from app.domain.entities.battery import BatteryDetails
from app.domain.finding import EvidenceKind
from app.domain.threshold import Threshold

LIKELY = 200
GAINS = 9


class Basis(StrEnum):
    """What a statement about the capacity rests on."""

    TESTS = "tests"
    AT_LEAST = "at_least"
    LABEL = "label"


@dataclass(frozen=True)
class Interval:
    """A quantity with its 90 % interval, or what of it is known.

    A lower bound has a low alone (95 % one-sided), what a label promises a middle alone.
    """

    low: float | None
    middle: float | None
    high: float | None


@dataclass(frozen=True)
class CapacityForecast:
    """Capacities in Ah at reference conditions.

    likely: (D, LIKELY) for each of the days, equally likely values without what the meter's gain
    adds: gain is that, a relative standard uncertainty, common to all tests of one meter. Without
    a measured test likely is empty, and bound_ah was there at the least on bound_on; without any
    test both are None.
    """

    basis: Basis
    days: tuple[date, ...]
    likely: Floats
    gain: float
    meter_id: int | None
    bound_ah: float | None = None
    bound_on: date | None = None

    def on(self, day: date) -> Floats:
        """The equally likely capacities of a day that was asked for."""
        found: Floats = self.likely[self.days.index(day)]
        return found


def capacity_ahead(
    about: BatteryDetails,
    report: BatteryReport,
    days: Sequence[date],
    threshold: Threshold | None = None,
) -> CapacityForecast:
    """The capacity on each of the days, from the same weights as the projected end of life.

    It falls below the threshold (the battery's own where none is given) when project_end says.
    Days lie between the first test and last_day_known.
    """
    level = threshold or about.threshold
    used = counting_tests(report.points)
    measured = [p for p in used if p.kind is EvidenceKind.MEASURED]
    if not measured:
        return _without_measurement(report)
    new = None
    if about.in_service_since is not None:
        new = new_battery(about.in_service_since, about.rated_ah, used[0].day)
    used = from_new(used, level, new)
    levels = tuple(float(level) for level in (np.arange(LIKELY) + 0.5) / LIKELY)
    fan = Fan(levels, tuple(float(day.toordinal()) for day in days))
    found = run_projection(used, level, about.chemistry, report.as_of, fan, report.lives)
    meters = {p.meter_id for p in measured}
    table = np.empty((0, LIKELY)) if found.fan is None else found.fan.capacities.T
    return CapacityForecast(
        Basis.TESTS,
        tuple(days),
        table,
        common_share(used),
        meters.pop() if len(meters) == 1 else None,
    )


def last_day_known(points: Sequence[TrendPoint]) -> date | None:
    """The day up to which the projection speaks; None without a measured test."""
    days = [p.day for p in counting_tests(points)]
    if not any(p.kind is EvidenceKind.MEASURED for p in counting_tests(points)):
        return None
    return date.fromordinal(int(min(days))) + timedelta(days=int(HORIZON_DAYS))


def gain_factors(gain: float) -> Floats:
    """Equally likely factors by which a meter's gain may be off."""
    if gain <= 0:
        return np.ones(1)
    middles = (np.arange(GAINS) + 0.5) / GAINS
    # The middles of nine equal parts spread a little less than the whole.
    z = normal_quantiles(middles)
    factors: Floats = np.exp(gain * z / np.std(z))
    return factors


def interval(values: Floats) -> Interval:
    """The 90 % interval of equally likely values, each the middle of its part."""
    quantiles = np.quantile(values, (LOW, MIDDLE, HIGH), method="hazen")
    low, middle, high = (float(v) for v in quantiles)
    return Interval(low, middle, high)


def _without_measurement(report: BatteryReport) -> CapacityForecast:
    """The newest lower bound, or nothing."""
    nothing = np.empty((0, LIKELY))
    bounds = [t for t in report.tests if t.kind is EvidenceKind.AT_LEAST and not t.left_out_reason]
    if not bounds:
        return CapacityForecast(Basis.LABEL, (), nothing, 0.0, None)
    newest = bounds[-1]
    return CapacityForecast(
        Basis.AT_LEAST, (), nothing, 0.0, None, newest.lower_ah, newest.started_at.date()
    )
