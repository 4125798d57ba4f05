"""What a page makes of a projection: an interval in words, and what it rests on."""

import itertools
import re
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from app.analysis.fade.fade import fit_fade
from app.analysis.fade.trend_point import TrendPoint
from app.analysis.projection.end_of_life import coarse_date, common_share, new_battery, project_end
from app.analysis.projection.linear_extrapolation import straight_line
from app.analysis.projection.projection import ProjectionOutcome
from app.domain.chemistry import Chemistry
from app.domain.finding import EvidenceKind
from app.domain.threshold import Threshold, ThresholdKind
from tests.analysis.fading import CAPACITY, DAYS

RATED = Threshold(ThresholdKind.RATED, "80 % of rated (80 Ah)", ah=80.0)
AS_OF = date.fromordinal(int(DAYS[-1])) + timedelta(days=30)


def points(capacity=CAPACITY, kind=EvidenceKind.MEASURED):
    return [
        TrendPoint(day, value, 1.2, 1.0, kind, i + 1, 1)
        for i, (day, value) in enumerate(zip(DAYS, capacity, strict=True))
    ]


def reported(tests, threshold=RATED, as_of=AS_OF, chemistry=Chemistry.LFP):
    return project_end(tests, fit_fade(tests, 100), threshold, as_of, chemistry)


def test_the_answer_is_an_interval_in_words_and_never_a_date_alone():
    end = reported(points())
    assert re.fullmatch(
        r"Around \w+ \d+; very likely not before \w+ \d+, nor after \w+ \d+\.", end.words
    )
    assert end.p05 < end.p25 < end.p50 < end.p75 < end.p95


def test_an_earliest_day_that_has_passed_is_no_promise():
    end = replace(reported(points()), chance_above_today=0.9)
    middle, last = coarse_date(end.p50), coarse_date(end.p95)
    perhaps = "may be below the limit already (10 % likely)"
    assert end.words == f"Around {middle}; {perhaps}, very likely not after {last}."
    late = replace(end, p95=None)
    assert late.words.startswith(f"Around {middle}; {perhaps}, no latest day within 30 years ")
    later = replace(late, p50=None, outcome=ProjectionOutcome.BEYOND_HORIZON)
    assert later.words.startswith(f"M{perhaps[1:]}; more likely than not beyond 30 years ")


def test_the_chance_falls_from_day_to_day():
    end = reported(points())
    chances = [end.chance_on(AS_OF + timedelta(days=200 * i)) for i in range(40)]
    assert chances == sorted(chances, reverse=True)
    assert end.chance_on(end.p50) == pytest.approx(0.5, abs=0.03)


def test_already_below_carries_its_probability():
    end = reported(points(CAPACITY - 25))
    assert end.outcome is ProjectionOutcome.ALREADY_BELOW
    assert re.fullmatch(r"Below the limit already: .*\d+ % likely\.", end.words)


def test_lower_bounds_alone_say_that_it_takes_a_measurement():
    end = reported(points(kind=EvidenceKind.AT_LEAST))
    assert end.words == "Not yet known: this needs a measured test."
    assert (end.fan, end.chances, end.chance_on(AS_OF)) == ((), (), None)


def test_what_is_left_out_does_not_count():
    spoilt = [
        replace(p, capacity_ah=60.0, left_out=True) if i == 9 else p for i, p in enumerate(points())
    ]
    assert reported(spoilt).p50 == reported(points()[:9]).p50


def test_a_straight_line_is_shown_to_be_doubted():
    straight = reported(points()).straight
    assert straight.significant
    assert straight.p05 < straight.p50 < straight.p95
    flat = reported(points(np.full(10, 100.0) + np.tile([0.5, -0.5], 5))).straight
    assert (flat.significant, flat.p95) == (False, None)


def test_other_chemistries_say_that_their_prior_is_a_guess():
    codes = [c.code for c in reported(points(), chemistry=Chemistry.AGM).caveats]
    assert "prior_uncalibrated" in codes
    assert "prior_uncalibrated" not in [c.code for c in reported(points()).caveats]


def test_a_projection_without_use_and_place_says_what_it_lacks():
    belief = [c.text for c in reported(points()).caveats if c.code == "belief"]
    assert belief == [
        "How the battery is used and where it lives is not known; once its owner enters both, "
        "Fadeline takes them into account."
    ]


def test_a_battery_first_tested_late_is_counted_from_its_first_day_of_service():
    late = points(90 - 3 * (DAYS - DAYS[0]) / 365)
    new = new_battery(date.fromordinal(int(DAYS[0]) - 1200), 100.0, DAYS[0])
    with_past = project_end(late, fit_fade(late, 100), RATED, AS_OF, new=new)
    without = reported(late)
    assert with_past.p50 != without.p50
    assert "went into service" in with_past.caveats[-1].text
    assert new_battery(date.fromordinal(int(DAYS[0]) - 90), 100.0, DAYS[0]) is None
    share = Threshold(ThresholdKind.FIRST_TEST, "", share=0.8)
    first = project_end(late, fit_fade(late, 100), share, AS_OF, new=new)
    assert first.p50 == reported(late, share).p50


