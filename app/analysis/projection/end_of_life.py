"""The projected end of life as a page, a chart and a program read it."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cache
from pathlib import Path

import numpy as np

from app.analysis.evidence.verdict import likelihood
from app.analysis.fade.fade import Fade
from app.analysis.fade.trend_point import TrendPoint, mean_rate_share, own_doubt_ah
from app.analysis.projection.capacity_fan import CapacityFan
from app.analysis.projection.end_caveats import (
    LABEL_DOUBT,
    WAITS_CODE,
    Start,
    contradiction_caveats,
    end_caveats,
)
from app.analysis.projection.end_texts import end_text
from app.analysis.projection.life_belief import UNKNOWN, UseAndClimate, prior_of
from app.analysis.projection.linear_extrapolation import HORIZON_YEARS, StraightLine, straight_line
from app.analysis.projection.projection import (
    Parameters,
    Projection,
    ProjectionOutcome,
    ProjectionRequest,
    project,
)
from app.analysis.projection.trajectories import Library, load_library
from app.analysis.statistics.coverage import HIGH, LOW, MIDDLE, RANGE_LEVEL
from app.domain.chemistry import Chemistry
from app.domain.finding import EvidenceKind, Finding
from app.domain.i18n.marks import N_
from app.domain.i18n.message import say
from app.domain.threshold import Threshold
from app.domain.units.time_units import DAYS_PER_YEAR

SOON_TESTED_DAYS = 180.0
CHANCE_STEP_DAYS = 91.3125
_DATA = Path(__file__).resolve().parents[2] / "data" / "reference_trajectories.npz"


@dataclass(frozen=True)
class FanPoint:
    """What the capacity may be on a day, in Ah: 5, 25, 50, 75 and 95 %."""

    on_date: date
    p05: float
    p25: float
    p50: float
    p75: float
    p95: float


@dataclass(frozen=True)
class ChancePoint:
    """The chance of still being above the threshold on a day."""

    on_date: date
    chance_above: float


@dataclass(frozen=True)
class EndOfLife:
    """When the true capacity falls below the threshold: dates by 5, 25, 50, 75 and 95 % chance.

    A date is None where it lies beyond the horizon of 30 years after the first test, and where
    nothing is known yet. mostly_prior says that the tests changed little of what is believed of
    any such battery.
    """

    outcome: ProjectionOutcome
    threshold: Threshold
    threshold_ah: float | None
    p05: date | None
    p25: date | None
    p50: date | None
    p75: date | None
    p95: date | None
    chance_above_today: float | None
    mostly_prior: bool
    fan: tuple[FanPoint, ...]
    chances: tuple[ChancePoint, ...]
    straight: StraightLine | None
    caveats: tuple[Finding, ...]
    level: float = RANGE_LEVEL

    def chance_on(self, day: date) -> float | None:
        """The chance of still being above the threshold on a day; None where it is not known."""
        if not self.chances:
            return None
        days = [point.on_date.toordinal() for point in self.chances]
        values = [point.chance_above for point in self.chances]
        return float(np.interp(day.toordinal(), days, values))

    @property
    def waits(self) -> bool:
        """Whether the tests contradict each other, so that the date means nothing yet."""
        return any(one.code == WAITS_CODE for one in self.caveats)

    @property
    def words(self) -> str:
        if self.outcome is ProjectionOutcome.NOT_YET_KNOWN or self.chance_above_today is None:
            return say("Not yet known: this needs a measured test.")
        if self.waits:
            return say("The tests contradict each other: the date waits for another test.")
        if self.outcome is ProjectionOutcome.ALREADY_BELOW:
            below = likelihood(1 - self.chance_above_today)
            return say("Below the limit already: {likely}.", likely=below)
        text = end_text(
            beyond=self.outcome is ProjectionOutcome.BEYOND_HORIZON,
            passed=self.chance_above_today < HIGH,
            start=self.p05 is not None,
            middle=self.p50 is not None,
            last=self.p95 is not None,
        )
        return say(
            text,
            start=say("now") if self.p05 is None else coarse_date(self.p05),
            middle="" if self.p50 is None else coarse_date(self.p50),
            end="" if self.p95 is None else coarse_date(self.p95),
            below=likelihood(1 - self.chance_above_today),
            years=HORIZON_YEARS,
        )


@dataclass(frozen=True)
class Fan:
    """Which quantiles of the capacity are wanted, on which days of the tests' axis."""

    levels: tuple[float, ...]
    days: tuple[float, ...]


