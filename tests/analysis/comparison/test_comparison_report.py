from dataclasses import replace
from datetime import date, timedelta

import pytest

from app.analysis.comparison.comparison_axis import age_axis, equivalent_age_axis, throughput_axis
from app.analysis.comparison.comparison_report import (
    Compared,
    compare_around_move,
    compare_batteries,
)
from app.analysis.comparison.comparison_words import _in_time, move_words
from app.domain.chemistry import Chemistry
from app.domain.finding import EvidenceKind
from app.domain.units.time_units import DAYS_PER_YEAR
from tests.builders import NOW, reported

START = date(2024, 6, 1)


def falling(by, count=8):
    """Hours of tests that fall by so much from one to the next."""
    return [11.5 - by * i for i in range(count)]


@pytest.fixture(scope="module")
def hot():
    return reported(falling(0.25), name="Hot", in_service_since=START)


@pytest.fixture(scope="module")
def cool():
    return reported(falling(0.05), number=2, name="Cool", in_service_since=START)


def compared(*reports, shown=1.0, axes=()):
    return compare_batteries([Compared(one, 91) for one in reports], shown, axes)


def codes(report):
    return {finding.code for finding in report.caveats}


def test_the_answer_stands_first_in_words(hot, cool):
    report = compared(hot, cool, shown=8)
    assert report.words[0].startswith("Hot fades faster than Cool by")
    assert "more than 99 % likely" in report.words[0]
    assert report.words[1] == (
        "A real difference of 8 points a year would show with the tests there are "
        "(95 % confidence, 80 % power)."
    )


def test_the_rates_are_those_of_the_batteries_own_pages(hot, cool):
    for side, one in zip(compared(hot, cool).sides, (hot, cool), strict=True):
        assert side.rate_percent_per_year == pytest.approx(one.fade.rate_percent_per_year)
        assert (side.low, side.high) == pytest.approx((one.fade.low, one.fade.high))


def test_a_small_difference_takes_more_tests_and_says_how_long(hot, cool):
    pair = compared(hot, cool, shown=0.5).pairs[0]
    assert pair.further > 5
    assert f"after {pair.further} more tests of each" in pair.further_words
    assert "years at these intervals" in pair.further_words


def test_a_comparison_never_says_why(hot, cool):
    report = compared(hot, cool)
    assert report.caveats[0].code == "not_why"
    assert "not why" in report.caveats[0].text


def test_without_a_rate_the_reason_stands_there(hot):
    single = reported([11.0], number=2, name="Single")
    bounds = reported([9.0, 8.0, 7.0], number=3, name="Stopped", early=(0, 1, 2))
    report = compared(hot, single, bounds)
    assert [pair.difference for pair in report.pairs] == [None] * 3
    assert "Single: One measured test: a rate needs at least two." in report.pairs[0].words
    assert "Only lower bounds so far" in report.pairs[1].words
    assert report.sides[2].rate_percent_per_year is None
    assert report.pairs[0].further is not None
    assert report.pairs[1].further is None
    assert "After a measured test of each" in report.pairs[1].further_words


def test_lower_bounds_do_not_enter_and_are_counted(hot, cool):
    with_bound = reported(falling(0.25), name="Hot", in_service_since=START, early=(3,))
    report = compared(with_bound, cool)
    side = report.sides[0]
    assert (side.measured, side.lower_bounds) == (7, 1)
    assert [p.fitted_percent is None for p in side.points if p.kind is EvidenceKind.AT_LEAST] == [
        True
    ]
    assert "lower_bounds" in codes(report)


def test_several_batteries_widen_the_intervals_and_say_so(hot, cool):
    third = reported(falling(0.06), number=3, name="Third", in_service_since=START)
    report = compared(hot, cool, third)
    assert [(pair.first, pair.second) for pair in report.pairs] == [
        ("Hot", "Cool"),
        ("Hot", "Third"),
        ("Cool", "Third"),
    ]
    assert "some look different by chance" in report.words[0]
    assert "2 are proven different" in report.words[0]
    alone = compared(hot, cool).pairs[0].difference
    assert report.pairs[0].difference.low < alone.low
    assert report.pairs[0].difference.high > alone.high


def test_what_was_unlike_is_said(hot):
    other = reported(
        falling(0.05, 5),
        number=2,
        name="Other",
        rated_ah=50.0,
        chemistry=Chemistry.LITHIUM_ION,
        in_service_since=START - timedelta(days=2000),
    )
    assert {"chemistries", "ages", "sizes", "meters"} <= codes(compared(hot, other))


def test_tests_at_other_loads_and_warmths_are_said(hot, cool):
    warm = replace(
        cool,
        tests=tuple(replace(t, temperature_c=40.0, mean_current_a=20.0) for t in cool.tests),
    )
    assert {"temperatures", "loads"} <= codes(compared(hot, warm))
    assert not {"temperatures", "loads"} & codes(compared(hot, cool))


def test_two_tests_of_a_side_are_said(hot):
    assert "two_tests" in codes(compared(hot, reported([11.0, 10.9], number=2)))


