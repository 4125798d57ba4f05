from dataclasses import replace

import pytest

from app.analysis.comparison import around_move, difference, further_to_show, rate_of
from app.analysis.trend_point import DAYS_PER_YEAR, TrendPoint
from app.domain.finding import Kind


def record(rates, standard=0.5, meter=1):
    """Quarterly tests, each a quarter's fade (% a year) below the one before; no scatter."""
    level, made = 100.0, []
    for number, rate in enumerate((0.0, *rates)):
        level -= rate / 4
        day = 738_000 + DAYS_PER_YEAR / 4 * number
        made.append(TrendPoint(day, level, standard, standard, Kind.MEASURED, number, meter))
    return made


def test_a_rate_is_in_percent_of_rated_a_year():
    rate = rate_of("a", record([2.0] * 8), 200.0)
    assert rate.percent_per_year == pytest.approx(1.0)
    assert rate.residual_freedom == 7


def test_lower_bounds_and_tests_left_out_do_not_count():
    points = record([2.0] * 4)
    low = replace(points[2], kind=Kind.AT_LEAST, capacity_ah=50.0)
    gone = replace(points[3], left_out=True, capacity_ah=10.0)
    kept = [*points[:2], low, gone, points[4]]
    assert rate_of("a", kept, 100.0).percent_per_year == pytest.approx(2.0)
    assert rate_of("a", points[:1], 100.0) is None


def test_the_difference_and_its_sign_in_words():
    hot, cool = (rate_of(n, record([r] * 16, 0.3), 100.0) for n, r in (("hot", 4), ("cool", 1)))
    gap = difference(hot, cool)
    assert gap.points_per_year == pytest.approx(3.0)
    assert gap.low < 3.0 < gap.high
    assert gap.proven
    assert gap.words.startswith("hot fades faster than cool by 3.0 points a year")
    back = difference(cool, hot)
    assert (back.low, back.high) == pytest.approx((-gap.high, -gap.low))
    assert back.probability_faster == pytest.approx(1 - gap.probability_faster)
    assert back.words.startswith("hot fades faster than cool")


def test_two_that_are_alike_are_not_called_different():
    one, other = (rate_of(n, record([2.0] * 8), 100.0) for n in ("one", "other"))
    gap = difference(one, other)
    assert not gap.proven
    assert gap.probability_faster == pytest.approx(0.5)
    assert "No difference proven" in gap.words


def test_a_move_is_judged_by_the_bend_in_one_line():
    points = record([1.0] * 6 + [4.0] * 6, 0.2)
    gap = around_move(points, points[6].day, 100.0)
    assert gap.second.percent_per_year == pytest.approx(1.0)
    assert gap.first.percent_per_year == pytest.approx(4.0)
    assert gap.points_per_year == pytest.approx(3.0)
    assert around_move(points, points[0].day, 100.0) is None
    assert around_move(points[:3], points[1].day, 100.0) is None


def test_a_smaller_difference_takes_more_tests():
    points = [record([2.0] * 5), record([1.0] * 5)]
    counts = [further_to_show(points, (100.0, 100.0), 91.0, shown) for shown in (3.0, 1.0, 0.5)]
    assert counts == sorted(counts)
    assert counts[0] < counts[2]
    assert further_to_show(points, (100.0, 100.0), 91.0, 1e-6) is None
