import math
import statistics

import pytest

from app.analysis.corrections.coefficients import (
    RateExponent,
    rate_exponent,
    temperature_coefficient,
)
from app.analysis.corrections.reference_conditions import (
    correct_rate,
    correct_temperature,
    rate_factor,
    same_rate,
    temperature_factor,
)
from app.domain.chemistry import Chemistry
from app.domain.i18n.message import Reader
from app.domain.i18n.preferences import Preferences, TemperatureShown

LFP = temperature_coefficient(Chemistry.LFP)
FLOODED = temperature_coefficient(Chemistry.FLOODED)
# Discharged at the same current, % of nominal capacity (abstract at scholarmate.com/S/1bA2WF).
LFP_BY_TEMPERATURE = {20: 93.33, 10: 86, 0: 80.67, -10: 78, -20: 70, -30: 64}


@pytest.mark.parametrize(("per_k", "expected"), [(0.006, 96.6387), (0.01, 100.0)])
def test_the_iec_form_divides(per_k, expected):
    # 92 Ah at 12 °C to 20 °C, coefficients of a maker's support page (velapower.com/support).
    assert 92 * temperature_factor(per_k, 12, 20) == pytest.approx(expected, abs=5e-5)


def test_dividing_is_not_multiplying():
    # The two families at 5 K and 0.009: 1/(1+x) = 0.95694, 1-x = 0.95500.
    assert temperature_factor(0.009, 25, 20) == pytest.approx(0.95694, abs=5e-6)
    assert temperature_factor(0.009, 25, 20) != pytest.approx(0.955, abs=1e-4)


def test_fahrenheit_and_celsius_name_the_same_correction():
    # 27 °C is 80.6 °F and not 80 °F: the trap of a maker's guide with one rule in two units.
    assert temperature_factor(0.009, 30, 27) == pytest.approx(
        temperature_factor(0.009, (86 - 32) / 1.8, (80.6 - 32) / 1.8)
    )


def test_the_doubt_at_the_label_s_temperature_is_what_its_source_scatters_by():
    """0.002: the published shares from 5 to 45 °C around a straight line (n - 2)."""
    celsius, shares = (5, 15, 25, 35, 45), (0.995, 1.002, 1.0, 1.002, 1.004)
    line = statistics.linear_regression(celsius, shares)
    apart = [y - line.intercept - line.slope * x for x, y in zip(celsius, shares, strict=True)]
    scatter = math.sqrt(sum(one**2 for one in apart) / 3)
    assert LFP.standard(25, 25, 0.1) == pytest.approx(scatter, abs=5e-4)
    assert "The standard uncertainties are our judgement: at 20 and 25 °C, 0.002" in LFP.source


@pytest.mark.parametrize("temperature", [-10, -20, -30])
def test_below_freezing_the_older_line_lies_within_two_standard_uncertainties(temperature):
    share = LFP_BY_TEMPERATURE[temperature] / 93.33
    doubt = LFP.standard(temperature, 20, 0.1)
    assert abs(share - LFP.share(temperature, 20)) <= 2 * doubt


# Three types of cells, share free of their ageing, mean and SD of the types: ESC toolbox, doi
# 10.17632/p8kf893yv3.1 and a 20 Ah cell, computed from the measured data (26 to 31 h).
@pytest.mark.parametrize(
    ("temperature", "share"), [(5, 0.995), (15, 1.002), (35, 1.002), (45, 1.004)]
)
def test_measured_cells_lie_within_the_doubt_of_the_table(temperature, share):
    assert abs(LFP.share(temperature, 25) - share) <= LFP.standard(temperature, 25, 0.1)


def test_a_hot_and_a_cold_home_test_are_corrected_by_the_table():
    # 40 °C: 1.004 of 25 °C, u 0.005. 10 °C: 0.997, u 0.005. Half-way from 35 to 40: 1.0035.
    hot, cold = correct_temperature(LFP, 40, 25), correct_temperature(LFP, 10, 25)
    assert hot.factor == pytest.approx(1 / 1.004)
    assert cold.factor == pytest.approx(1 / 0.997)
    assert hot.standard_share == pytest.approx(0.005 / 1.004)
    assert correct_temperature(LFP, 37.5, 25).factor == pytest.approx(1 / 1.0035)
    assert "small cells" in hot.words


def test_between_20_and_25_degrees_lithium_iron_phosphate_does_not_change():
    assert correct_temperature(LFP, 21, 25).factor == 1.0


def test_a_fast_test_doubts_the_table_of_slow_ones():
    # 2.5 times as much at half the capacity per hour; ln 2 / ln 5 of the way at a fifth.
    slow, fifth, half = (correct_temperature(LFP, 5, 25, c_rate=c) for c in (0.05, 0.2, 0.5))
    assert slow.standard_share == pytest.approx(0.006 / 0.994)
    assert fifth.standard_share / slow.standard_share == pytest.approx(1 + 1.5 * 0.430677)
    assert half.standard_share / slow.standard_share == pytest.approx(2.5)


