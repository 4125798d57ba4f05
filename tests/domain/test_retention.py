from datetime import UTC, datetime, timedelta
from itertools import pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

from app.domain.records.retention import kept

NOW = datetime(2026, 11, 25, 10, 15, tzinfo=UTC)
moments = st.sets(
    st.integers(-3 * 24 * 60, 3 * 366 * 24 * 60).map(
        lambda minutes: NOW - timedelta(minutes=minutes)
    ),
    max_size=120,
)
many = settings(max_examples=200, derandomize=True)


def ages(days, found):
    return {moment for moment in found if NOW - moment <= timedelta(days=days)}


@many
@given(moments)
def test_the_newest_is_never_dropped_and_nothing_is_made_up(given_moments):
    keep = kept(given_moments, NOW)
    assert keep <= given_moments
    past = [moment for moment in given_moments if moment <= NOW]
    if past:
        assert max(past) in keep


@many
@given(moments)
def test_all_of_the_last_day_and_all_ahead_of_the_clock_are_kept(given_moments):
    assert ages(1, given_moments) <= kept(given_moments, NOW)


@many
@given(moments)
def test_each_bucket_keeps_exactly_one(given_moments):
    keep = kept(given_moments, NOW)
    tiers = (
        (1, 7, lambda m: m.date()),
        (7, 61, lambda m: m.isocalendar()[:2]),
        (61, 731, lambda m: (m.year, m.month)),
    )
    newest = max((m for m in given_moments if m <= NOW), default=None)
    for low, high, bucket in tiers:
        there = ages(high, given_moments) - ages(low, given_moments)
        left = [bucket(m) for m in there & keep if m != newest]
        assert len(left) == len(set(left)), "no bucket keeps two"
        assert {bucket(m) for m in there} == {bucket(m) for m in there & keep}, "nor none"


@many
@given(moments)
def test_what_is_older_than_two_years_goes_unless_it_is_the_newest(given_moments):
    old = given_moments - ages(731, given_moments)
    assert kept(given_moments, NOW) & old <= {max(given_moments, default=None)}


@many
@given(moments)
def test_thinning_twice_drops_nothing_more(given_moments):
    once = kept(given_moments, NOW)
    assert kept(once, NOW) == once


def test_two_and_a_half_years_of_daily_thinning_leave_every_month_and_week():
    """Kept by today's distance, a week's last backup could be dropped before its month has one."""
    there: set[datetime] = set()
    for number in range(913):
        now = NOW + timedelta(days=number, minutes=number % 50)
        there = set(kept({*there, now}, now))
        assert now in there
    assert len(there) < 45
    month = timedelta(days=31)
    monthly = sorted(m for m in there if timedelta(days=61) < now - m)
    assert all(later - earlier <= 2 * month for earlier, later in pairwise(monthly))
    assert len(monthly) >= 22
    weekly = sorted(m for m in there if timedelta(days=7) < now - m <= timedelta(days=61))
    assert len(weekly) >= 7
    assert all((b - a) <= timedelta(days=14) for a, b in pairwise(weekly))
