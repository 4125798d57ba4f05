import math
from datetime import date

import numpy as np
import pytest
from scipy.stats import norm

from app.analysis.battery.capacity_forecast import LIKELY, Basis, CapacityForecast, gain_factors
from app.analysis.nights.cold_derating import cold_share, may_charge
from app.analysis.nights.nights_report import RoadWish, road_report
from app.analysis.nights.parallel_batteries import BatteryCapacity, check_pair, pair_usable
from app.domain.chemistry import Chemistry
from app.domain.errors import InvalidInput
from tests.builders import battery_details
from tests.records import TODAY, battery, record, report_of, stopped

FADING = (100.0, 98.6, 97.1, 95.4, 93.9)


def cold_report(cold_c=-5.0, capacities=FADING, **changes):
    of = battery(cold_week_c=cold_c, **changes)
    return road_report(of, report_of(of, record(of, capacities)), RoadWish())


def test_the_share_in_the_cold_is_that_of_the_table():
    # 0.98 at -5 °C with a standard uncertainty of 0.02: as equally likely ± 0.02 √3, and never more
    # than in the warmth.
    found = cold_share(battery_details(), -5.0)
    assert found.middle == pytest.approx(0.98)
    assert found.low == pytest.approx(0.98 - 0.034641)
    assert found.high == 1.0


def test_the_share_of_a_lead_acid_battery_in_the_cold_is_by_its_slope():
    # 1 + 0.007 (5 - 25), within 0.003 and 0.011 per kelvin.
    found = cold_share(battery_details(chemistry=Chemistry.AGM, nominal_v=12.0), 5.0)
    assert [found.low, found.middle, found.high] == pytest.approx([0.78, 0.86, 0.94])


@pytest.mark.parametrize(("chemistry", "cold_c"), [("lfp", -35), ("agm", -5), ("lithium_ion", 0)])
def test_nothing_is_guessed_where_no_source_reaches(chemistry, cold_c):
    found = cold_share(battery_details(chemistry=Chemistry(chemistry)), cold_c)
    assert found.middle is None
    assert any(one in found.words for one in ("does not guess", "nothing can be said"))


def test_a_cold_week_beyond_the_source_is_said_and_has_no_nights():
    report = cold_report(-35.0)
    cold = [one for one in report.situations if "cold" in one.label]
    assert [one.nights for one in cold] == [None]
    assert "covers −30 °C to 45 °C" in cold[0].words


def test_the_cold_never_has_more_nights_and_doubts_more():
    warm, cold = cold_report().situations
    for name in ("low", "middle", "high"):
        assert getattr(cold.nights.nights, name) < getattr(warm.nights.nights, name)
    width = [s.nights.nights.high - s.nights.nights.low for s in (warm, cold)]
    assert width[1] > width[0]


def test_a_lower_bound_in_the_cold_takes_the_least_of_the_source():
    of = battery(cold_week_c=-5.0)
    report = road_report(of, report_of(of, stopped(of, 60.0)), RoadWish())
    warm, cold = report.situations
    ratio = cold.nights.nights.low / warm.nights.nights.low
    assert ratio == pytest.approx(0.98 - 0.034641)


def test_a_lithium_battery_is_not_reckoned_to_charge_below_freezing():
    report = cold_report(-5.0, charge_ah_a_day=10.0)
    assert [one.label for one in report.situations if "cold" in one.label] == [
        "Now, in a cold week at −5 °C, without charging"
    ]
    assert "must not be charged below 0 °C" in report.cold_words


def test_above_freezing_it_is():
    report = cold_report(3.0, charge_ah_a_day=10.0)
    assert sum("cold" in one.label for one in report.situations) == 2


@pytest.mark.parametrize(
    ("chemistry", "cold_c", "may"),
    [("lfp", -0.1, False), ("lfp", 0.0, True), ("lithium_ion", -5, False), ("agm", -5, True)],
)
def test_who_may_be_charged_in_the_cold(chemistry, cold_c, may):
    assert may_charge(Chemistry(chemistry), cold_c) is may


# --- two in parallel


def known(middle, own, gain=0.0, meter=1, **changes):
    """A side whose capacity is normal, equally likely values at the middles of equal parts."""
    levels = (np.arange(LIKELY) + 0.5) / LIKELY
    likely = norm.ppf(levels, middle, own)
    about = battery_details(**({"reserve_share": 0.0} | changes))
    return BatteryCapacity(
        about, CapacityForecast(Basis.TESTS, (TODAY,), likely[None, :], gain, meter)
    )


