import itertools
import math
from dataclasses import replace
from datetime import date, timedelta

import pytest

from app.analysis.battery.capacity_forecast import Basis, Interval, capacity_ahead, last_day_known
from app.analysis.nights.cold_derating import cold_share
from app.analysis.nights.nights import DayUse, nights_of, threshold_of
from app.analysis.nights.nights_end import NightsEnd
from app.analysis.nights.nights_report import RoadWish, days_ahead, road_report
from app.analysis.projection.end_of_life import new_battery, project_end
from app.analysis.projection.projection import HORIZON_DAYS
from app.domain.appliance import Appliance
from app.domain.chemistry import Chemistry
from app.domain.entities.battery import BatteryDetails
from app.domain.errors import InvalidInput
from app.domain.fields.described_field import described_fields
from app.domain.glossary import BY_KEY
from tests.records import TODAY, battery, record, report_of, stopped

FADING = (100.0, 98.6, 97.1, 95.4, 93.9)
LATER = date(2029, 6, 1)


def asked(capacities=FADING, wish=None, of=None, **changes):
    of = of or battery(**changes)
    tests = record(of, capacities) if capacities else []
    return road_report(of, report_of(of, tests), wish or RoadWish())


def line(report, start):
    return next(one for one in report.situations if one.label.startswith(start))


def test_nights_are_the_usable_amp_hours_over_the_use():
    now = asked().now
    # 93.9 Ah measured, 20 % kept back, 25 Ah a day: by hand.
    assert now.nights.middle == pytest.approx(93.9 * 0.8 / 25, rel=0.02)
    assert now.nights.low < now.nights.middle < now.nights.high
    assert now.nights.middle == pytest.approx(now.usable_ah.middle / 25)


def test_the_reserve_is_a_share_of_what_it_holds_and_says_so_everywhere():
    now = asked().now
    # 20 % of about 93.9 Ah stay, and not 20 Ah of the rated 100.
    assert 93.9 - now.usable_ah.middle == pytest.approx(0.2 * 93.9, abs=0.4)
    recorded = described_fields(BatteryDetails)["reserve_share"].told.description
    for words in (recorded, BY_KEY["reserve"].meaning):
        assert "share of what" in words.lower(), words


def test_the_interval_today_is_as_wide_as_the_tests_are_sure():
    now = asked().now
    tests = record(battery(), FADING)
    relative = tests[-1][1].budget.standard_ah / tests[-1][1].capacity_ah
    half = (now.nights.high - now.nights.low) / 2 / now.nights.middle
    # 90 % of a normal distribution lie within 1.645; five tests with one gain in common.
    assert 0.7 * 1.645 * relative < half < 1.3 * 1.645 * relative


def test_half_the_use_doubles_the_nights():
    whole, half = asked(daily_use_ah=20.0, nights=2), asked(daily_use_ah=10.0, nights=4)
    for name in ("low", "middle", "high"):
        value = getattr(half.now.nights, name)
        assert value == pytest.approx(2 * getattr(whole.now.nights, name))


def test_a_later_day_never_has_more_nights():
    course = [one.nights.middle for one in asked().course]
    assert len(course) == 41
    assert all(after <= before + 1e-9 for before, after in itertools.pairwise(course))


@pytest.mark.parametrize("more", [0.3, 0.5, 0.9])
def test_more_reserve_never_has_more_nights(more):
    some, deeper = asked(nights=2), asked(nights=2, reserve_share=more)
    assert deeper.now.nights.middle < some.now.nights.middle


def test_charging_lengthens_it_by_the_net_use():
    report = asked(charge_ah_a_day=15.0)
    bare, charged = line(report, "Now, without"), line(report, "Now, with 15")
    assert charged.nights.usable_ah == bare.nights.usable_ah
    ratio = charged.nights.nights.middle / bare.nights.nights.middle
    assert ratio == pytest.approx(25 / 10)


def test_charging_as_much_as_is_drawn_lasts_as_long_as_it_goes_on():
    report = asked(charge_ah_a_day=25.0)
    charged = line(report, "Now, with 25")
    assert charged.nights.endless
    assert charged.words == "as long as the charging lasts"
    assert [one.label for one in report.ends] == ["without charging"]