@pytest.mark.parametrize(
    ("coefficient", "temperature"), [(LFP, -41), (LFP, 46), (FLOODED, -3), (FLOODED, 48)]
)
def test_outside_the_source_nothing_is_corrected_and_it_is_flagged(coefficient, temperature):
    correction = correct_temperature(coefficient, temperature, 25)
    assert not correction.applied
    assert correction.out_of_range
    assert correction.factor == 1.0
    assert "The source covers" in correction.words


def test_a_chemistry_without_a_source_is_not_corrected():
    correction = correct_temperature(temperature_coefficient(Chemistry.LITHIUM_ION), 10, 25)
    assert not correction.applied
    assert "No published coefficient" in correction.words


def test_lead_acid_by_a_maker_s_table_stays_within_the_limits():
    # > 60 min discharge against 25 °C (discover-energy.com): -16 % at 0 °C to +5 % at 40 °C.
    for t, change in {0: -16, 5: -12, 10: -10, 15: -6, 30: 3, 40: 5}.items():
        per_k = change / 100 / (t - 25)
        assert abs(per_k - FLOODED.per_k) <= FLOODED.limit_per_k


def test_peukert_in_its_rated_hours_form():
    # 120 Ah at 20 h, k 1.4, 120 A: 0.30 h published (oracletutoring.ca), exact 0.301709 h.
    delivered_120 = 120 / rate_factor(1.4, 120, 120 / 20)
    assert delivered_120 / 120 == pytest.approx(0.301709, abs=1e-6)
    # 100 Ah at 20 h, k 1.2, 10 A: 8.7055 h and 87.055 Ah.
    assert 100 / rate_factor(1.2, 10, 5) == pytest.approx(87.055, abs=5e-4)


def test_the_naive_form_is_not_used():
    # t = C/I^k gives 14.5 h for 100 Ah at 5 A; a 20-hour rating must give 20 h.
    assert 100 / rate_factor(1.2, 5, 5) / 5 == pytest.approx(20)


@pytest.mark.parametrize(("ratio", "exponent"), [(1.10, 1.0329), (1.20, 1.0648)])
def test_the_exponent_from_two_capacities(ratio, exponent):
    # C100/C5 of 1.10 to 1.20 (IEC 62257-8-1, 3.12 note 2): k = 1 + ln r / ln(20/r).
    i_100, i_5 = ratio / 100, 1 / 5
    assert rate_factor(exponent, i_5, i_100) == pytest.approx(ratio, abs=2e-4)


@pytest.mark.parametrize(("k", "ratio"), [(1.05, 0.95522), (1.02, 0.98184)])
def test_a_weak_exponent_costs_a_few_percent(k, ratio):
    # From 0.2 to 0.5 times the capacity per hour.
    assert 1 / rate_factor(k, 0.5, 0.2) == pytest.approx(ratio, abs=5e-6)


def test_the_rated_form_beats_a_printed_table_that_breaks_its_own_rule():
    # "k = 1.1" printed as 89, 79, 65, 58 Ah at C/10, C/5, C/2, 1C; its formula gives these.
    rated = [100 / rate_factor(1.1, i, 5) for i in (10, 20, 50, 100)]
    assert rated == pytest.approx([93.30, 87.06, 79.43, 74.11], abs=5e-3)


@pytest.mark.parametrize(
    ("current", "hours", "words"),
    [
        (19, 5, "within 20 %"),
        (3, 5, "The rule holds from 0.0333 to 2"),
        (50, None, "hour rate is not known"),
    ],
)
def test_the_rate_is_not_corrected_where_the_rule_does_not_hold(current, hours, words):
    correction = correct_rate(rate_exponent(Chemistry.LFP), current, 100, hours)
    assert not correction.applied
    assert words in correction.words


def test_a_slow_home_test_is_corrected_to_the_label_s_rate():
    # 9 A for 100 Ah labelled over 5 h: (9/20)^0.006 = 0.99522, u 0.008 · ln(20/9) = 0.00639.
    found = correct_rate(rate_exponent(Chemistry.LFP), 9, 100, 5)
    assert found.factor == pytest.approx(0.99522, abs=5e-6)
    assert found.standard_share == pytest.approx(0.00639, abs=5e-6)
    assert "small cells" in found.words


def test_below_a_twentieth_the_capacity_is_held():
    # 4 A counts as 5 A: (5/20)^0.006 = 0.99172.
    found = correct_rate(rate_exponent(Chemistry.LFP), 4, 100, 5)
    assert found.factor == pytest.approx(0.99172, abs=5e-6)