def half_width(amount):
    return (amount.high - amount.low) / 2 / norm.ppf(0.95)


def test_capacities_add_and_independent_doubts_add_in_quadrature():
    amount = pair_usable(known(100, 3.0), known(80, 4.0, meter=2), TODAY, later=False)
    assert amount.middle == pytest.approx(180, rel=1e-3)
    assert half_width(amount) == pytest.approx(5.0, rel=0.02)


def test_the_gain_of_one_meter_is_common_and_of_two_is_not():
    same = pair_usable(known(100, 0.01, 0.01), known(80, 0.01, 0.01), TODAY, later=False)
    other = pair_usable(known(100, 0.01, 0.01), known(80, 0.01, 0.01, 2), TODAY, later=False)
    # 1 % of 180 Ah at once, or 1 and 0.8 Ah in quadrature; nine gains stand for a normal one.
    assert half_width(same) == pytest.approx(1.8, rel=0.1)
    assert half_width(other) == pytest.approx(math.hypot(1.0, 0.8), rel=0.1)


def test_for_a_later_day_the_doubts_are_added_in_full():
    amount = pair_usable(known(100, 3.0), known(80, 4.0, meter=2), TODAY, later=True)
    assert half_width(amount) == pytest.approx(7.0, rel=0.02)


def test_each_keeps_its_own_reserve():
    sides = known(100, 0.1, reserve_share=0.5), known(80, 0.1, reserve_share=0.25)
    assert pair_usable(*sides, TODAY, later=False).middle == pytest.approx(50 + 60, rel=1e-3)


def test_equal_gains_have_the_standard_deviation_they_stand_for():
    assert np.std(np.log(gain_factors(0.01))) == pytest.approx(0.01)


def parallel(second_tests, **changes):
    one, other = battery(), battery(2, name="Other", **changes)
    beside = (other, report_of(other, second_tests(other)))
    return road_report(one, report_of(one, record(one, FADING)), RoadWish(), beside)


def test_a_pair_does_more_nights_than_either():
    report = parallel(lambda other: record(other, FADING))
    assert report.pair_name == "Other"
    both, alone = report.pair[0].nights.nights.middle, report.now.nights.middle
    assert both == pytest.approx(2 * alone, rel=0.01)


def test_a_pair_with_a_lower_bound_is_a_lower_bound():
    report = parallel(lambda other: stopped(other, 60.0))
    found = report.pair[0].nights
    assert found.basis is Basis.AT_LEAST
    assert found.nights.middle is None
    assert found.nights.low > report.now.nights.low


def test_a_pair_with_an_untested_battery_stands_on_a_label():
    assert parallel(lambda _: []).pair[0].words.endswith("by the label")


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"nominal_v": 25.6}, "nominal voltage of Other”: “25.6 V” does not fit. It needs 12.8 V"),
        ({"chemistry": Chemistry.AGM}, "chemistry of Other”: “lead-acid, AGM”"),
    ],
)
def test_unequal_batteries_are_not_joined(changes, words):
    with pytest.raises(InvalidInput, match=words):
        check_pair(battery_details(), battery_details(name="Other", **changes))


def test_a_pair_is_asked_about_a_day_only_as_far_as_both_are_known():
    one, other = battery(), battery(2, name="Other")
    beside = (other, report_of(other, record(other, FADING)))
    report = road_report(
        one, report_of(one, record(one, FADING)), RoadWish(date(2029, 6, 1)), beside
    )
    now, later = (s.nights.nights for s in report.pair)
    assert later.middle < now.middle
    assert later.high - later.low > now.high - now.low


@pytest.mark.parametrize(("cold_c", "charge"), [(3.0, 10.0), (3.0, 0.0), (-5.0, 0.0)])
def test_where_charging_is_no_question_the_source_of_the_cold_stands_alone(cold_c, charge):
    report = cold_report(cold_c, charge_ah_a_day=charge)
    assert report.cold_words == cold_share(battery_details(), cold_c).words
    assert report.cold_words
    assert "must not be charged" not in report.cold_words


def test_two_labels_in_a_cold_that_no_source_covers_give_nothing_to_count_on():
    about = battery_details(reserve_share=0.2)
    label = CapacityForecast(Basis.LABEL, (), np.empty((0, LIKELY)), 0.0, None)
    warm = BatteryCapacity(about, label)
    assert pair_usable(warm, warm, TODAY, later=False).middle == pytest.approx(80 + 80)
    cold = BatteryCapacity(about, label, cold_share(about, -35.0))
    assert pair_usable(cold, cold, TODAY, later=False).middle == 0
