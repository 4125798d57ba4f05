import math
import re
from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from app.analysis.evidence.result import analyse_test
from app.analysis.fade.fade import fit_fade
from app.analysis.fade.fade_line import own_variance
from app.analysis.fade.outliers import distance
from app.analysis.fade.trend_point import TrendPoint
from app.analysis.statistics.gls import between_test_scatter, generalised_fit
from app.domain.entities.meter import MeterDetails, MeterKind
from app.domain.finding import EvidenceKind
from tests.builders import battery_details, discharge_details, steady

START = date(2022, 3, 1).toordinal()
NOISE = (0.3, -0.4, 0.1, 0.5, -0.3, -0.2, 0.4, -0.1, 0.2, -0.5, 0.3, -0.2)


def points(yearly=-3.0, count=12, noise=NOISE, u=0.5, kind=EvidenceKind.MEASURED, meter=1):
    return [
        TrendPoint(
            START + 91.0 * i,
            100 + yearly * 91 * i / 365.25 + noise[i],
            2 * u,
            u,
            kind,
            discharge_id=i + 1,
            meter_id=meter,
        )
        for i in range(count)
    ]


def bound(day, capacity, u=0.5):
    return TrendPoint(START + day, capacity, 2 * u, u, EvidenceKind.AT_LEAST, 99, 1)


def test_the_rate_is_a_percentage_of_the_reference_a_year():
    fade = fit_fade(points(noise=(0,) * 12), reference_ah=100)
    assert fade.rate_percent_per_year == pytest.approx(3.0)
    assert fade.low < 3.0 < fade.high
    assert fade.significant
    assert fade.words.startswith("Loses 3.0 Ah a year (3.0 % of rated), very likely ")


def test_without_a_reference_the_fitted_first_capacity_is_the_reference():
    fade = fit_fade(points(noise=(0,) * 12))
    assert fade.reference_ah == pytest.approx(100)
    assert "of the first fitted capacity" in fade.words


def test_doubling_the_weights_halves_the_variance():
    one = fit_fade(points(u=1.0), 100).line
    two = fit_fade(points(u=2**-0.5), 100).line
    assert two.slope_variance == pytest.approx(one.slope_variance / 2)


def test_the_order_of_the_tests_does_not_matter():
    assert fit_fade(points()[::-1], 100) == fit_fade(points(), 100)


def test_units_do_not_matter():
    milli = [
        replace(
            p,
            capacity_ah=p.capacity_ah * 1000,
            standard_ah=p.standard_ah * 1000,
            independent_ah=p.independent_ah * 1000,
        )
        for p in points()
    ]
    one, thousand = fit_fade(points()), fit_fade(milli)
    assert thousand.rate_percent_per_year == pytest.approx(one.rate_percent_per_year)
    assert thousand.high == pytest.approx(one.high)


def test_shifting_every_date_changes_nothing_but_the_dates():
    moved = [replace(p, day=p.day + 1000) for p in points()]
    assert fit_fade(moved, 100).line == fit_fade(points(), 100).line


def test_a_lower_bound_below_what_is_known_changes_nothing():
    assert fit_fade([*points(), bound(400, 60.0)], 100).line == fit_fade(points(), 100).line


def test_a_lower_bound_above_the_line_pulls_it_up():
    plain = fit_fade(points(), 100)
    lifted = fit_fade([*points(), bound(1300, 91.0)], 100)
    assert lifted.rate_percent_per_year < plain.rate_percent_per_year
    assert lifted.lower_bounds == 1


def test_a_lower_bound_far_above_the_tests_is_named_and_not_believed():
    odd = fit_fade([*points(), bound(1300, 110.0)], 100)
    assert odd.line == fit_fade(points(), 100).line
    assert "bound_contradicts" in [caveat.code for caveat in odd.caveats]


def test_tests_within_a_month_give_no_rate():
    close = [replace(p, day=START + i) for i, p in enumerate(points(count=3))]
    assert "within 30 days" in fit_fade(close, 100).words


def test_a_third_test_on_the_line_never_makes_it_less_sure():
    two, three = points(count=3, noise=(0,) * 12)[::2], points(count=3, noise=(0,) * 12)
    assert fit_fade(three, 100).high < fit_fade(two, 100).high


