"""One side of a comparison: a battery, or a battery before or after a move."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from statistics import fmean

from app.analysis.battery.battery_report import BatteryReport
from app.analysis.comparison.comparison import Rate, measured
from app.analysis.fade.trend_point import TrendPoint
from app.domain.finding import EvidenceKind


@dataclass(frozen=True)
class ComparedPoint:
    """One test in % of rated with its 95 % uncertainty; day is a proleptic ordinal.

    fitted_percent is the line of the rate on that day, None without a rate and for a lower bound.
    """

    on_date: date
    day: float
    kind: EvidenceKind
    percent: float
    expanded_percent: float
    fitted_percent: float | None


@dataclass(frozen=True)
class ComparedSide:
    """One side with its rate in % of rated a year and its 95 % interval, or why there is none.

    Means are of the measured tests; mean_c_rate is the load in rated capacities an hour.
    """

    battery_id: int
    name: str
    chemistry: str
    rated_ah: float
    measured: int
    lower_bounds: int
    first_on: date | None
    last_on: date | None
    rate_percent_per_year: float | None
    low: float | None
    high: float | None
    no_rate_because: str
    mean_temperature_c: float | None
    mean_c_rate: float | None
    points: tuple[ComparedPoint, ...]


def side_of(
    report: BatteryReport,
    name: str,
    points: Sequence[TrendPoint],
    rate: Rate | None,
    no_rate_because: str,
) -> ComparedSide:
    """Gather one side from the points of it that were not left out."""
    tests = {test.id: test for test in report.tests}
    kept = [p for p in points if not p.left_out]
    own = measured(kept)
    done = [tests[p.discharge_id] for p in own if p.discharge_id in tests]
    warm = [test.temperature_c for test in done if test.temperature_c is not None]
    amps = [test.mean_current_a for test in done if test.mean_current_a is not None]
    return ComparedSide(
        battery_id=report.id,
        name=name,
        chemistry=report.chemistry,
        rated_ah=report.rated_ah,
        measured=len(own),
        lower_bounds=sum(1 for p in kept if p.kind is EvidenceKind.AT_LEAST),
        first_on=done[0].started_at.date() if done else None,
        last_on=done[-1].started_at.date() if done else None,
        rate_percent_per_year=None if rate is None else rate.percent_per_year,
        low=None if rate is None else rate.low,
        high=None if rate is None else rate.high,
        no_rate_because="" if rate is not None else no_rate_because,
        mean_temperature_c=fmean(warm) if warm else None,
        mean_c_rate=fmean(amps) / report.rated_ah if amps else None,
        points=tuple(_points(report, kept, rate)),
    )


def _points(
    report: BatteryReport, kept: Sequence[TrendPoint], rate: Rate | None
) -> list[ComparedPoint]:
    tests = {test.id: test for test in report.tests}
    scale = 100 / report.rated_ah
    made = []
    for point in kept:
        test = tests.get(point.discharge_id or 0)
        if test is None:
            continue
        known = point.kind is EvidenceKind.MEASURED
        made.append(
            ComparedPoint(
                on_date=test.started_at.date(),
                day=point.day,
                kind=point.kind,
                percent=scale * (test.capacity_ah if known else test.lower_ah),
                expanded_percent=scale * test.expanded_ah if known else 0.0,
                fitted_percent=rate.at(point.day) if known and rate is not None else None,
            )
        )
    return made