def test_a_lower_bound_gives_at_least_so_many_nights_and_no_future():
    of = battery(charge_ah_a_day=5.0)
    tests = stopped(of, 60.0)
    report = road_report(of, report_of(of, tests), RoadWish())
    assert report.basis is Basis.AT_LEAST
    assert report.now.nights.low == pytest.approx(tests[0][1].lower_ah * 0.8 / 25)
    assert (report.now.nights.middle, report.now.nights.high) == (None, None)
    assert report.now.words.startswith("at least 1.8 nights")
    assert report.ends == report.course == ()
    assert "not what it holds later" in report.basis_words


def test_without_a_test_there_is_only_what_the_label_would_promise():
    report = asked(())
    assert report.basis is Basis.LABEL
    assert report.now.words == "3.2 nights by the label"
    assert report.now.sure is None
    assert "nobody has measured it" in report.basis_words


def test_left_out_tests_say_nothing():
    of = battery()
    tests = [
        (replace(test, details=replace(test.details, left_out_reason="bad")), result, meter)
        for test, result, meter in record(of, FADING)
    ]
    assert road_report(of, report_of(of, tests), RoadWish()).basis is Basis.LABEL


def test_without_a_use_nothing_is_worked_out():
    report = asked(daily_use_ah=None)
    assert report.now is None


def test_appliances_are_added_up_by_hand():
    appliances = (Appliance("box", 9.0, current_a=3.0), Appliance("lamp", 4.0, power_w=12.8))
    report = asked(daily_use_ah=None, appliances=appliances)
    # 3 A x 9 h + 12.8 W / 12.8 V x 4 h = 31 Ah.
    assert report.use_ah == report.appliances_ah == pytest.approx(31.0)


def test_a_typed_sum_stands_beside_the_appliances_and_counts():
    report = asked(appliances=(Appliance("box", 9.0, current_a=3.0),))
    assert (report.typed_ah, report.appliances_ah, report.use_ah) == (25.0, 27.0, 25.0)


def test_the_day_for_so_many_nights_is_the_projected_end_for_that_capacity():
    of = battery(in_service_since=TODAY - timedelta(days=900))
    seen = report_of(of, record(of, FADING))
    report = road_report(of, seen, RoadWish(nights=2))
    threshold = threshold_of(2, DayUse(25.0), 0.2)
    assert threshold.ah == pytest.approx(2 * 25 / 0.8)
    new = new_battery(of.details.in_service_since, 100.0, seen.points[0].day)
    end = project_end(seen.points, seen.fade, threshold, TODAY, Chemistry.LFP, new)
    found = report.ends[0]
    assert found.needed_ah == pytest.approx(threshold.ah)
    assert found.chance_today == pytest.approx(end.chance_above_today, abs=0.01)
    for name in ("p05", "p50", "p95"):
        ours, theirs = getattr(found, name), getattr(end, name)
        if theirs is None:
            assert ours is None, "beyond the horizon for both"
            continue
        days = (theirs - TODAY).days
        assert abs((ours - theirs).days) < 0.12 * days, (name, ours, theirs)


def test_more_nights_stop_working_earlier():
    two, three = (asked(wish=RoadWish(nights=n)).ends[0] for n in (2, 3))
    assert three.p50 < two.p50
    assert three.chance_today <= two.chance_today


def test_nights_that_do_not_work_today_are_said():
    end = asked(wish=RoadWish(nights=9)).ends[0]
    assert end.chance_today < 0.05
    assert end.words == "probably not even today (99 % likely)"


@pytest.mark.parametrize("day", [TODAY - timedelta(days=1), date(2099, 1, 1)])
def test_a_day_that_nothing_is_known_of_is_refused(day):
    with pytest.raises(
        InvalidInput, match=f"date”: “{day}” does not fit. It needs a date from today"
    ):
        asked(wish=RoadWish(on_date=day))


def test_without_a_measured_test_no_later_day_is_taken():
    with pytest.raises(InvalidInput, match="it takes a measured test to look ahead"):
        asked((), RoadWish(on_date=LATER))


def test_the_days_ahead_rise_and_end_with_what_is_known():
    of = battery()
    seen = report_of(of, record(of, FADING))
    last = last_day_known(seen.points)
    days = days_ahead(TODAY, last)
    assert days[0] == TODAY
    assert days[-1] == last
    assert list(days) == sorted(set(days))