def test_many_tests_with_one_clamp_keep_the_line_among_the_points():
    # A gain multiplies the true value, not the reading: else low readings would count for more.
    many = [
        replace(p, standard_ah=np.hypot(0.5, 0.03 * p.capacity_ah), day=START + 20.0 * i)
        for i, p in enumerate(points() * 10)
    ]
    middle = sum(p.capacity_ah for p in many) / len(many)
    line = fit_fade(many, 100).line
    assert line.at(20.0 * (len(many) - 1) / 2) == pytest.approx(middle, abs=0.1)


def test_a_bound_never_pulls_the_line_down():
    for capacity in (70.0, 85.0, 89.0, 91.0, 95.0):
        lifted = fit_fade([*points(), bound(1300, capacity)], 100)
        assert lifted.line.at(1300) >= fit_fade(points(), 100).line.at(1300) - 1e-6


@pytest.mark.parametrize(
    ("tests", "words"),
    [
        ([], "No test yet"),
        (points(count=3, kind=EvidenceKind.AT_LEAST), "Only lower bounds"),
        (points(count=1), "at least two"),
        ([points()[0], points()[0]], "needs time between"),
        (points(count=2, u=0.0), "needs a third"),
    ],
)
def test_no_rate_is_given_where_none_can_be_had(tests, words):
    fade = fit_fade(tests, 100)
    assert fade.rate_percent_per_year is None
    assert words in fade.words


def test_two_tests_rest_on_their_stated_uncertainties():
    fade = fit_fade(points(count=2), 100)
    assert [caveat.code for caveat in fade.caveats] == ["two_tests"]


def test_exact_tests_without_uncertainty_are_not_believed_to_be_exact():
    fade = fit_fade(points(noise=(0,) * 12, u=0.0), 100)
    assert fade.high > fade.low


def test_residuals_larger_than_stated_widen_the_interval():
    loud = tuple(10 * value for value in NOISE)
    honest, wrong = fit_fade(points(), 100), fit_fade(points(noise=loud), 100)
    assert wrong.high - wrong.low > 3 * (honest.high - honest.low)
    assert wrong.scatter_ah > 2


def test_one_meter_s_gain_stays_out_of_the_slope():
    wide = [replace(p, standard_ah=5.0) for p in points()]
    assert fit_fade(wide, 100).line.slope_se == pytest.approx(
        fit_fade(points(), 100).line.slope_se, rel=0.01
    )
    assert fit_fade(wide, 100).line.se_at(0) > 4


