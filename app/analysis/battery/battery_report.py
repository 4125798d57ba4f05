"""Everything one battery's page, chart and JSON show, computed once."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import lru_cache

from app.analysis.battery.answers import (
    Answer,
    down_to,
    holds,
    limit_words,
    loses,
    main_findings,
    next_due,
)
from app.analysis.battery.newest_test_check import Alarm, Conditions, NewestTestCheck, watch
from app.analysis.battery.next_test import NextTest, middle_loss_ah_a_year, next_test
from app.analysis.evidence.result import Result
from app.analysis.fade.fade import Fade, fit_fade
from app.analysis.fade.trend_point import TrendPoint
from app.analysis.projection.end_of_life import EndOfLife, new_battery, project_end
from app.analysis.projection.life_belief import UNKNOWN, UseAndClimate
from app.analysis.projection.projection import ProjectionOutcome
from app.domain.entities.battery import Battery, BatteryDetails
from app.domain.entities.discharge import ChargeCondition, Discharge
from app.domain.entities.event import Event
from app.domain.finding import EvidenceKind, Finding
from app.domain.i18n.message import say
from app.domain.units.rounding import rounded_down
from app.domain.units.time_units import SECONDS_PER_DAY, since_midnight_s


@dataclass(frozen=True)
class TestSummary:
    """One test in the battery's table. corrected names what its result was corrected for."""

    __test__ = False

    id: int
    started_at: datetime
    kind: EvidenceKind
    capacity_ah: float
    expanded_ah: float
    lower_ah: float
    share_of_rated: float
    mean_current_a: float | None
    duration_h: float | None
    temperature_c: float | None
    end_reason: str
    charge_condition: str
    load: str
    caveats: int
    left_out_reason: str
    odd: bool
    only_result: bool
    corrected: tuple[str, ...] = ()

    @property
    def day(self) -> date:
        """The day on which it began, where it was done."""
        return self.started_at.date()

    @property
    def share_words(self) -> str:
        """The share of the rated capacity; a lower bound's is never rounded up."""
        if self.kind is EvidenceKind.MEASURED:
            return f"{100 * self.share_of_rated:.0f} %"
        if self.kind is EvidenceKind.AT_LEAST:
            return say("at least {percent} %", percent=math.floor(100 * self.share_of_rated))
        return "–"