def test_the_equally_likely_capacities_hold_the_newest_result():
    of = battery()
    seen = report_of(of, record(of, FADING))
    likely = capacity_ahead(of.details, seen, (TODAY,)).on(TODAY)
    assert len(likely) == 200
    assert min(likely) < 93.9 < max(likely)
    assert all(math.isfinite(value) for value in likely)


def test_whole_nights_to_count_on_are_rounded_down():
    report = asked()
    assert report.now.sure == math.floor(report.now.nights.low)


def test_in_the_cold_so_many_nights_take_more_capacity():
    # At -20 °C it gives 0.85 of its capacity: 2 × 25 / 0.8 / 0.85 = 73.5 Ah.
    about = battery().details
    found = threshold_of(2, DayUse(25.0), 0.2, cold_share(about, -20.0))
    assert found.ah == pytest.approx(62.5 / 0.85)
    assert found.words == "74 Ah for 2 nights of 25 Ah"


def test_a_cold_no_source_covers_takes_nothing_off():
    about = battery().details
    assert threshold_of(2, DayUse(25.0), 0.2, cold_share(about, -35.0)).ah == pytest.approx(62.5)


def test_the_end_in_the_cold_is_where_the_cold_leaves_too_little():
    # 2.8 nights take 70 Ah of 0.8 × 93.9 = 75.1 Ah: there today, but in the cold 75.1 × 0.85 are
    # 63.8 Ah. Of the shares between 0.85 - sqrt(3) × 0.09 = 0.694 and 1, 22 % lie above the needed
    # 87.5 / 93.9 = 0.932.
    warm, cold = asked(cold_week_c=-20.0, wish=RoadWish(nights=2.8)).ends
    assert warm.needed_ah == pytest.approx(87.5)
    assert cold.needed_ah == pytest.approx(87.5 / 0.85)
    assert warm.chance_today > 0.95
    assert cold.chance_today == pytest.approx(0.22, abs=0.02)


@pytest.mark.parametrize(
    ("dates", "chance", "words"),
    [
        ((None, None, None), 0.96, "very likely beyond 2040"),
        (
            (date(2029, 3, 1), None, None),
            0.96,
            "very likely not before early 2029; 1 in 2: beyond 2040",
        ),
        (
            (None, None, None),
            0.9,
            "1 in 2: beyond 2040",
        ),
        (
            (date(2029, 3, 1), date(2033, 5, 1), None),
            0.96,
            "mid 2033; 9 in 10: from early 2029 on, latest not known",
        ),
        (
            (None, date(2033, 5, 1), date(2037, 1, 1)),
            0.9,
            "mid 2033; 9 in 10: now to early 2037",
        ),
        ((None, None, None), 0.3, "probably not even today (70 % likely)"),
    ],
)
def test_until_when_the_nights_are_enough_is_said_without_a_bound_that_nothing_gives(
    dates, chance, words
):
    end = NightsEnd("without charging", 2.0, 50.0, *dates, chance, date(2040, 6, 30))
    assert end.words == words


def test_as_far_as_anything_is_known_is_the_last_of_the_days():
    """The projection speaks for 30 years from the first test: four times 180 days before the
    newest, which was 10 days ago."""
    last = TODAY - timedelta(days=10 + 4 * 180) + timedelta(days=int(HORIZON_DAYS))
    assert int(HORIZON_DAYS) == int(30 * 365.25)
    ends = asked().ends
    assert ends
    assert {end.last_day for end in ends} == {last}


def test_the_first_situation_is_what_it_lasts_today_without_charging():
    report = asked(charge_ah_a_day=10.0)
    assert report.now is report.situations[0].nights
    assert line(report, "Now, without charging").nights is report.now


def test_charging_that_nearly_covers_the_use_still_ends():
    """Half an amp-hour a day is missing: 10, 20 and 30 Ah last 20, 40 and 60 nights."""
    nearly = DayUse(25.0, 24.5)
    found = nights_of(Interval(10.0, 20.0, 30.0), nearly, Basis.TESTS, None)
    assert not found.endless
    assert found.nights == Interval(20.0, 40.0, 60.0)