def test_a_change_of_meter_is_no_fade():
    # Six tests with one meter, six with another that reads 2 Ah less, both within their gain.
    changed = [
        replace(p, capacity_ah=100 + NOISE[i] - (2 if i >= 6 else 0), meter_id=1 + i // 6)
        for i, p in enumerate(points())
    ]
    shared = [replace(p, standard_ah=2.0) for p in changed]
    assert not fit_fade(shared, 100).significant
    assert "meters" in [caveat.code for caveat in fit_fade(shared, 100).caveats]


def test_left_out_tests_are_counted_and_not_fitted():
    spoilt = points()
    spoilt[4] = replace(spoilt[4], capacity_ah=70.0)
    left = [replace(p, left_out=True) if p.capacity_ah == 70 else p for p in spoilt]
    fade = fit_fade(left, 100)
    assert fade.left_out == 1
    without = [p for p in points() if p.discharge_id != 5]
    assert fade.line == fit_fade(without, 100).line


def test_one_test_far_from_the_rest_is_named():
    assert fit_fade(points(), 100).odd_discharge_ids == ()
    spoilt = points()
    spoilt[4] = replace(spoilt[4], capacity_ah=88.0)
    fade = fit_fade(spoilt, 100)
    assert fade.odd_discharge_ids == (5,)
    assert "odd_test" in [caveat.code for caveat in fade.caveats]


def test_more_tests_could_show_a_smaller_fade():
    found = fit_fade(points(), 100, 91).detectable
    assert [one.further for one in found] == [0, 4, 8]
    assert found[0].percent_per_year > found[1].percent_per_year > found[2].percent_per_year


def test_the_smallest_detectable_fade_is_found_four_times_in_five():
    # Simulated: a fade of just that size, known scatter, must be significant in about 80 %.
    rng = np.random.default_rng(3)
    size = fit_fade(points(noise=(0,) * 12), 100, 91).detectable[0].percent_per_year
    hits = 0
    for _ in range(400):
        noise = rng.normal(0, 0.5, 12)
        hits += fit_fade(points(yearly=-size, noise=noise), 100).significant
    assert 0.72 < hits / 400 < 0.9


def test_thousands_of_tests_take_no_time_to_speak_of():
    rng = np.random.default_rng(4)
    many = [
        TrendPoint(START + i * 0.5, 100 - i / 1000 + e, 1.0, 0.5, EvidenceKind.MEASURED, i, 1)
        for i, e in enumerate(rng.normal(0, 0.5, 4000))
    ]
    assert fit_fade(many, 100).significant


def test_the_scatter_between_tests_is_what_restricted_likelihood_gives():
    # Without stated variances REML is the unbiased residual variance (mathematics).
    rng = np.random.default_rng(5)
    x = np.arange(12.0)
    y = 100 - x + rng.normal(0, 1, 12)
    design = np.column_stack([np.ones(12), x])
    none = np.zeros((12, 0))
    tiny = np.full(12, 1e-8)
    residual = generalised_fit(design, y, np.ones(12), none).chi_squared / 10
    assert between_test_scatter(design, y, tiny, none) == pytest.approx(residual, rel=1e-3)


def test_no_test_counts_for_more_than_half_a_thousandth_of_what_it_found():
    """0.05 of 100 Ah, squared, however little was stated; 0.3 Ah where that was."""
    exact, stated = (
        TrendPoint(START, 100.0, own, own, EvidenceKind.MEASURED, 1, 1) for own in (0.0, 0.3)
    )
    assert own_variance([exact, stated]) == pytest.approx([0.0025, 0.09])


def at_current(day, amps, hours):
    """A test at so many amperes and so many hours of a battery rated at 5 A for 20 h."""
    found = analyse_test(
        discharge_details(steady(hours, amps, step_h=0.1)),
        battery_details(rated_hours=20.0),
        MeterDetails("m", MeterKind.SHUNT, 1.0, 0.02, 0.01),
    )
    budget = found.budget
    return TrendPoint(
        START + day,
        found.capacity_ah,
        budget.standard_ah,
        budget.independent_ah,
        EvidenceKind.MEASURED,
        day,
        1,
        rate_ah=budget.rate_ah,
    )


def test_a_step_from_one_current_to_another_is_no_proof_of_fade():
    """Three tests at the rated current, then three at six times it, 3 % lower: about what the
    exponent that corrects them may be wrong by."""
    slow = [at_current(day, 5.0, 19.8) for day in (0, 120, 240)]
    fast = [at_current(day, 30.0, 3.2) for day in (360, 480, 600)]
    lost = slow[0].capacity_ah - fast[0].capacity_ah
    assert 1.0 < lost < 4.0
    assert fast[0].rate_ah > 1.0
    found = fit_fade([*slow, *fast], 100)
    assert not found.significant
    # Without that doubt the same step would be one.
    surer = [
        replace(p, rate_ah=0.0, standard_ah=math.hypot(p.independent_ah, p.gain_ah)) for p in fast
    ]
    assert fit_fade([*slow, *surer], 100).significant
    assert found.odd_discharge_ids == ()


def test_what_the_meter_shares_is_the_rest_of_the_uncertainty():
    """3, 4, 5: of 0.5 Ah in all 0.3 Ah are the test's own, so 0.4 Ah the meter's."""
    point = TrendPoint(START, 100.0, 0.5, 0.3, EvidenceKind.MEASURED)
    assert point.gain_ah == pytest.approx(0.4)
    assert replace(point, standard_ah=0.3).gain_ah == 0


def test_stated_uncertainties_count_as_two_residuals():
    """Four tests leave two degrees of freedom, and what was stated is worth two more."""
    assert fit_fade(points(count=4), 100).line.degrees_of_freedom == 4
    assert fit_fade(points(count=4, u=0.0), 100).line.degrees_of_freedom == 2


def test_gains_of_two_meters_beside_lower_bounds_keep_the_interval_s_word():
    """Simulated: gains within 3 %, every third test stopped early; 68 % held where each test
    carried its meter's whole gain for itself."""
    held = 0
    for run in range(150):
        rng = np.random.default_rng((run, 20))
        gains = 1 + rng.uniform(-0.03, 0.03, 2)
        made = []
        for i in range(20):
            meter = 1 if i < 10 else 2
            value = (100 - 0.5 * i + rng.normal(0, 0.6)) * gains[meter - 1]
            kind = EvidenceKind.AT_LEAST if i % 3 == 1 else EvidenceKind.MEASURED
            value *= rng.uniform(0.8, 1.0) if kind is EvidenceKind.AT_LEAST else 1.0
            standard = np.hypot(0.6, 0.03 / 3**0.5 * value)
            made.append(TrendPoint(START + 91.3125 * i, value, standard, 0.6, kind, i, meter))
        fade = fit_fade(made, 100)
        held += fade.low <= 2.0 <= fade.high
    assert held / 150 >= 0.93


SLOWING = [100 * (1 - 0.2 * (i / 4 / 12) ** 0.55) for i in range(20)]


def record_of(capacity, u):
    return [
        TrendPoint(START + 91.3125 * i, y, 2 * u, u, EvidenceKind.MEASURED, i + 1, 1)
        for i, y in enumerate(capacity)
    ]


def test_the_first_test_of_a_battery_whose_fade_slows_down_is_not_blamed():
    """Five years of quarterly tests on 20 (t/12)^0.55, 0.3 Ah of scatter as stated."""
    noise = np.random.default_rng(8).normal(0, 0.3, 20)
    assert fit_fade(record_of(SLOWING + noise, 0.3), 100).odd_discharge_ids == ()
    spoilt = SLOWING + noise
    spoilt[6] -= 4
    assert fit_fade(record_of(spoilt, 0.3), 100).odd_discharge_ids == (7,)


def test_the_last_tests_of_a_battery_whose_fade_quickens_are_not_blamed():
    noise = np.random.default_rng(9).normal(0, 0.3, 16)
    loss = np.array([0.25 * i + (0.9 * (i - 11) if i > 11 else 0) for i in range(16)])
    assert fit_fade(record_of(100 - loss + noise, 0.3), 100).odd_discharge_ids == ()


def test_scatter_that_nobody_stated_makes_no_test_odd():
    """A test that claims 0.1 Ah among others that scatter by 1 Ah: of 60 healthy records 5 % may
    name one, and by the binomial distribution 8 or more in fewer than 1 % of such simulations."""
    named = 0
    for run in range(60):
        rng = np.random.default_rng((run, 3))
        made = record_of(100 - 0.5 * np.arange(16) + rng.normal(0, 1.0, 16), 0.6)
        made[5] = replace(made[5], independent_ah=0.1)
        named += bool(fit_fade(made, 100).odd_discharge_ids)
    assert named < 8


def test_a_test_far_from_the_rest_is_named_with_its_number():
    spoilt = points()
    spoilt[4] = replace(spoilt[4], capacity_ah=88.0)
    found = next(one for one in fit_fade(spoilt, 100).caveats if one.code == "odd_test")
    assert found.discharge_ids == (5,)


def test_the_distance_is_that_to_the_curve_through_the_others():
    """Against numpy's polyfit: 7 tests of 1 Ah, the others as good as stated."""
    x, y = np.arange(7.0), np.array([100.0, 99.0, 98.2, 97.0, 96.1, 88.0, 94.0])
    others = np.delete(np.arange(7), 5)
    curve, covariance = np.polyfit(x[others], y[others], 2, cov="unscaled")
    powers = np.array([25.0, 5.0, 1.0])
    error = np.sqrt(1 + powers @ covariance @ powers)
    design = np.column_stack([np.ones(7), x, x**2])
    assert distance(design, y, np.ones(7), 5) == pytest.approx(
        abs(88 - np.polyval(curve, 5)) / error
    )


def test_the_words_have_amp_hours_first_and_a_rise_has_its_own_interval():
    falling = fit_fade(yearly([200.0, 196.0, 192.0, 188.0]), 200.0)
    assert falling.words.startswith("Loses 4.0 Ah a year (2.0 % of rated), very likely ")
    rising = fit_fade(yearly([188.0, 192.0, 196.0, 200.0]), 200.0)
    assert rising.rises
    low, high = re.search(r"very likely (\S+) to (\S+) Ah\.$", rising.words).groups()
    assert 0 < float(low) < 4 < float(high)


def yearly(capacities):
    return [
        TrendPoint(736_000 + 365.25 * i, ah, 0.5, 0.5, EvidenceKind.MEASURED, i + 1, 1)
        for i, ah in enumerate(capacities)
    ]
