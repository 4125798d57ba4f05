from datetime import datetime, timedelta, timezone

import pytest

from app.analysis.battery.expected_capacity import ExpectedCapacity
from app.analysis.test_day.plan import plan_test
from app.domain.entities.meter import MeterKind, typical

ZONE = timezone(timedelta(hours=1))
DAY = datetime(2026, 12, 1, 12, 0, tzinfo=ZONE)
GUESS = ExpectedCapacity(90.0, 100.0, 105.0, "")


def planned(current=9.0, kind=MeterKind.SHUNT, guess=GUESS, **more):
    return plan_test(guess, current, 100.0, typical(kind), DAY, **more)


def test_run_times_are_capacity_over_current():
    plan = planned(current=10.0)
    assert (plan.run_low_h, plan.run_middle_h, plan.run_high_h) == (9, 10, 10.5)
    assert plan.c_rate == pytest.approx(0.1)


@pytest.mark.parametrize("current", [7, 9, 12, 20, 50])
def test_the_end_falls_into_waking_hours_where_it_can(current):
    plan = planned(current=current)
    assert plan.ends_awake
    for end in (plan.end_early, plan.end_late):
        assert 7 <= end.hour + end.minute / 60 <= 22


def test_a_run_that_cannot_end_awake_says_so():
    # The end may lie anywhere in forty hours.
    wide = ExpectedCapacity(20.0, 80.0, 100.0, "")
    plan = planned(current=2.0, guess=wide)
    assert not plan.ends_awake


@pytest.mark.parametrize("current", [0.6, 5.0, 6.9])
def test_a_test_longer_than_a_waking_day_never_ends_awake_and_gets_a_load_that_fits(current):
    plan = planned(current=current)
    assert not plan.ends_awake
    assert "longer than you are awake (15 h" in str(plan.words)
    assert "at least 7 A" in str(plan.words)
    assert planned(current=7.0).run_high_h == 15


def test_a_test_can_be_planned_to_end_before_a_time():
    before = DAY.replace(hour=18)
    plan = planned(end_before=before)
    assert plan.end_late <= before
    assert before - plan.end_late < timedelta(minutes=60)


def test_readings_cover_the_longest_run():
    plan = planned()
    assert plan.readings_at[0] == plan.start_at
    assert plan.readings_at[-1] >= plan.end_late


def test_a_better_meter_will_show_a_smaller_loss():
    fine, coarse = planned(kind=MeterKind.LABORATORY), planned(kind=MeterKind.CLAMP)
    assert fine.uncertainty.expanded_ah < coarse.uncertainty.expanded_ah
    assert fine.detectable_percent < coarse.detectable_percent


def test_what_the_meter_finds_between_two_tests_is_four_standard_uncertainties():
    """(1.960 + 0.842) times the root of two: 5 % error, 80 % power, two tests. Of 100 Ah rated."""
    plan = planned()
    assert plan.detectable_percent == pytest.approx(3.962 * plan.uncertainty.independent_ah, 1e-3)


def test_readings_are_due_from_the_start_on_to_the_end_and_none_twice():
    """105 Ah at 9 A last 11 h 40 min: a reading each half hour, the last at or after the end."""
    plan = planned(reading_every_min=30)
    assert len(plan.readings_at) == 25
    assert plan.readings_at[-1] - plan.start_at == timedelta(hours=12)


def test_a_proposed_start_is_a_full_or_half_hour():
    for current in (7, 9, 12, 20, 50):
        start = planned(current=current).start_at
        assert (start.minute % 30, start.second) == (0, 0)


@pytest.mark.parametrize(
    ("start", "awake"),
    [
        # At 10 A the end lies 9 to 10.5 h later: 7:00 to 8:30, a minute less, 20:30 to 22:00, one
        # minute more.
        (DAY.replace(day=2, hour=22), True),
        (DAY.replace(day=2, hour=21, minute=59), False),
        (DAY.replace(hour=11, minute=30), True),
        (DAY.replace(hour=11, minute=31), False),
    ],
)
def test_awake_is_from_7_to_22_both_included(start, awake):
    assert planned(current=10.0, start_at=start).ends_awake is awake


def test_a_start_for_a_set_end_says_that_it_is_kept_even_by_the_most_the_battery_may_hold():
    words = planned(end_before=DAY.replace(hour=18)).words
    assert words == (
        "If you start then, it ends before 18:00, even at the upper end of the range below."
    )
