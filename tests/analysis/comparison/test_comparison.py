from dataclasses import replace

import numpy as np
import pytest

from app.analysis.comparison.comparison import around_move, difference, rate_of
from app.analysis.comparison.comparison_power import Record, further_after_move, further_to_show
from app.analysis.fade.fade import fit_fade
from app.analysis.fade.trend_point import TrendPoint
from app.domain.finding import EvidenceKind
from app.domain.units.time_units import DAYS_PER_YEAR


def record(rates, standard=0.5, meter=1):
    """Quarterly tests, each a quarter's fade (% a year) below the one before; no scatter."""
    level, made = 100.0, []
    for number, rate in enumerate((0.0, *rates)):
        level -= rate / 4
        day = 738_000 + DAYS_PER_YEAR / 4 * number
        made.append(
            TrendPoint(day, level, standard, standard, EvidenceKind.MEASURED, number, meter)
        )
    return made


def test_a_rate_is_in_percent_of_rated_a_year():
    rate = rate_of("a", record([2.0] * 8), 200.0)
    assert rate.percent_per_year == pytest.approx(1.0)
    assert rate.residual_freedom == 6


def test_the_scatter_of_few_tests_is_judged_by_a_straight_line():
    assert rate_of("a", record([2.0] * 3), 100.0).residual_freedom == 2


def test_a_fade_that_slows_down_is_not_taken_for_scatter():
    slowing = rate_of("a", record([4.0, 3.4, 2.8, 2.2, 1.6, 1.0, 0.4], 0.05), 100.0)
    even = rate_of("b", record([2.2] * 7, 0.05), 100.0)
    assert slowing.standard == pytest.approx(even.standard, rel=1e-3)
    assert slowing.chi_squared < 1


def test_a_rate_and_its_own_interval_are_those_of_the_battery_s_page():
    noise = (0.9, -0.5, 0.3, -1.1, 0.6, 0.2, -0.7, 0.4)
    points = [
        replace(p, capacity_ah=p.capacity_ah + 3 * up, standard_ah=0.9, meter_id=1 + number // 5)
        for number, (p, up) in enumerate(zip(record([2.0] * 7), noise, strict=True))
    ]
    rate, fade = rate_of("a", points, 100.0), fit_fade(points, 100.0)
    assert rate.percent_per_year == pytest.approx(fade.rate_percent_per_year)
    assert (rate.low, rate.high) == pytest.approx((fade.low, fade.high))
    assert rate.at(points[3].day) == pytest.approx(fade.line.at(points[3].day - points[0].day))


def test_lower_bounds_and_tests_left_out_do_not_count():
    points = record([2.0] * 4)
    low = replace(points[2], kind=EvidenceKind.AT_LEAST, capacity_ah=50.0)
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
    assert gap.words.endswith("; a proof takes 97.5 %.")


@pytest.mark.parametrize(("pairs", "needed"), [(1, 97.5), (3, 99.1667)])
def test_a_direction_is_proven_exactly_where_it_is_as_likely_as_a_proof_takes(pairs, needed):
    """95 % between both sides leave 2.5 % beyond either: 96 % likely is not proven, and says so."""
    steep = rate_of("steep", record([3.0] * 8, 0.3), 100.0)
    seen = set()
    for rate in np.arange(1.0, 3.0, 0.05):
        gap = difference(steep, rate_of("flat", record([rate] * 8, 0.3), 100.0), pairs)
        assert gap.needed_percent == pytest.approx(needed, abs=0.001)
        assert gap.proven is (100 * gap.probability_faster > gap.needed_percent)
        seen.add(gap.proven)
    assert seen == {True, False}


def test_what_is_more_likely_slower_is_called_slower_with_that_likelihood():
    one, other = (rate_of(n, record([r] * 8, 0.3), 100.0) for n, r in (("a", 2.0), ("b", 2.1)))
    gap = difference(one, other)
    assert not gap.proven
    likely = f"{100 * (1 - gap.probability_faster):.0f} % likely that it fades more slowly at all"
    assert likely in gap.words


def test_a_move_is_judged_by_the_bend_in_one_line():
    points = record([1.0] * 6 + [4.0] * 6, 0.2)
    gap = around_move(points, points[6].day, 100.0)
    assert gap.second.percent_per_year == pytest.approx(1.0)
    assert gap.first.percent_per_year == pytest.approx(4.0)
    assert gap.points_per_year == pytest.approx(3.0)
    assert around_move(points, points[0].day, 100.0) is None
    assert around_move(points[:3], points[1].day, 100.0) is None


def test_a_move_takes_a_month_on_either_side():
    points = record([1.0] * 6)
    late = replace(points[6], day=points[4].day + 10)
    near = [*points[:5], replace(points[5], day=points[4].day + 5), late]
    assert around_move(near, points[4].day, 100.0) is None


def test_several_pairs_widen_every_interval_and_say_so():
    # NIST/SEMATECH e-Handbook 7.4.7.3: two intervals on 16 degrees of freedom take 2.473 standard
    # errors each (the value from memory).
    one, other = (rate_of(n, record([2.0] * 10), 100.0) for n in ("one", "other"))
    gap = difference(one, other, pairs=2)
    half = (gap.high - gap.low) / 2
    assert gap.degrees_of_freedom == 18
    sixteen = replace(one, residual_freedom=7), replace(other, residual_freedom=7)
    gap = difference(*sixteen, pairs=2)
    assert (gap.high - gap.low) / 2 / gap.standard == pytest.approx(2.473, abs=5e-4)
    assert half > (difference(one, other).high - difference(one, other).low) / 2
    assert "widened for 2 pairs" in gap.words
    assert gap.probability_faster == difference(*sixteen).probability_faster


def records(*rates, interval_days=91.0, standard=0.5):
    made = [record([rate] * 4, standard) for rate in rates]
    return [Record.of(points, 100.0, interval_days) for points in made]


def test_a_smaller_difference_takes_more_tests():
    both = records(2.0, 1.0)
    counts = [further_to_show(both, shown) for shown in (3.0, 1.0, 0.5)]
    assert counts == sorted(counts)
    assert counts[0] < counts[2]
    assert further_to_show(both, 1e-6) is None


def test_rarer_tests_show_a_difference_after_fewer_of_them():
    often, rarely = records(2.0, 1.0), records(2.0, 1.0, interval_days=365.0)
    assert further_to_show(rarely, 0.5) < further_to_show(often, 0.5)


def test_more_pairs_take_more_tests():
    both = records(2.0, 1.0)
    assert further_to_show(both, 0.5, pairs=15) > further_to_show(both, 0.5)


def test_how_many_more_tests_is_told_from_a_single_one_and_not_from_none():
    one = Record.of(record([1.0])[:1], 100.0, 91.0)
    assert further_to_show([one, *records(1.0)], 1.0) > 2
    assert Record.of([], 100.0, 91.0) is None


def test_tests_after_a_move_show_a_change_of_the_rate():
    points = record([1.0] * 8, 0.3)
    ahead = Record.of(points, 100.0, 91.0, points[6].day)
    counts = [further_after_move(ahead, points[6].day, shown) for shown in (8.0, 2.0, 1.0)]
    assert counts == sorted(counts)
    assert 0 < counts[1] < counts[2]
