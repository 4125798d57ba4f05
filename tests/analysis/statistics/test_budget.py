import math
from dataclasses import replace

import pytest

from app.analysis.corrections.coefficients import TemperatureCoefficient
from app.analysis.corrections.reference_conditions import (
    Correction,
    correct_temperature,
    temperature_factor,
)
from app.analysis.counting.delivered import deliver
from app.analysis.evidence import uncertainty
from app.analysis.evidence.result import analyse, analyse_test
from app.analysis.statistics.budget import (
    RATE_LINE,
    combine,
    estimated,
    of_difference,
    rectangular,
    resolution,
    within,
)
from app.domain.entities.discharge import EndReason
from app.domain.entities.meter import MeterDetails, MeterKind
from app.domain.readings import Readings
from tests.builders import at_temperature, battery_details, discharge_details, steady


def meter(gain=1.0, offset=0.05, step=0.1):
    return MeterDetails("m", MeterKind.SHUNT, gain, offset, step)


def result(readings, meter_, **more):
    more = {"end_reason": EndReason.PROTECTION, "empty_v": 12.0} | more
    return analyse(readings, meter=meter_, **more)


def line(budget, code):
    return next(line for line in budget.lines if line.code == code)


def test_limits_become_standard_uncertainties_as_the_gum_says():
    # GUM 4.3.7: 0.40e-6 -> 0.23e-6; F.2.2.1: a resolution of 1 -> 0.29.
    assert rectangular(0.40e-6) == pytest.approx(0.23e-6, abs=5e-9)
    assert resolution(1.0) == pytest.approx(0.29, abs=2e-3)
    # Half a step as a limit is the same thing.
    assert rectangular(0.5) == pytest.approx(resolution(1.0))


def test_the_end_gauge_of_gum_h1_comes_out_as_published():
    # GUM H.1: components 25, 5.8, 3.9, 6.7, 2.9 and 16.6 nm with 18, 24, 5, 8, 50 and 2 degrees of
    # freedom: u_c = 32 nm, 16 effective degrees of freedom, U99 = 93 nm.
    parts = [(25, 18), (5.8, 24), (3.9, 5), (6.7, 8), (2.9, 50), (16.6, 2)]
    lines = tuple(estimated(str(u), "", u, "nm", 1.0, degrees_of_freedom=nu) for u, nu in parts)
    budget = combine(lines, level=0.99)
    assert round(budget.standard_ah) == 32
    assert budget.degrees_of_freedom == 16
    assert round(budget.coverage_factor, 2) == 2.92
    assert round(budget.coverage_factor * 32) == 93


def test_a_common_systematic_part_enters_the_level_and_not_what_is_independent():
    # GUM H.3 with a common 0.005 beside 0.0029 of the intercept: 0.0057689 (GTC docs, GUM_H3).
    budget = combine(
        (
            estimated("a", "", 0.0028776, "", 1.0),
            within("b", "", 0.005 * 3**0.5, "", 1.0, common=True),
        )
    )
    assert budget.standard_ah == pytest.approx(0.00576893, rel=1e-4)
    assert budget.independent_ah == pytest.approx(0.0028776)


def test_the_worked_budget_comes_out_by_hand_and_by_code():
    # 20 A x 4.80 h at 15 °C: gain 0.5 %, zero 0.05 A, clock 0.1 %, 1 K, 0.006 ± 0.001 per K to
    # 20 °C, all rectangular: 98.9691 Ah, u 0.5630, parts .2857 .1428 .0571 .3534 .2945 (computed
    # by hand partials and by an independent uncertainty library).
    coefficient = TemperatureCoefficient(0.006, 0.001, 0, 40, "")
    correction = correct_temperature(coefficient, 15.0, 20.0, limit_k=1.0)
    capacity = 20 * 4.8 * correction.factor
    assert capacity == pytest.approx(98.9691, abs=5e-5)
    gain, offset, _, clock = uncertainty.meter_lines(
        meter(0.5, 0.05, 0.0), capacity, 4.8, correction.factor
    )
    slope, reading = uncertainty.correction_lines(correction, capacity)
    parts = [gain, offset, clock, reading, slope]
    expected = [0.2857, 0.1428, 0.0571, 0.3534, 0.2945]
    assert [round(p.standard_ah, 4) for p in parts] == expected
    assert combine(tuple(parts)).standard_ah == pytest.approx(0.5630, abs=5e-5)


