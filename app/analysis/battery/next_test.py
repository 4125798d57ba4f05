"""When the next capacity test is due, and what for."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from app.analysis.battery.max_test_interval import MAX_YEARS, longest_interval
from app.analysis.fade.fade import Fade
from app.analysis.fade.fade_line import MIN_DAYS, own_variance, shared_errors
from app.analysis.fade.fade_power import POWER, found_between_two, smallest_fade
from app.analysis.fade.trend_point import TrendPoint
from app.analysis.projection.end_of_life import EndOfLife, counting_tests
from app.domain.entities.battery import BatteryDetails
from app.domain.finding import EvidenceKind
from app.domain.i18n.message import say, transformed
from app.domain.i18n.message_as_data import kept_by_name
from app.domain.units.time_units import DAYS_PER_YEAR

DECISIVE = (0.9, 0.5)
FURTHEST_DAYS = 3653


@dataclass(frozen=True)
class TestReason:
    """One thing that asks for a test, and by which day."""

    __test__ = False

    code: str
    on_date: date
    words: str


@dataclass(frozen=True)
class NextTest:
    """due is the earliest of the reasons, which stand by their days; None before any test.

    latest is the day after which published practice would call it overdue.
    """

    due: date | None
    words: str
    latest: date | None
    reasons: tuple[TestReason, ...]


def next_test(
    about: BatteryDetails,
    last_test: date | None,
    points: Sequence[TrendPoint],
    fade: Fade,
    end: EndOfLife,
) -> NextTest:
    """The earliest of: the owner's interval, published practice, what a test could decide or show.

    last_test is the day of the newest test that measured, as the owner dates it, else of the newest
    of any kind: a lower bound is no measurement and puts off nothing.
    """
    if last_test is None:
        return NextTest(None, say("There is no test yet: the first one is due now."), None, ())
    measured = sorted(
        (p for p in counting_tests(points) if p.kind is EvidenceKind.MEASURED), key=lambda p: p.day
    )
    rule = _rule(about, measured, end)
    found = [_owner(about, last_test), rule]
    if measured:
        found += [_decision(last_test, end), _visible(measured, fade, end)]
    found.append(_warranty(about, measured))
    reasons = sorted((one for one in found if one is not None), key=lambda one: one.on_date)
    first = reasons[0]
    words = transformed(first.words, _as_sentence)
    return NextTest(first.on_date, words, None if rule is None else rule.on_date, tuple(reasons))


@kept_by_name
def _as_sentence(words: str) -> str:
    return f"{words[0].upper()}{words[1:]}."


def _owner(about: BatteryDetails, last_test: date) -> TestReason:
    days = about.test_interval_days
    words = say("you test it every {days} days", days=days)
    return TestReason("owner", last_test + timedelta(days=days), words)


def _rule(
    about: BatteryDetails, measured: Sequence[TrendPoint], end: EndOfLife
) -> TestReason | None:
    """Published practice counts from the last test that measured the capacity."""
    begun = about.in_service_since
    if not measured:
        if begun is None:
            return None
        words = say(
            "no test has measured its capacity yet; published practice asks for one within two "
            "years"
        )
        return TestReason("rule", _after(begun, MAX_YEARS), words)
    newest = measured[-1]
    start = min(measured[0].day, math.inf if begun is None else begun.toordinal())
    rule = longest_interval(
        newest.capacity_ah / about.rated_ah,
        measured[-2].capacity_ah / about.rated_ah if len(measured) > 1 else None,
        (newest.day - start) / DAYS_PER_YEAR,
        None if end.p50 is None else (end.p50.toordinal() - start) / DAYS_PER_YEAR,
    )
    words = say("published practice asks for a test by then: {reason}", reason=rule.words)
    return TestReason("rule", _after(date.fromordinal(int(newest.day)), rule.years), words)


def _decision(last_test: date, end: EndOfLife) -> TestReason | None:
    """The day on which the answer to "does it still hold enough" changes, as it looks now."""
    now = end.chance_on(last_test)
    if now is None:
        return None
    level = next((one for one in DECISIVE if now > one), None)
    if level is None:
        return None
    if all(p.chance_above >= level for p in end.chances):
        return None
    days = [p.on_date.toordinal() for p in end.chances]
    chances = [-p.chance_above for p in end.chances]
    day = float(np.interp(-level, chances, days))
    soonest = last_test.toordinal() + MIN_DAYS
    words = say(
        "the chance that it still holds {threshold} falls to {chance:.0f} %; a test then tells "
        "more than an earlier one",
        threshold=end.threshold.words,
        chance=level * 100,
    )
    return TestReason("decision", date.fromordinal(math.ceil(max(day, soonest))), words)


def _visible(measured: Sequence[TrendPoint], fade: Fade, end: EndOfLife) -> TestReason | None:
    """The day from which one more test can show what the battery loses; earlier it shows nothing.

    Where no fade is proven: when a line through all tests would find the fade that is expected.
    Else, or with one test: when the loss is what two tests can tell apart.
    """
    newest = measured[-1]
    loss = expected_loss_ah_a_year(newest.day, fade, end)
    if loss is None or loss <= 0:
        return None
    if fade.line is not None and not fade.significant:
        days = _days_until_found(measured, fade, loss)
        words = say(
            "from then on, one more test has a {power:.0f} % chance of showing the expected fade "
            "of {loss_ah:.2g} Ah a year",
            loss_ah=loss,
            power=POWER * 100,
        )
    else:
        apart = found_between_two(math.hypot(newest.independent_ah, fade.scatter_ah or 0.0))
        days = DAYS_PER_YEAR * apart / loss
        words = say(
            "by then it is expected to have lost {apart_ah:.2g} Ah, the difference that two such "
            "tests can tell apart (at the expected {loss_ah:.2g} Ah a year)",
            apart_ah=apart,
            loss_ah=loss,
        )
    if days is None or days > FURTHEST_DAYS:
        return None
    return TestReason(
        "visible", _after(date.fromordinal(int(newest.day)), days / DAYS_PER_YEAR), words
    )


def expected_loss_ah_a_year(day: float, fade: Fade, end: EndOfLife) -> float | None:
    """What the middle of the projection loses in the year after a day; else the fade so far."""
    projected = middle_loss_ah_a_year(day, end)
    if projected is not None:
        return projected
    if fade.rate_percent_per_year is None or fade.reference_ah is None:
        return None
    return fade.rate_percent_per_year / 100 * fade.reference_ah


def middle_loss_ah_a_year(day: float, end: EndOfLife) -> float | None:
    """What the middle of the projection loses in the year after a day, where it reaches so far."""
    if not end.fan or end.fan[-1].on_date.toordinal() < day + DAYS_PER_YEAR:
        return None
    days = [p.on_date.toordinal() for p in end.fan]
    here, there = np.interp([day, day + DAYS_PER_YEAR], days, [p.p50 for p in end.fan])
    return float(here - there)


def _days_until_found(
    measured: Sequence[TrendPoint], fade: Fade, loss_ah_a_year: float
) -> float | None:
    """Days after the newest test until one more finds that loss; None where it never does."""
    days = np.array([p.day for p in measured])
    variance = own_variance(measured) + (fade.scatter_ah or 0.0) ** 2
    shared = shared_errors(measured)

    def found(after: float) -> bool:
        smallest = smallest_fade(days, variance, shared, days[-1:] + after)
        return smallest is not None and smallest * DAYS_PER_YEAR <= loss_ah_a_year

    low, high = MIN_DAYS, float(FURTHEST_DAYS)
    if not found(high):
        return None
    if found(low):
        return low
    while high - low > 1:
        middle = (low + high) / 2
        low, high = (low, middle) if found(middle) else (middle, high)
    return high


def _warranty(about: BatteryDetails, measured: Sequence[TrendPoint]) -> TestReason | None:
    """The last quarter before the warranty ends, until a test has measured within it."""
    terms = about.warranty
    start, end = terms.last_quarter_from, terms.ends_on
    if start is None or end is None or terms.share is None:
        return None
    if measured and measured[-1].day >= start.toordinal():
        return None
    words = say("the last quarter of the warranty begins; it ends on {last_day}", last_day=end)
    return TestReason("warranty", start, words)


def _after(day: date, years: float) -> date:
    return day + timedelta(days=math.floor(years * DAYS_PER_YEAR))
