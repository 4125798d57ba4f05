from dataclasses import replace
from datetime import date, timedelta

import pytest
from scipy import stats

from app.analysis.battery.next_test import expected_loss_ah_a_year, next_test
from app.analysis.projection.end_of_life import ChancePoint
from tests.records import TODAY, battery, record, report_of, stopped

FADING = (100.0, 98.0, 96.0, 94.0, 92.5)
LAST = TODAY - timedelta(days=10)


def due(capacities=FADING, every=180, **changes):
    of = battery(**({"test_interval_days": 3650} | changes))
    return report_of(of, record(of, capacities, every=every)).next_test


def reason(found, code):
    return next((one for one in found.reasons if one.code == code), None)


def test_the_earliest_reason_decides_and_all_stand_by_their_days():
    found = due()
    days = [one.on_date for one in found.reasons]
    assert days == sorted(days)
    assert found.due == days[0]
    assert {one.code for one in found.reasons} >= {"owner", "rule", "decision", "visible"}


def test_an_owner_who_tests_sooner_is_followed():
    found = due(test_interval_days=5)
    assert found.due == LAST + timedelta(days=5)
    assert found.words == "You test it every 5 days."


@pytest.mark.parametrize("capacities", [(100.0,), FADING, (100.0, 84.0), (103.0, 102.0, 103.0)])
@pytest.mark.parametrize("interval", [5, 91, 3650])
def test_it_is_never_later_than_published_practice(capacities, interval):
    found = due(capacities, test_interval_days=interval)
    assert found.due <= found.latest <= LAST + timedelta(days=731)


def test_a_degraded_battery_is_tested_within_a_year():
    assert due((100.0, 96.0, 89.0)).latest == LAST + timedelta(days=365)


def test_a_drop_of_more_than_a_tenth_asks_it_too():
    found = due((105.0, 93.0))
    assert found.latest == LAST + timedelta(days=365)
    assert "lost more than 10 %" in reason(found, "rule").words


def test_a_sound_battery_within_a_quarter_of_its_life_or_two_years():
    of = battery(test_interval_days=3650)
    report = report_of(of, record(of, (100.0, 99.5)))
    first = date.fromordinal(int(report.points[0].day))
    quarter = (report.end_of_life.p50 - first).days / 4
    waited = (report.next_test.latest - LAST).days
    assert waited == pytest.approx(min(quarter, 730.5), abs=1.5)


def test_the_day_that_decides_is_where_the_chance_falls():
    of = battery(test_interval_days=3650)
    report = report_of(of, record(of, FADING))
    one = reason(report.next_test, "decision")
    assert "falls to 90 %" in one.words
    assert report.end_of_life.chance_on(one.on_date) == pytest.approx(0.9, abs=0.01)


def test_below_the_threshold_no_day_decides_any_more():
    assert reason(due((100.0, 90.0, 80.0, 70.0)), "decision") is None


def test_a_proven_fade_is_seen_again_when_two_tests_tell_the_loss():
    of = battery(test_interval_days=3650)
    tests = record(of, FADING)
    report = report_of(of, tests)
    assert report.fade.significant
    loss = expected_loss_ah_a_year(report.points[-1].day, report.fade, report.end_of_life)
    own = (tests[-1][1].budget.independent_ah ** 2 + report.fade.scatter_ah**2) ** 0.5
    apart = (stats.norm.ppf(0.975) + stats.norm.ppf(0.8)) * 2**0.5 * own
    days = (reason(report.next_test, "visible").on_date - LAST).days
    assert days == pytest.approx(365.25 * apart / loss, abs=1.5)


def test_an_unproven_fade_is_seen_later_the_slower_it_is():
    quick, slow = due((100.0, 99.0, 98.2)), due((100.0, 99.9, 99.8))
    assert reason(quick, "visible").on_date < reason(slow, "visible").on_date


def seen_from(own_ah, scatter_ah, *, proven):
    """Days until a further test shows 2 Ah a year, of tests as sure as that of their own."""
    of = battery(test_interval_days=3650)
    report = report_of(of, record(of, FADING))
    tests = [replace(p, standard_ah=own_ah, independent_ah=own_ah) for p in report.points]
    fade = replace(
        report.fade,
        scatter_ah=scatter_ah,
        significant=proven,
        rate_percent_per_year=2.0,
        reference_ah=100.0,
    )
    end = replace(report.end_of_life, fan=())
    return (reason(next_test(of.details, LAST, tests, fade, end), "visible").on_date - LAST).days


