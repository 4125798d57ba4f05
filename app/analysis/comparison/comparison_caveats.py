"""What a comparison of rates of fade cannot tell, and what was unlike between the sides."""

from collections.abc import Sequence

from app.analysis.battery.battery_report import BatteryReport
from app.analysis.comparison.comparison import measured
from app.analysis.comparison.comparison_side import ComparedSide
from app.analysis.comparison.overlaid_curves import ALIKE_K, ALIKE_LOAD
from app.analysis.fade.trend_point import TrendPoint
from app.domain.finding import Finding
from app.domain.i18n.message import CelsiusRange, say, say_plural
from app.domain.units.time_units import DAYS_PER_YEAR

UNLIKE_AGES_YEARS = 1.0


def battery_caveats(
    reports: Sequence[BatteryReport], sides: Sequence[ComparedSide]
) -> tuple[Finding, ...]:
    """Of two batteries or more."""
    found = [
        Finding(
            "not_why",
            say(
                "This says which one fades faster, not why: make, age, use, charging and heat "
                "differ, and a comparison cannot tell them apart."
            ),
        )
    ]
    if len({one.chemistry for one in sides}) > 1:
        text = say("Their chemistries differ, which age differently even side by side.")
        found.append(Finding("chemistries", text))
    ages = [age for one in reports if (age := _middle_age(one)) is not None]
    if ages and max(ages) - min(ages) > UNLIKE_AGES_YEARS:
        text = say(
            "They were tested at different ages. Fade slows down with age in published tests, so "
            "the younger one may look faster though nothing is wrong with it."
        )
        found.append(Finding("ages", text))
    if len({one.rated_ah for one in sides}) > 1:
        text = say("Their sizes differ: rates are in % of each one's own rated capacity.")
        found.append(Finding("sizes", text, minor=True))
    return (*found, *_of_tests([one.points for one in reports], sides))


def move_caveats(
    points: Sequence[Sequence[TrendPoint]], sides: Sequence[ComparedSide]
) -> tuple[Finding, ...]:
    """Of one battery before and after a move; points are those before and those after."""
    found = [
        Finding(
            "not_why",
            say(
                "This says whether the rate changed at that date, not why. Season, use and "
                "charging may have changed as well."
            ),
        ),
        Finding(
            "older",
            say(
                "After the move the battery is older. Fade slows down with age in published "
                "tests, so a somewhat slower fade is to be expected without any move, and a "
                "faster one says more than its size."
            ),
        ),
        Finding(
            "day_of_move", say("A test on the day of the move counts as before it."), minor=True
        ),
    ]
    return (*found, *_of_tests(points, sides))


def _of_tests(
    points: Sequence[Sequence[TrendPoint]], sides: Sequence[ComparedSide]
) -> list[Finding]:
    found = []
    warm = [one.mean_temperature_c for one in sides if one.mean_temperature_c is not None]
    if warm and max(warm) - min(warm) > ALIKE_K:
        text = say(
            "The tests were not equally warm: {range:.0f} on average. "
            "A steady difference does not change a rate; one that grew from test to test does.",
            range=CelsiusRange(min(warm), max(warm)),
        )
        found.append(Finding("temperatures", text))
    loads = [one.mean_c_rate for one in sides if one.mean_c_rate is not None]
    if loads and max(loads) > ALIKE_LOAD * min(loads):
        text = say(
            "The loads were not alike: {lightest:.2f} to {heaviest:.2f} of the rated capacity "
            "per hour on average.",
            lightest=min(loads),
            heaviest=max(loads),
        )
        found.append(Finding("loads", text))
    meters = [frozenset(p.meter_id for p in measured(own)) for own in points]
    if len({one for one in meters if one}) > 1:
        text = say(
            "They were tested with different meters. The rates count how far a meter may be off, "
            "which is a small share of them; the heights of the lines may differ by it."
        )
        found.append(Finding("meters", text, minor=True))
    if any(one.measured == 2 and one.rate_percent_per_year is not None for one in sides):
        text = say("Two tests of a side only: its interval rests on their stated uncertainties.")
        found.append(Finding("two_tests", text))
    bounds = sum(one.lower_bounds for one in sides)
    if bounds:
        text = say_plural(
            "1 test gave a lower bound only; it does not count here, as it says nothing against "
            "another battery.",
            "{count} tests gave lower bounds only; these do not count here, as they say nothing "
            "against another battery.",
            bounds,
        )
        found.append(Finding("lower_bounds", text, minor=True))
    return found


def _middle_age(report: BatteryReport) -> float | None:
    """Years in service, or since the first test, at the middle of the measured tests."""
    own = measured(report.points)
    if not own:
        return None
    start = report.in_service_since
    zero = report.points[0].day if start is None else float(start.toordinal())
    return ((own[0].day + own[-1].day) / 2 - zero) / DAYS_PER_YEAR