@pytest.mark.parametrize(
    ("standards", "normal", "expected"),
    [
        # One rectangle: 0.95 · sqrt(3) (GUM 4.3.9 note, G.1.5).
        ([1.0], 0.0, 0.95 * 3**0.5),
        # Two equal rectangles make a triangle: sqrt(6) · (1 - sqrt(0.05)).
        ([1.0, 1.0], 0.0, 6**0.5 * (1 - 0.05**0.5)),
        # Nothing but normal, and very many rectangles.
        ([], 1.0, 1.95996),
        ([1.0] * 40, 0.0, 1.96),
    ],
)
def test_the_interval_follows_the_shape_of_the_sum(standards, normal, expected):
    lines = [within(str(i), "", u * 3**0.5, "", 1.0) for i, u in enumerate(standards)]
    if normal:
        lines.append(estimated("n", "", normal, "", 1.0))
    assert combine(tuple(lines)).coverage_factor == pytest.approx(expected, abs=0.01)


def test_gain_grows_with_charge_and_offset_with_time():
    short, long = result(steady(hours=5), meter()).budget, result(steady(), meter()).budget
    ratio = line(long, "gain").standard_ah / line(short, "gain").standard_ah
    assert ratio == pytest.approx(2, rel=0.01)
    assert line(long, "offset").standard_ah == pytest.approx(0.05 * 10 / math.sqrt(3))


def test_the_meter_s_gain_is_kept_apart_from_what_is_not_shared():
    budget = result(steady(), meter(gain=5.0)).budget
    assert budget.standard_ah**2 == pytest.approx(
        budget.independent_ah**2 + line(budget, "gain").standard_ah ** 2
    )
    assert budget.largest.code == "gain"


def test_not_noting_the_end_costs_half_an_interval_both_ways():
    readings = Readings.of([3600.0 * i for i in range(11)], [9.0] * 11)
    noted = result(readings, meter(), ended_after_h=10.5)
    left_open = result(readings, meter())
    assert left_open.capacity_ah == pytest.approx(94.5)
    assert line(left_open.budget, "end").limit == pytest.approx(4.5)
    assert left_open.budget.largest.code == "end"
    assert line(noted.budget, "end").standard_ah < 0.3


def test_an_empty_last_reading_leaves_little_to_guess():
    measured = result(steady(last_v=10.5), meter())
    assert measured.end.limit_ah == pytest.approx(0.9)
    assert measured.capacity_ah == measured.delivered.charge_ah


def test_a_cut_off_passed_between_readings_lies_behind_the_straight_crossing():
    readings = Readings.of([0, 3600, 7200], [9.0] * 3, [13.0, 12.0, 10.0])
    measured = result(readings, meter(), cut_off_v=10.5)
    # The straight line crosses after three quarters of the last hour.
    assert measured.end.limit_ah == pytest.approx(9 * 0.25 / 2)
    assert measured.end.shift_ah == -measured.end.limit_ah


def test_a_lower_bound_has_neither_end_nor_charge_to_doubt():
    bound = result(steady(last_v=13.0), meter(), end_reason=EndReason.TIME)
    assert {"end", "charge"} & {one.code for one in bound.budget.lines} == set()
    assert bound.capacity_ah == bound.delivered.charge_ah


def test_a_longer_log_of_the_same_load_never_has_a_larger_relative_uncertainty_without_offset():
    last = math.inf
    for hours in (2, 4, 6, 8, 10):
        readings = Readings.of(
            [60.0 * i for i in range(hours * 60 + 1)],
            [9.0 + 0.1 * math.sin(i) for i in range(hours * 60 + 1)],
        )
        budget = result(readings, meter(offset=0.0, step=0.0)).budget
        relative = budget.standard_ah / deliver(readings).charge_ah
        assert relative <= last
        last = relative