@dataclass(frozen=True)
class BatteryReport:
    """One battery with its trend. Capacities in Ah, shares as fractions, as_of a local date."""

    id: int
    name: str
    chemistry: str
    nominal_v: float
    rated_ah: float
    rated_hours: float | None
    rated_temperature_c: float
    in_service_since: date | None
    reserve_share: float
    threshold_words: str
    as_of: date
    tests: tuple[TestSummary, ...]
    points: tuple[TrendPoint, ...]
    fade: Fade
    end_of_life: EndOfLife
    watch: NewestTestCheck
    next_test: NextTest
    events: tuple[Event, ...]
    lives: UseAndClimate = UNKNOWN

    @property
    def latest(self) -> TestSummary | None:
        return self.tests[-1] if self.tests else None

    @property
    def newest_words(self) -> str:
        """The newest result in one sentence."""
        test = self.latest
        if test is None:
            return say("No capacity test yet.")
        on = test.started_at.date()
        if test.kind is EvidenceKind.MEASURED:
            return say(
                "{capacity_ah:.1f} Ah ± {expanded_ah:.1f} Ah measured on {on}: "
                "{percent:.0f} % of the rated {rated_ah:g} Ah.",
                capacity_ah=test.capacity_ah,
                expanded_ah=test.expanded_ah,
                on=on,
                percent=test.share_of_rated * 100,
                rated_ah=self.rated_ah,
            )
        if test.kind is EvidenceKind.AT_LEAST:
            return say(
                "At least {lower_ah:.1f} Ah on {on}. The test cannot tell how much more, so it "
                "does not give the capacity itself.",
                lower_ah=rounded_down(test.lower_ah),
                on=on,
            )
        return say("The test of {on} proves nothing.", on=on)

    @property
    def faster(self) -> bool:
        """Whether the newest tests fall faster than all of them on average."""
        return self.watch.alarm is Alarm.FASTER

    @property
    def answers(self) -> tuple[Answer, ...]:
        """What it holds, loses, when it is down to its threshold, and when to test next."""
        return (
            holds(self.tests, self.rated_ah, self.as_of, self.fade, faster=self.faster),
            loses(self.fade, self.watch.late),
            down_to(self.end_of_life, self.rated_ah, self.as_of),
            next_due(self.next_test, self.as_of),
        )

    @property
    def limit_words(self) -> str:
        """What it must still hold, amp-hours first."""
        return limit_words(self.end_of_life, self.rated_ah)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What else must be known beside the answers."""
        return main_findings(self.fade, self.end_of_life)

    @property
    def due(self) -> bool:
        return self.next_test.due is not None and self.next_test.due <= self.as_of


def trend_point(test: Discharge, result: Result) -> TrendPoint:
    """Where a test stands on the trend; its day is UTC with its fraction."""
    start = test.details.started_at
    return TrendPoint(
        day=start.toordinal() + since_midnight_s(start) / SECONDS_PER_DAY,
        capacity_ah=result.capacity_ah,
        standard_ah=result.budget.standard_ah,
        independent_ah=result.budget.independent_ah,
        kind=result.kind,
        discharge_id=test.id,
        meter_id=test.details.meter_id,
        left_out=bool(test.details.left_out_reason),
        rate_ah=result.budget.rate_ah,
    )


def battery_report(
    battery: Battery,
    tests: Sequence[tuple[Discharge, Result]],
    events: Sequence[Event],
    as_of: date,
    lives: UseAndClimate = UNKNOWN,
) -> BatteryReport:
    """Build the report from the stored tests and their results, in any order.

    lives says how the battery lives: the projection takes it into account.
    """
    about = battery.details
    in_order = sorted(tests, key=lambda pair: pair[0].details.started_at)
    points = tuple(
        trend_point(test, result)
        for test, result in in_order
        if result.kind is not EvidenceKind.UNUSABLE
    )
    fade, end, watched = _trend(
        points, tuple(_conditions(in_order).items()), battery.details, as_of, lives
    )
    measured = [
        test
        for test, result in in_order
        if result.kind is EvidenceKind.MEASURED and not test.details.left_out_reason
    ]
    newest = measured or [test for test, _ in in_order]
    last = newest[-1].details.started_local.date() if newest else None
    return BatteryReport(
        id=battery.id,
        name=about.name,
        chemistry=about.chemistry.label,
        nominal_v=about.nominal_v,
        rated_ah=about.rated_ah,
        rated_hours=about.rated_hours,
        rated_temperature_c=about.rated_temperature_c,
        in_service_since=about.in_service_since,
        reserve_share=about.reserve_share,
        threshold_words=about.threshold.words,
        as_of=as_of,
        tests=tuple(
            _summary(test, result, about.rated_ah, fade.odd_discharge_ids)
            for test, result in in_order
        ),
        points=points,
        fade=fade,
        end_of_life=end,
        watch=watched,
        next_test=next_test(about, last, points, fade, end),
        events=tuple(sorted(events, key=lambda event: event.on_date)),
        lives=lives,
    )


@lru_cache(maxsize=512)
def _trend(
    points: tuple[TrendPoint, ...],
    conditions: tuple[tuple[int, Conditions], ...],
    about: BatteryDetails,
    as_of: date,
    lives: UseAndClimate,
) -> tuple[Fade, EndOfLife, NewestTestCheck]:
    """Everything the trend says. Pages ask for the same trend again and again."""
    fade = fit_fade(points, about.rated_ah, about.test_interval_days)
    new = None
    if about.in_service_since is not None and points:
        new = new_battery(about.in_service_since, about.rated_ah, points[0].day)
    end = project_end(points, fade, about.threshold, as_of, about.chemistry, new, lives)
    watched = watch(points, dict(conditions), about.chemistry, lives, _projected(points, end))
    return fade, end, watched


def _projected(points: Sequence[TrendPoint], end: EndOfLife) -> float | None:
    """What the projection loses in the year after the newest test, in Ah, where a date is shown."""
    if not points or not end.fan or end.waits or end.outcome is ProjectionOutcome.ALREADY_BELOW:
        return None
    return middle_loss_ah_a_year(max(p.day for p in points), end)


def _conditions(tests: Sequence[tuple[Discharge, Result]]) -> dict[int, Conditions]:
    return {
        test.id: Conditions(
            result.temperature_c,
            result.delivered.mean_current_a,
            test.details.charge_condition is ChargeCondition.FULL_RESTED,
            test.details.meter_id,
        )
        for test, result in tests
    }


def _proven(result: Result) -> float:
    """The capacity where it was measured, else what is certain at the least."""
    return result.capacity_ah if result.kind is EvidenceKind.MEASURED else result.lower_ah


def _summary(test: Discharge, result: Result, rated_ah: float, odd: tuple[int, ...]) -> TestSummary:
    details, delivered = test.details, result.delivered
    return TestSummary(
        id=test.id,
        started_at=details.started_local,
        kind=result.kind,
        capacity_ah=result.capacity_ah,
        expanded_ah=result.budget.expanded_ah,
        lower_ah=result.lower_ah,
        share_of_rated=_proven(result) / rated_ah,
        mean_current_a=delivered.mean_current_a,
        duration_h=delivered.duration_h,
        temperature_c=result.temperature_c,
        end_reason=details.end_reason.label,
        charge_condition=details.charge_condition.label,
        load=details.load,
        caveats=sum(1 for caveat in result.caveats if not caveat.minor),
        left_out_reason=details.left_out_reason,
        odd=test.id in odd,
        only_result=details.is_only_result,
        corrected=tuple(c.label for c in result.corrections if c.applied and c.factor != 1),
    )