def test_a_very_fast_test_follows_the_steeper_rule_from_a_third_on():
    # 100 A against 10 A: (33.3/10)^0.006 · (100/33.3)^0.025 = 1.03532; the table of measured
    # cells has 1 / 0.97 with a standard uncertainty of 0.04.
    found = correct_rate(rate_exponent(Chemistry.LFP), 100, 100, 10)
    assert found.factor == pytest.approx(1.03532, abs=5e-5)
    assert abs(1 / found.factor - 0.97) < 0.04
    # 0.008 · ln 3.33 and 0.025/√3 · ln 3.003, added in squares.
    assert found.standard_share == pytest.approx(0.01856, abs=5e-5)


# The mean of five types of cells relative to a tenth, with its standard uncertainty.
@pytest.mark.parametrize(
    ("c_rate", "share", "doubt"),
    [(1 / 30, 1.004, 0.007), (0.05, 1.003, 0.005), (0.2, 0.995, 0.007), (1 / 3, 0.991, 0.014)],
)
def test_measured_rates_lie_within_their_doubt(c_rate, share, doubt):
    found = correct_rate(rate_exponent(Chemistry.LFP), 100 * c_rate, 100, 10)
    assert abs(1 / found.factor - share) < doubt


# Measured cells, each with itself: its capacity at the slower of two rates as a multiple of that at
# the faster one, and the ratio of the rates. About-Energy BPX (fitted, 0.985 and 1.010 at C/5 and
# C/20 relative to C/10); doi 10.17632/p8kf893yv3.1 (0 to -0.2 % from C/30 to C/3); a 20 Ah cell
# (-0.1 % from C/26 to 0.34 C); a 3 Ah cell's resistance alone (-0.1 % from C/20 to C/2).
RATES_OF_TYPES = ((1.010 / 0.985, 4.0), (1.001, 10.0), (1.001, 8.84), (1.001, 10.0))


def test_the_doubt_of_the_rate_is_what_types_of_cells_differ_by():
    # Slopes 0.0181, 0.0004, 0.0005, 0.0004: mean 0.0049, standard deviation 0.0088.
    slopes = [math.log(share) / math.log(ratio) for share, ratio in RATES_OF_TYPES]
    given = rate_exponent(Chemistry.LFP)
    assert given.exponent - 1 == pytest.approx(statistics.mean(slopes), abs=0.0015)
    assert given.standard == pytest.approx(statistics.stdev(slopes), abs=0.001)
    # The type that gains most by a slow test lies within two standard uncertainties.
    assert all(abs(one - 0.006) < 2 * given.standard for one in slopes)


def test_a_fast_test_is_corrected_to_the_rated_current():
    correction = correct_rate(RateExponent(1.2, 0.1, 0.01, 1, ""), 10, 100, 20)
    assert correction.applied
    assert 87.055 * correction.factor == pytest.approx(100, abs=1e-3)


@pytest.mark.parametrize("correct", [correct_temperature, correct_rate])
def test_corrections_can_be_switched_off(correct):
    arguments = (LFP, 5, 25) if correct is correct_temperature else (None, 5, 100, 20)
    correction = correct(*arguments, wanted=False)
    assert correction.factor == 1.0
    assert "Switched off" in correction.words


def test_every_coefficient_names_its_source():
    for chemistry in Chemistry:
        for one in (temperature_coefficient(chemistry), rate_exponent(chemistry)):
            assert one is None or len(one.source) > 20


def test_a_correction_names_its_temperatures_in_the_reader_s_unit():
    reader = Reader(Preferences(temperature=TemperatureShown.FAHRENHEIT))
    words = reader.read(correct_temperature(LFP, 10.0, 25.0).words)
    assert words.startswith("At 50.0 °F (10.0 °C) a battery gives 99.7 % of its capacity at 77 °F")


@pytest.mark.parametrize(
    ("current_a", "same"), [(7.9, False), (8.1, True), (11.9, True), (12.1, False)]
)
def test_a_load_within_a_fifth_of_the_rated_10_a_counts_as_the_same(current_a, same):
    assert same_rate(current_a, 10.0) is same


def test_a_temperature_that_nobody_noted_makes_no_result_surer():
    """As warm as 10 or 40 °C: for lithium iron phosphate 0.4 % at the most, and the doubt there."""
    unnoted, noted = correct_temperature(LFP, None, 25), correct_temperature(LFP, 40, 25)
    assert (unnoted.applied, unnoted.factor) == (False, 1.0)
    expected = math.hypot((1 - noted.factor) / math.sqrt(3), noted.standard_share)
    assert unnoted.unnoted_share == pytest.approx(expected)
    assert correct_temperature(LFP, None, 25, wanted=False).unnoted_share == 0