def test_a_hot_home_test_has_its_corrections_as_lines_of_its_own():
    # 9 A x 10 h at 40 °C to the label's 25 °C (1.004, u 0.005; 0.0002 and 0.0004 per K, ± 2 K) and
    # to its 5 h rate, (9/20)^0.006 with u 0.008 ln(20/9): nothing is left to flag.
    battery = battery_details(rated_hours=5.0)
    found = analyse_test(discharge_details(at_temperature(steady(), 40.0)), battery, meter())
    capacity = found.capacity_ah
    assert capacity / (90 + found.end.shift_ah) == pytest.approx(0.99522 / 1.004, abs=1e-5)
    expected = {
        "temperature_coefficient": 0.005 / 1.004 * capacity,
        "temperature_reading": 0.0004 / 1.004 * 2 / 3**0.5 * capacity,
        "rate_coefficient": 0.00639 * capacity,
    }
    got = {code: line(found.budget, code).standard_ah for code in expected}
    assert got == pytest.approx(expected, rel=2e-3)
    assert {"no_temperature_correction", "no_rate_correction"} & {
        c.code for c in found.caveats
    } == set()


def test_what_the_rate_may_be_wrong_by_is_no_scatter_between_the_tests_of_a_battery():
    found = analyse_test(
        discharge_details(steady()), battery_details(rated_hours=5.0), meter(gain=0.0)
    )
    plain = analyse_test(discharge_details(steady()), battery_details(), meter(gain=0.0))
    rate = line(found.budget, "rate_coefficient").standard_ah
    assert found.budget.standard_ah > 1.2 * plain.budget.standard_ah
    assert found.budget.standard_ah**2 == pytest.approx(found.budget.independent_ah**2 + rate**2)
    assert found.budget.rate_ah == pytest.approx(-rate), "below the rated current it takes away"


def test_between_two_tests_at_other_currents_the_doubt_of_the_rate_stays():
    """The error of the exponent is one and the same: of two tests its difference stays."""
    slow = combine((within("x", "", 0.3 * 3**0.5, "Ah", 1.0),))
    fast = combine((*slow.lines, estimated(RATE_LINE, "", 1.4, "Ah", 1.0, common=True)))
    own = math.hypot(0.3, 0.3)
    assert of_difference(fast, fast, same_meter=True) == pytest.approx(own)
    assert of_difference(slow, fast, same_meter=True) == pytest.approx(math.hypot(own, 1.4))


def test_corrections_that_are_switched_off_stay_off_and_a_lower_bound_is_never_raised():
    cold = discharge_details(at_temperature(steady(), 5.0))
    off = battery_details(corrects_temperature=False, corrects_rate=False, rated_hours=5.0)
    found = analyse_test(cold, off, meter())
    assert found.capacity_ah == found.delivered.charge_ah + found.end.shift_ah
    stopped = replace(
        cold, end_reason=EndReason.TIME, readings=at_temperature(steady(last_v=12.6), 5)
    )
    bound = analyse_test(stopped, battery_details(), meter())
    assert bound.corrections[0].factor > 1
    assert bound.capacity_ah == bound.delivered.charge_ah


def test_a_correction_that_was_not_applied_adds_no_line():
    off = Correction("temperature", "temperature", False, 1.0, "", "")
    assert uncertainty.correction_lines(off, 100) == ()
    assert temperature_factor(0.006, 20, 20) == 1


def test_leaving_the_temperature_out_never_makes_a_test_surer():
    def half(readings):
        return analyse_test(discharge_details(readings), battery_details(), meter()).budget

    none = at_temperature(steady(), math.nan)
    unnoted, warm = half(none), half(at_temperature(steady(), 25.0))
    assert unnoted.expanded_ah > warm.expanded_ah
    assert line(unnoted, "temperature_unnoted").unit == "%"