def test_the_scatter_between_tests_puts_off_what_two_of_them_tell_apart():
    # (1.960 + 0.842) × sqrt(2) × sqrt(0.3² + 0.4²) = 1.981 Ah at 2 Ah a year: 361.8 days.
    assert seen_from(0.3, 0.4, proven=True) == 361
    # Without scatter 3.962 × 0.3 = 1.189 Ah: 217.1 days.
    assert seen_from(0.3, 0.0, proven=True) == 217


def test_the_scatter_between_tests_puts_off_the_day_that_shows_a_fade():
    # 1.5 and 2.0 Ah beside each other are 2.5 Ah: sqrt(2.25 + 4) = sqrt(6.25).
    assert seen_from(1.5, 2.0, proven=False) == seen_from(2.5, 0.0, proven=False)
    assert seen_from(1.5, 2.0, proven=False) > seen_from(1.5, 0.0, proven=False) + 30


@pytest.mark.parametrize(("falls_after", "waited"), [(10, 30), (29, 30), (40, 40)])
def test_a_decision_waits_a_month_after_the_newest_test(falls_after, waited):
    # From 95 to 85 % in twice so many days: 90 % lies in the middle of them. Two tests within
    # 30 days tell their scatter and no fade.
    of = battery(test_interval_days=3650)
    report = report_of(of, record(of, FADING))
    chances = (
        ChancePoint(LAST, 0.95),
        ChancePoint(LAST + timedelta(days=2 * falls_after), 0.85),
    )
    end = replace(report.end_of_life, chances=chances)
    found = next_test(of.details, LAST, report.points, report.fade, end)
    assert reason(found, "decision").on_date == LAST + timedelta(days=waited)


@pytest.mark.parametrize(("begins", "asked"), [(15, False), (16, True)])
def test_a_test_on_the_first_day_of_the_last_quarter_lies_within_it(begins, asked):
    # The newest test is of 15 November 2026; five years end three months later.
    terms = {"warranty_share": 0.8, "warranty_years": 5.0}
    found = reason(due(**terms, warranty_from=date(2022, 2, begins)), "warranty")
    assert (found is not None) is asked


def test_the_last_quarter_of_the_warranty_asks_once():
    terms = {"warranty_share": 0.8, "warranty_from": date(2022, 1, 20), "warranty_years": 5.0}
    # The newest test is of 15 November 2026: within the last quarter, and before it.
    assert reason(due(**terms), "warranty") is None
    later = due(**terms | {"warranty_from": date(2022, 3, 20)})
    assert reason(later, "warranty").on_date == date(2026, 12, 20)


def test_without_any_test_the_first_is_due_now():
    of = battery()
    found = report_of(of, []).next_test
    assert (found.due, found.latest, found.reasons) == (None, None, ())
    assert "due now" in found.words


def test_a_lower_bound_does_not_put_off_the_first_measurement():
    of = battery(test_interval_days=3650, in_service_since=date(2025, 12, 1))
    found = report_of(of, stopped(of, 60.0)).next_test
    assert found.latest == date(2027, 12, 1)
    assert "no test has measured its capacity" in reason(found, "rule").words


def test_a_bound_alone_without_a_day_in_service_follows_the_owner():
    of = battery(test_interval_days=91)
    found = report_of(of, stopped(of, 60.0)).next_test
    assert found.due == LAST + timedelta(days=91)
    assert found.latest is None


def test_a_warranty_that_promises_no_share_asks_for_no_test():
    terms = {"warranty_from": date(2022, 3, 20), "warranty_years": 5.0}
    assert reason(due(**terms), "warranty") is None
    assert reason(due(**terms, warranty_share=0.8), "warranty") is not None


def test_a_lower_bound_puts_the_owner_s_next_test_off_by_nothing():
    """The newest measured test is of 190 days ago; what came after it measured nothing."""
    of = battery(test_interval_days=91)
    tests = record(of, (100.0, 99.0), last_days_ago=190)
    (late,) = stopped(of, 63.0, days_ago=10)
    found = report_of(of, [*tests, (replace(late[0], id=9), *late[1:])]).next_test
    assert reason(found, "owner").on_date == TODAY - timedelta(days=190 - 91)
    assert found.due <= TODAY
    alone = report_of(of, [late]).next_test
    assert reason(alone, "owner").on_date == LAST + timedelta(days=91)
