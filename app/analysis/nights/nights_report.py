"""On the road: nights without charging, now, in a cold week and at a date, and until when."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from app.analysis.battery.battery_report import BatteryReport
from app.analysis.battery.capacity_forecast import (
    Basis,
    CapacityForecast,
    capacity_ahead,
    last_day_known,
)
from app.analysis.nights.cold_derating import ColdShare, cold_share, may_charge
from app.analysis.nights.nights import DayUse, Nights, nights_of, usable
from app.analysis.nights.nights_end import NightsEnd, nights_ends
from app.analysis.nights.parallel_batteries import BatteryCapacity
from app.analysis.nights.scenarios import Scenario, check_day, pair_situations, situations_of
from app.analysis.nights.use_cases import UseCase, cases_of
from app.analysis.projection.end_of_life import counting_tests
from app.domain.entities.battery import Battery, BatteryDetails
from app.domain.errors import InvalidInput
from app.domain.i18n.marks import N_plural
from app.domain.i18n.message import Celsius, joined, say, say_plural, written_day
from app.domain.units.rounding import rounded_down

YEARS_DRAWN = 10
STEPS_A_YEAR = 4
DAYS_PER_QUARTER = 91.3125
HORIZON_STEPS = 30 * STEPS_A_YEAR
_FROM_TESTS = N_plural(
    "From {count} measured capacity test and how published cells aged. “9 in 10” covers the "
    "capacity alone; Fadeline takes your use and charging as you typed them.",
    "From {count} measured capacity tests and how published cells aged. “9 in 10” covers the "
    "capacity alone; Fadeline takes your use and charging as you typed them.",
)


@dataclass(frozen=True)
class RoadWish:
    """What the owner asks: a day, how many nights it must do, a second battery beside it."""

    on_date: date | None = None
    nights: float | None = None


@dataclass(frozen=True)
class RoadReport:
    """Everything the page “On the road” shows. Amp-hours a day as the owner gave them.

    typed_ah is the sum that was typed, appliances_ah that of the appliances; use_ah the one that
    counts. course holds the nights over the coming years, empty without a measured test.
    """

    id: int
    name: str
    as_of: date
    rated_ah: float
    reserve_share: float
    typed_ah: float | None
    appliances_ah: float | None
    use_ah: float | None
    charge_ah: float
    wanted_nights: float | None
    basis: Basis
    basis_words: str
    cold_words: str
    situations: tuple[Scenario, ...]
    ends: tuple[NightsEnd, ...]
    course: tuple[Nights, ...]
    pair_name: str
    pair: tuple[Scenario, ...]
    last_day: date | None

    @property
    def now(self) -> Nights | None:
        return self.situations[0].nights if self.situations else None


def road_report(
    battery: Battery,
    report: BatteryReport,
    wish: RoadWish,
    beside: tuple[Battery, BatteryReport] | None = None,
) -> RoadReport:
    """Raises InvalidInput for a day that cannot be judged, also today where the clock is before the
    first test, and for a pair that must not be joined."""
    about = battery.details
    report = _not_before_first(report)
    last_day = last_day_known(report.points)
    check_day(wish.on_date, report.as_of, last_day)
    wanted = wish.nights or about.nights or _sure(about, report)
    days = days_ahead(report.as_of, last_day)
    asked = (report.as_of, *days, *((wish.on_date,) if wish.on_date else ()))
    cold = None if about.cold_week_c is None else cold_share(about, about.cold_week_c)
    cases = cases_of(about, report, asked, wanted)
    ahead = cases[0].side.ahead if cases else capacity_ahead(about, report, asked)
    tested = bool(cases) and ahead.basis is Basis.TESTS
    pair: tuple[Scenario, ...] = ()
    if beside is not None:
        pair = pair_situations(
            BatteryCapacity(about, ahead, cold), beside, report.as_of, wish.on_date
        )
    return RoadReport(
        id=battery.id,
        name=about.name,
        as_of=report.as_of,
        rated_ah=about.rated_ah,
        reserve_share=about.reserve_share,
        typed_ah=about.daily_use_ah,
        appliances_ah=appliances_ah(about),
        use_ah=about.use_ah_a_day,
        charge_ah=about.charge_ah_a_day or 0.0,
        wanted_nights=wanted,
        basis=ahead.basis,
        basis_words=_basis_words(ahead, report),
        cold_words=_cold_words(about, cold),
        situations=situations_of(cases, cold, report.as_of, wish.on_date),
        ends=nights_ends(cases, days, wanted) if tested and wanted is not None else (),
        course=_course(cases[0], report.as_of, days) if tested else (),
        pair_name="" if beside is None else beside[0].details.name,
        pair=pair,
        last_day=last_day,
    )


def _not_before_first(report: BatteryReport) -> BatteryReport:
    """The report as of the first test at the earliest.

    Raises InvalidInput for a clock that is wrong.

    A test may be dated a day ahead of this machine: its place has a clock of its own.
    """
    days = [point.day for point in counting_tests(report.points)]
    first = date.fromordinal(int(min(days))) if days else report.as_of
    if first - report.as_of > timedelta(days=1):
        allowed = say(
            "{first}, the day of the first test, or later; set the clock of this machine, or "
            "correct the date of the test",
            first=first,
        )
        raise InvalidInput.because(say("today’s date"), written_day(report.as_of), allowed)
    return replace(report, as_of=max(first, report.as_of))


def appliances_ah(about: BatteryDetails) -> float | None:
    """What the appliances draw in a day; None where none is listed."""
    if not about.appliances:
        return None
    return sum(one.ah_a_day(about.nominal_v) for one in about.appliances)


def days_ahead(as_of: date, last_day: date | None) -> tuple[date, ...]:
    """Today, every quarter of the coming ten years and every year after, as far as is known."""
    if last_day is None:
        return ()
    quarters = range(YEARS_DRAWN * STEPS_A_YEAR + 1)
    years = range(len(quarters) + STEPS_A_YEAR - 1, HORIZON_STEPS, STEPS_A_YEAR)
    steps = (as_of.toordinal() + round(step * DAYS_PER_QUARTER) for step in (*quarters, *years))
    known = [date.fromordinal(day) for day in steps if day < last_day.toordinal()]
    return (*known, last_day) if last_day > as_of else (as_of,)


def _course(case: UseCase, as_of: date, days: Sequence[date]) -> tuple[Nights, ...]:
    """The coming ten years, which are drawn."""
    until = as_of.toordinal() + YEARS_DRAWN * STEPS_A_YEAR * DAYS_PER_QUARTER + 1
    return tuple(case.nights_on(day) for day in days if day.toordinal() <= until)


def _sure(about: BatteryDetails, report: BatteryReport) -> float | None:
    """Without a wish: as many nights as can be counted on today; None where there is not one."""
    if about.use_ah_a_day is None:
        return None
    ahead = capacity_ahead(about, report, (report.as_of,))
    amount = usable(ahead, about, report.as_of)
    sure = nights_of(amount, DayUse(about.use_ah_a_day), ahead.basis, report.as_of).sure
    return float(sure) if sure else None


def _basis_words(ahead: CapacityForecast, report: BatteryReport) -> str:
    if ahead.basis is Basis.TESTS:
        return say_plural(*_FROM_TESTS, report.fade.measured)
    if ahead.basis is Basis.AT_LEAST and ahead.bound_on is not None:
        return say(
            "Test it down to empty: all we know is that it held at least {bound_ah:.0f} Ah on "
            "{day}, not what it holds later.",
            bound_ah=rounded_down(ahead.bound_ah or 0.0, 0),
            day=ahead.bound_on,
        )
    return say(
        "Test it: so far this is only what the label’s {rated_ah:g} Ah promises; nobody has "
        "measured it.",
        rated_ah=report.rated_ah,
    )


def _cold_words(about: BatteryDetails, cold: ColdShare | None) -> str:
    if cold is None:
        return ""
    if not about.charge_ah_a_day or may_charge(about.chemistry, cold.temperature_c):
        return cold.words
    never = say(
        "A lithium battery must not be charged below {cold:g}: no charging is counted then.",
        cold=Celsius(0),
    )
    return joined(" ", (cold.words, never))