def test_a_move_compares_before_with_after_and_says_that_the_battery_is_older():
    hours = [11.5 - 0.05 * i - max(0, i - 5) * 0.25 for i in range(11)]
    one = reported(hours, name="Moved", in_service_since=START)
    moved_on = one.tests[5].started_at.date()
    report = compare_around_move(Compared(one, 91), moved_on, 1.0, [age_axis([one])])
    assert [side.name for side in report.sides] == ["before the move", "after the move"]
    assert [side.measured for side in report.sides] == [6, 5]
    assert report.words[0].startswith("After the move it fades faster, by ")
    assert report.pairs[0].difference.points_per_year == pytest.approx(
        0.25 * 9 * DAYS_PER_YEAR / 91, rel=0.05
    )
    assert {"not_why", "older"} <= codes(report)
    axis = report.axes[0]
    assert axis.x[0][-1] < axis.move_x < axis.x[1][0]
    early, late = (side.points for side in report.sides)
    assert early[-1].fitted_percent > late[0].fitted_percent


def test_a_move_without_enough_tests_is_an_error_of_the_caller(hot):
    with pytest.raises(ValueError, match="too few"):
        compare_around_move(Compared(hot, 91), hot.tests[0].started_at.date(), 1.0)


def test_age_counts_from_the_day_in_service_or_from_the_first_test(hot):
    unknown = reported(falling(0.05), number=2, name="Unknown")
    report = compared(hot, unknown, axes=[age_axis([hot, unknown])])
    axis = report.axes[0]
    assert axis.x[1][0] == 0
    assert axis.x[0][0] == pytest.approx((hot.points[0].day - START.toordinal()) / DAYS_PER_YEAR)
    assert "Since the first test: Unknown" in axis.words


def test_throughput_and_equivalent_age_are_drawn_only_where_known(hot, cool):
    axes = [
        throughput_axis([hot, cool], [5000.0, None]),
        equivalent_age_axis([hot, cool], [None, lambda day: (day - START).days / 100]),
    ]
    use, warmth = compared(hot, cool, axes=axes).axes
    years = (hot.points[-1].day - START.toordinal()) / DAYS_PER_YEAR
    assert use.x[0][-1] == pytest.approx(years * 50)
    assert set(use.x[1]) == {None}
    assert "no use is known: Cool" in use.words
    assert warmth.x[1][0] == (cool.tests[0].started_at.date() - START).days / 100
    assert "no temperature history is known: Hot" in warmth.words


def test_the_day_of_the_report_is_the_day_asked_for(hot, cool):
    assert compared(hot, cool).as_of == NOW.date()


def test_a_point_carries_its_uncertainty_and_a_lower_bound_none():
    """In % of what is rated: ± 1.2 Ah of 100 Ah; a bound stands at what it proves."""
    report = reported(falling(0.25), name="One", in_service_since=START)
    first, second, *rest = report.tests
    bound = replace(report.points[1], kind=EvidenceKind.AT_LEAST)
    tests = (replace(first, expanded_ah=1.2), replace(second, lower_ah=61.0), *rest)
    points = (report.points[0], bound, *report.points[2:])
    side = compared(replace(report, tests=tests, points=points), report).sides[0]
    assert side.points[0].expanded_percent == pytest.approx(100 * 1.2 / report.rated_ah)
    assert side.points[1].percent == pytest.approx(100 * 61.0 / report.rated_ah)
    assert side.points[1].expanded_percent == 0.0
    assert side.points[1].fitted_percent is None


@pytest.mark.parametrize(
    ("years", "words"),
    [
        (0.02, "in about 1 month"),
        (0.25, "in about 3 months"),
        (0.75, "in about 9 months"),
        (1.0, "in about 1.0 years"),
    ],
)
def test_how_long_further_tests_take_is_said_in_months_below_a_year(years, words):
    assert _in_time(years) == words


def test_a_test_that_proves_nothing_has_no_share_in_words(hot):
    first = hot.tests[0]
    shown = [replace(first, kind=kind, share_of_rated=0.879).share_words for kind in EvidenceKind]
    by_kind = dict(zip(EvidenceKind, shown, strict=True))
    assert by_kind[EvidenceKind.MEASURED] == "88 %"
    assert by_kind[EvidenceKind.AT_LEAST] == "at least 87 %"
    assert by_kind[EvidenceKind.UNUSABLE] == "–"


@pytest.mark.parametrize(
    ("points", "low", "high", "chance", "begin", "end"),
    [
        (
            2.0,
            1.0,
            3.0,
            0.98,
            "After the move it fades faster, by 2.0",
            "98 % likely that it fades faster at all",
        ),
        (
            -2.0,
            -3.0,
            -1.0,
            0.02,
            "After the move it fades more slowly, by 2.0",
            "98 % likely that it fades more slowly at all",
        ),
        (0.5, -1.0, 2.0, 0.7, "No change proven: after the move it fades 0.5", "faster at all"),
        (
            -0.5,
            -2.0,
            1.0,
            0.3,
            "No change proven: after the move it fades 0.5",
            "more slowly at all",
        ),
    ],
)
def test_a_move_is_told_by_its_direction_and_by_whether_it_is_proven(
    hot, cool, points, low, high, chance, begin, end
):
    gap = replace(
        compared(hot, cool).pairs[0].difference,
        points_per_year=points,
        low=low,
        high=high,
        probability_faster=chance,
    )
    words = move_words(gap)
    assert words.startswith(begin)
    assert end in words