def coarse_date(day: date) -> str:
    """A date as coarse as it is known. Seasons would be wrong on half of the earth."""
    third = (N_("early {year}"), N_("mid {year}"), N_("late {year}"))
    return say(third[(day.month - 1) // 4], year=day.year)


def project_end(
    points: Sequence[TrendPoint],
    fade: Fade,
    threshold: Threshold,
    as_of: date,
    chemistry: Chemistry = Chemistry.LFP,
    new: TrendPoint | None = None,
    lives: UseAndClimate = UNKNOWN,
) -> EndOfLife:
    """Project the end of life from the tests that count (see projection for the method).

    new is what the battery is believed to have held when it went into service, where that was
    long before its first test; it bears on an absolute threshold only. lives says how it lives, as
    far as that is known.
    """
    used = counting_tests(points)
    with_new = from_new(used, threshold, new)
    start = Start.FIRST_TEST
    if new is not None and len(with_new) > len(used):
        more = with_new[0].capacity_ah > new.capacity_ah
        start = Start.ABOVE_LABEL if more else Start.LABEL
    found = run_projection(with_new, threshold, chemistry, as_of, lives=lives)
    dates = {level: _date(day) for level, day in found.quantiles}
    # A limit in Ah is known before any test is.
    limit_ah = threshold.ah if found.threshold_amp_hours is None else found.threshold_amp_hours
    return EndOfLife(
        outcome=found.outcome,
        threshold=threshold,
        threshold_ah=limit_ah,
        p05=dates.get(LOW),
        p25=dates.get(0.25),
        p50=dates.get(MIDDLE),
        p75=dates.get(0.75),
        p95=dates.get(HIGH),
        chance_above_today=found.chance_above_today,
        mostly_prior=found.mostly_prior,
        fan=_fan(found.fan),
        chances=_chances(found),
        straight=straight_line(fade, threshold),
        caveats=(
            *contradiction_caveats(points),
            *end_caveats(found, chemistry, start, lives),
        ),
    )


@cache
def reference_library() -> Library:
    """The shipped trajectories, read once."""
    return load_library(_DATA)


def counting_tests(points: Sequence[TrendPoint]) -> tuple[TrendPoint, ...]:
    """The tests that prove something and were not left out."""
    return tuple(p for p in points if not p.left_out and p.kind is not EvidenceKind.UNUSABLE)


def from_new(
    used: tuple[TrendPoint, ...], threshold: Threshold, new: TrendPoint | None
) -> tuple[TrendPoint, ...]:
    """The tests that count, behind what the battery held when it was new where that bears.

    No battery gains capacity: where its first tests show more than its label, it held no less when
    it was new. Else the label, which is no test, would make the one test beside it a slip. Of the
    first three the lower middle is taken, so that one that is too high among several says nothing.
    """
    first = sorted([p.capacity_ah for p in used if p.kind is EvidenceKind.MEASURED][:3])
    if new is None or threshold.ah is None or not first:
        return used
    more = max(1.0, first[(len(first) - 1) // 2] / new.capacity_ah)
    held = replace(
        new,
        capacity_ah=more * new.capacity_ah,
        standard_ah=more * new.standard_ah,
        independent_ah=more * new.independent_ah,
        meter_id=used[0].meter_id,
        rate_ah=more * new.capacity_ah * mean_rate_share(used),
    )
    return (held, *used)


def common_share(points: Sequence[TrendPoint]) -> float:
    """The relative standard uncertainty that all tests of one meter share; 0 for several meters."""
    if len({p.meter_id for p in points}) > 1:
        return 0.0
    gain = max((p.gain_ah / p.capacity_ah for p in points if p.capacity_ah > 0), default=0.0)
    return math.hypot(gain, mean_rate_share(points))


def run_projection(
    points: Sequence[TrendPoint],
    threshold: Threshold,
    chemistry: Chemistry,
    as_of: date,
    fan: Fan | None = None,
    lives: UseAndClimate = UNKNOWN,
) -> Projection:
    """The projection from the tests that count (see counted and from_new)."""
    one = len({p.meter_id for p in points}) <= 1
    share = threshold.share if threshold.ah is None else None
    usual, rate_share = ProjectionRequest(), mean_rate_share(points)
    return project(
        np.array([p.day for p in points]),
        np.array([p.capacity_ah for p in points]),
        np.array([own_doubt_ah(p, rate_share) if one else p.standard_ah for p in points]),
        library=reference_library(),
        at_least=np.array([p.kind is EvidenceKind.AT_LEAST for p in points], dtype=bool),
        question=ProjectionRequest(
            share=0.8 if share is None else min(max(share, 1e-6), 1 - 1e-6),
            amp_hours=threshold.ah,
            gain=common_share(points),
            today=float(as_of.toordinal()),
            levels=usual.levels if fan is None else fan.levels,
            fan_days=() if fan is None else fan.days,
        ),
        model=Parameters(prior=prior_of(chemistry, lives)),
    )


def _date(day: float | None) -> date | None:
    return None if day is None else date.fromordinal(max(1, math.floor(day)))


def _fan(fan: CapacityFan | None) -> tuple[FanPoint, ...]:
    if fan is None:
        return ()
    return tuple(
        FanPoint(date.fromordinal(math.floor(day)), *(float(v) for v in column))
        for day, column in zip(fan.days, fan.capacities.T, strict=True)
    )


def _chances(found: Projection) -> tuple[ChancePoint, ...]:
    """Every quarter up to the horizon."""
    if found.end is None:
        return ()
    steps = math.ceil(HORIZON_YEARS * DAYS_PER_YEAR / CHANCE_STEP_DAYS)
    since = CHANCE_STEP_DAYS * np.arange(steps + 1, dtype=np.float64)
    days = np.floor(found.first_day + since).astype(int).tolist()
    chances = found.end.chances_above(since).tolist()
    return tuple(
        ChancePoint(date.fromordinal(day), chance)
        for day, chance in zip(days, chances, strict=True)
    )


def new_battery(in_service: date, rated_ah: float, first_test_day: float) -> TrendPoint | None:
    """What a battery held when it was new, as far as its label can be believed.

    None where its first test came soon after: then that says more.
    """
    day = float(in_service.toordinal())
    if first_test_day - day < SOON_TESTED_DAYS:
        return None
    doubt = LABEL_DOUBT * rated_ah
    return TrendPoint(day, rated_ah, doubt, doubt, EvidenceKind.MEASURED)