def first_tests(*capacities, standard_ah=1.2, threshold_ah=80.0, years=3.3):
    """Tests half a year apart, the first one so many years after the label said 100 Ah."""
    tests = [
        TrendPoint(DAYS[0] + 180 * i, one, standard_ah, 0.6, EvidenceKind.MEASURED, i + 1, 1)
        for i, one in enumerate(capacities)
    ]
    threshold = Threshold(ThresholdKind.RATED, "", ah=threshold_ah)
    new = new_battery(date.fromordinal(int(DAYS[0] - 365 * years)), 100.0, DAYS[0])
    return project_end(tests, fit_fade(tests, 100), threshold, AS_OF, new=new)


def never_earlier(one, other):
    """Whether no quantile of the other comes before that of the one; None is beyond the horizon."""
    pairs = [
        (getattr(one, name), getattr(other, name)) for name in ("p05", "p25", "p50", "p75", "p95")
    ]
    return all(b is None or (a is not None and a <= b) for a, b in pairs)


@pytest.mark.parametrize(
    ("standard_ah", "threshold_ah", "years"),
    [(0.8, 80.0, 0.6), (1.2, 80.0, 3.3), (4.0, 90.0, 3.3), (1.2, 90.0, 8.0)],
)
def test_a_higher_single_test_never_gives_an_earlier_end(standard_ah, threshold_ah, years):
    asked = {"standard_ah": standard_ah, "threshold_ah": threshold_ah, "years": years}
    ends = [first_tests(ah, **asked) for ah in (84, 92, 98, 100, 102, 106, 110, 118, 180)]
    for one, other in itertools.pairwise(ends):
        assert never_earlier(one, other), (one.p50, other.p50)


def test_two_higher_tests_give_no_earlier_end():
    ends = [first_tests(ah, ah - 1) for ah in (92, 98, 101, 104, 108, 112, 118, 130)]
    for one, other in itertools.pairwise(ends):
        assert never_earlier(one, other), (one.p50, other.p50)


def test_a_battery_above_its_label_held_no_less_when_it_was_new():
    """118 Ah after 3.3 years of a label of 100: as sure as 100 Ah of 100 about the same share."""
    share = 80 / 118 * 100
    above, like = first_tests(118, standard_ah=1.18), first_tests(100, standard_ah=1.0)
    same = first_tests(100, standard_ah=1.0, threshold_ah=share)
    assert above.fan[0].p50 > 117
    assert above.p50 > like.p50
    # Its own doubt of 0.6 Ah is a little less of 118 than of 100.
    assert abs((above.p50 - same.p50).days) < 60
    assert "held as much as they show" in above.caveats[-1].text
    assert "held the rated capacity" in like.caveats[-1].text


def test_one_high_test_among_others_does_not_make_the_label_higher():
    assert "held the rated capacity" in first_tests(118, 98).caveats[-1].text
    assert "held the rated capacity" in first_tests(97, 118, 96).caveats[-1].text
    assert "held as much as they show" in first_tests(104, 118, 103).caveats[-1].text


@pytest.mark.parametrize(("years", "shown"), [(28.5, True), (29.9, True), (30.1, False)])
def test_a_straight_line_is_drawn_thirty_years_far(years, shown):
    """Ten tests on a straight line from 100 Ah to 80 Ah after so many years."""
    slope = -20 / (years * 365.25)
    exact = [
        TrendPoint(day, 100 + slope * (day - DAYS[0]), 0.01, 0.01, EvidenceKind.MEASURED, i + 1, 1)
        for i, day in enumerate(DAYS)
    ]
    straight = straight_line(fit_fade(exact, 100), RATED)
    assert straight.significant
    assert (straight.p50 is not None) is shown
    if shown:
        there = date.fromordinal(int(DAYS[0] + years * 365.25))
        assert abs((straight.p50 - there).days) <= 1


def test_all_of_the_first_capacity_is_a_threshold_that_was_crossed_at_once():
    """100 %, the most that can be chosen: 3 % a year for over two years lie below it."""
    first = Threshold(ThresholdKind.FIRST_TEST, "all of the first test", share=1.0)
    assert reported(points(), first).outcome is ProjectionOutcome.ALREADY_BELOW


@pytest.mark.parametrize(
    ("above", "likely"), [(0.3, "70 %"), (0.5, "50 %"), (0.002, "more than 99 %")]
)
def test_below_already_is_as_likely_as_above_is_not_and_never_sure(above, likely):
    end = replace(reported(points(CAPACITY - 25)), chance_above_today=above)
    assert end.words == f"Below the limit already: {likely} likely."


def test_tests_of_one_meter_share_the_largest_of_its_gains():
    """Of 5 Ah in all 3 or 4 are a test's own: 4 or 3 are shared, of 100 Ah."""
    tests = [
        TrendPoint(DAYS[i], 100.0, 5.0, own, EvidenceKind.MEASURED, i + 1, 1)
        for i, own in enumerate((3.0, 4.0))
    ]
    assert common_share(tests) == pytest.approx(0.04)
    assert common_share([tests[0], replace(tests[1], meter_id=2)]) == 0
