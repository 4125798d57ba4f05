"""Whether the heat is to blame for a battery's fade, as page, chart and JSON show it."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from app.analysis.ageing.exposure import (
    REFERENCE_C,
    AgeingFactor,
    AgeingRule,
    Exposure,
    ageing_factor,
    ageing_rules,
)
from app.analysis.ageing.loss_models import CALENDAR_FROM_C, CALENDAR_TO_C
from app.analysis.ageing.temperature_history import MonthOfHeat, Stretch, TemperatureHistory
from app.analysis.battery.battery_report import BatteryReport
from app.analysis.heat.heat_caveats import heat_caveats
from app.analysis.heat.heat_share import (
    OUTSIDE_SHARE,
    ExpectedLoss,
    HeatShare,
    Stress,
    expected_loss,
    heat_share,
)
from app.analysis.heat.observed_loss import Period, observed_loss
from app.domain.chemistry import Chemistry
from app.domain.entities.battery import BatteryDetails
from app.domain.finding import Finding
from app.domain.i18n.marks import N_
from app.domain.i18n.message import Celsius, joined, say
from app.domain.temperature_log import HOURS_A_DAY
from app.domain.units.time_units import DAYS_PER_YEAR, HOURS_PER_YEAR

# Less than this share of the time known: no loss is expected from it.
KNOWN_ENOUGH = 0.5
_AGES = N_(
    "At {mean:.1f} on average it ages {slowest:.2f} to {fastest:.2f} times as fast as at 25 °C, "
    "depending on the source: {years:.1f} years here are {low:.1f} to {high:.1f} years at 25 °C."
)
_AGES_AS = N_(
    "At {mean:.1f} on average it ages {slowest:.2f} to {fastest:.2f} times as fast as at 25 °C, "
    "depending on the source: {years:.1f} years here are about {low:.1f} years at 25 °C."
)


@dataclass(frozen=True)
class RuleShown:
    """A published rule: how much faster ten degrees more make it age, and where it is from."""

    per_10_k: float
    source: str


@dataclass(frozen=True)
class StretchOfHeat:
    """One stay: its mean in °C and how fast it aged against 25 °C; None where nothing is known."""

    place: str
    from_day: date
    to_day: date
    mean_c: float | None
    known_share: float
    factor: AgeingFactor | None


@dataclass(frozen=True)
class HeatReport:
    """Time at temperature, what it would explain of the fade, and what was observed.

    from_tests says that no place is known and that the temperatures of the tests stand in.
    hours_by_degree are pairs of °C (lower end of five) and hours. factor is None where nothing is
    known; judged is None where why_not says why. at_25_c is the loss expected of the same time at
    25 °C.
    """

    id: int
    name: str
    from_day: date
    to_day: date
    from_tests: bool
    known_share: float
    logged_share: float
    mean_c: float | None
    factor: AgeingFactor | None
    rules: tuple[RuleShown, ...]
    stretches: tuple[StretchOfHeat, ...]
    months: tuple[MonthOfHeat, ...]
    hours_by_degree: tuple[tuple[float, float], ...]
    period: Period | None
    judged: HeatShare | None
    at_25_c: ExpectedLoss | None
    throughput_ah_a_year: float | None
    why_not: str
    caveats: tuple[Finding, ...]

    @property
    def years(self) -> float:
        return (self.to_day - self.from_day).days / DAYS_PER_YEAR

    @property
    def equivalent_years(self) -> tuple[float, float, float] | None:
        """The years at 25 °C that age as much: low, middle, high."""
        if self.factor is None:
            return None
        return self.factor.equivalent_years(self.years * HOURS_PER_YEAR)

    @property
    def due_to_heat(self) -> tuple[float, float, float] | None:
        """What the warmth above 25 °C takes of the expected loss, in %: low, middle, high.

        A cell that ages twice as fast as others is taken to do so at both temperatures.
        """
        if self.judged is None or self.at_25_c is None:
            return None
        here, there = self.judged.expected, self.at_25_c
        ends = sorted((here.low - there.low, here.high - there.high))
        return ends[0], here.middle - there.middle, ends[1]

    @property
    def words(self) -> str:
        """How fast it aged, in one sentence."""
        if self.mean_c is None:
            return say("Fadeline does not know yet how warm it is where this battery lives.")
        if self.factor is None or self.equivalent_years is None:
            return say(
                "It had {mean:.1f} on average. How fast its chemistry ages with warmth is not "
                "published where we know.",
                mean=Celsius(self.mean_c),
            )
        low, _, high = self.equivalent_years
        # Where a tenth of a year tells them apart it is a range, else one figure.
        one = f"{low:.1f}" == f"{high:.1f}"
        return say(
            _AGES_AS if one else _AGES,
            mean=Celsius(self.mean_c),
            slowest=self.factor.low,
            fastest=self.factor.high,
            years=self.years,
            low=low,
            high=high,
        )


def heat_report(
    battery: BatteryReport,
    about: BatteryDetails,
    history: TemperatureHistory,
    test_hours: Sequence[tuple[float, float]] = (),
) -> HeatReport:
    """Set the observed fade against what time, heat and use would explain.

    test_hours are mean °C and hours of the tests: they stand in where no place is known.
    """
    from_tests = not history.exposure.total_h and bool(test_hours)
    whole = _Life(history, Exposure.of(test_hours) if from_tests else None)
    seen, rules = whole.exposure, ageing_rules(about.chemistry)
    period = observed_loss(battery)
    judged, at_25_c, why_not = _judged(battery, about, whole, period)
    return HeatReport(
        id=battery.id,
        name=battery.name,
        from_day=history.from_day,
        to_day=history.to_day,
        from_tests=from_tests,
        known_share=history.known_share,
        logged_share=history.logged_share,
        mean_c=seen.mean_c if seen.total_h else None,
        factor=_factor(seen, rules),
        rules=tuple(RuleShown(rule.per_10_k, say(rule.source)) for rule in rules),
        stretches=tuple(_stretch(one, rules) for one in history.stretches),
        months=history.months,
        hours_by_degree=history.hours_by_degree(),
        period=period,
        judged=judged,
        at_25_c=at_25_c,
        throughput_ah_a_year=about.throughput_ah_a_year,
        why_not=why_not,
        caveats=heat_caveats(about, history, from_tests, judged),
    )


class _Life:
    """Exposure of any part of the life; a stand-in is taken to hold for all of it."""

    def __init__(self, history: TemperatureHistory, stand_in: Exposure | None) -> None:
        self._history, self._stand_in = history, stand_in

    @property
    def exposure(self) -> Exposure:
        return self._history.exposure if self._stand_in is None else self._stand_in

    def known_share(self, start: date, end: date) -> float:
        hours = (end - start).days * HOURS_A_DAY
        if self._stand_in is not None or not hours:
            return 1.0
        return self._history.between(start, end).total_h / hours

    def lived(self, start: date, end: date) -> Exposure:
        """All hours from start to end; those that are not known are taken to be like the rest."""
        hours = float(max(0, (end - start).days) * HOURS_A_DAY)
        seen = self._history.between(start, end) if self._stand_in is None else self._stand_in
        like = seen if seen.total_h else self.exposure
        return like.lasting(hours)


def _judged(
    battery: BatteryReport, about: BatteryDetails, life: _Life, period: Period | None
) -> tuple[HeatShare | None, ExpectedLoss | None, str]:
    if about.chemistry is not Chemistry.LFP:
        text = say(
            "Published models cover lithium iron phosphate, not {chemistry}: compare it with a "
            "battery that lives in the cool.",
            chemistry=about.chemistry.label,
        )
        return None, None, text
    if period is None:
        text = say("This needs a rate of fade first.")
        return None, None, joined(" ", (text, battery.fade.words))
    if not life.exposure.total_h:
        return None, None, say("Say where the battery lives: no temperature is known so far.")
    known = life.known_share(period.from_day, period.to_day)
    if known < KNOWN_ENOUGH:
        text = say(
            "Bring in more temperatures: of the time between the first and the last test "
            "{percent:.0f} % is known, and it takes half.",
            percent=known * 100,
        )
        return None, None, text
    before, during = _histories(about, life, period)
    expected = expected_loss(before, during, battery.rated_ah)
    cool = expected_loss(_at_25(before), _at_25(during), battery.rated_ah)
    at_edges = expected_loss(_within(before, -math.inf), _within(during), battery.rated_ah)
    lived = before.exposure.plus(during.exposure)
    judged = heat_share(
        expected,
        at_edges,
        period.lost_percent,
        period.standard_percent,
        period.degrees_of_freedom,
        cold_alone=lived.share_outside(-math.inf, CALENDAR_TO_C) <= OUTSIDE_SHARE,
    )
    return judged, cool.loss, ""


def _histories(about: BatteryDetails, life: _Life, period: Period) -> tuple[Stress, Stress]:
    """The life before the first test, and that between the tests."""
    begin = min(about.in_service_since or period.from_day, period.from_day)
    made = []
    for start, end in ((begin, period.from_day), (period.from_day, period.to_day)):
        years = (end - start).days / DAYS_PER_YEAR
        made.append(
            Stress(
                life.lived(start, end),
                (about.throughput_ah_a_year or 0.0) * years,
                about.waits_at_low_share,
                about.waits_at_high_share,
            )
        )
    return made[0], made[1]


def _within(history: Stress, from_c: float = CALENDAR_FROM_C) -> Stress:
    """With the time outside of the models' range as time at its edge.

    Cold before the first test stays as it is: taken for warmer it would have aged the battery more,
    and an aged one loses less, so that the bound would be none.
    """
    return replace(history, exposure=history.exposure.within(from_c, CALENDAR_TO_C))


def _at_25(history: Stress) -> Stress:
    cool = Exposure.of([(REFERENCE_C, history.exposure.total_h)])
    return Stress(cool, history.throughput_ah, history.low_charge, history.high_charge)


def _factor(seen: Exposure, rules: Sequence[AgeingRule]) -> AgeingFactor | None:
    return ageing_factor(seen, rules) if seen.total_h and rules else None


def _stretch(one: Stretch, rules: Sequence[AgeingRule]) -> StretchOfHeat:
    seen = one.exposure
    hours = (one.to_day - one.from_day).days * HOURS_A_DAY
    return StretchOfHeat(
        one.place,
        one.from_day,
        one.to_day,
        seen.mean_c if seen.total_h else None,
        seen.total_h / hours,
        _factor(seen, rules),
    )
