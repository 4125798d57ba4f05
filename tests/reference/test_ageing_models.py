"""Ageing against temperature, against published figures. Sources stand in SOURCES.md."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.analysis.ageing.exposure import (
    FAST_LEAD,
    GAS_CONSTANT,
    MIDDLE,
    SLOW_LEAD,
    STRONG,
    WEAK,
    Exposure,
    ageing_factor,
    ageing_rules,
    arrhenius,
)
from app.analysis.ageing.loss_models import (
    CALENDAR_MODELS,
    EXPONENTS,
    TYPE_SPREAD,
    calendar_level,
    calendar_losses,
    cycle_loss_percent,
    middle_loss,
)
from app.domain.chemistry import Chemistry
from app.domain.units.time_units import HOURS_PER_YEAR
from tests.benchmarks.published_formula import calendar_loss_percent


def at(temperature_c, years):
    return Exposure.of([(temperature_c, years * HOURS_PER_YEAR)])


def test_the_handbook_s_acceleration_factors():
    # NIST/SEMATECH e-Handbook 8.1.5.1: 25 to 125 °C, 133 and 17 597 (k = 8.617e-5 eV/K).
    for electron_volts, factor in ((0.5, 133), (1.0, 17597)):
        joule_per_mol = electron_volts / 8.617e-5 * GAS_CONSTANT
        assert arrhenius(np.array([125.0]), joule_per_mol)[0] == pytest.approx(factor, rel=3e-3)


@pytest.mark.parametrize(
    ("temperature_c", "charge", "years", "percent"),
    [
        # Published: about 19.0 % in 20 years at 25 °C, half charged.
        (25, 0.5, 20, 19.020),
        # Recomputed from the published constants (check values 6.2a).
        (15, 0.5, 1, 3.346),
        (15, 1.0, 1, 5.331),
        (25, 0.5, 1, 4.253),
        (25, 1.0, 1, 6.776),
        (35, 0.5, 1, 5.322),
        (35, 1.0, 1, 8.478),
        (45, 0.5, 1, 6.566),
        (45, 1.0, 1, 10.461),
        (25, 0.5, 5, 9.510),
        (25, 1.0, 5, 15.150),
        (35, 0.5, 5, 11.900),
        (35, 1.0, 5, 18.958),
    ],
)
def test_the_published_calendar_loss(temperature_c, charge, years, percent):
    assert calendar_loss_percent(at(temperature_c, years), charge) == pytest.approx(
        percent, abs=1e-3
    )


@pytest.mark.parametrize(
    ("temperature_c", "charge", "years"),
    [
        (15, 0.5, 35.72),
        (15, 1.0, 14.08),
        (25, 0.5, 22.11),
        (25, 1.0, 8.71),
        (35, 0.5, 14.12),
        (35, 1.0, 5.57),
        (45, 0.5, 9.28),
        (45, 1.0, 3.66),
    ],
)
def test_the_published_years_to_a_fifth(temperature_c, charge, years):
    assert calendar_loss_percent(at(temperature_c, years), charge) == pytest.approx(20, rel=1e-3)


def test_a_history_adds_squares_and_not_roots():
    # Nine months at 25 °C and three at 40 °C, half charged: 4.72567 % (check values 6.2b).
    year = at(25, 0.75).plus(at(40, 0.25))
    assert calendar_loss_percent(year, 0.5) == pytest.approx(4.72567, abs=1e-4)
    roots = calendar_loss_percent(at(25, 0.75), 0.5) + calendar_loss_percent(at(40, 0.25), 0.5)
    assert roots > 1.3 * 4.72567, "the wrong rule is far off"


def test_the_middle_of_the_models_is_their_geometric_mean():
    """By hand: 10.2 · 0.3^0.52 = 5.454, 5.878, 1.964, 7.092 and 4.740 % after three years at 25 °C
    and half charge; the mean of their logarithms is 1.5315."""
    assert calendar_level(0.5) == pytest.approx(math.exp(1.5315), rel=1e-3)
    assert middle_loss(3, 25, 0.5) == pytest.approx(4.625, rel=1e-3)
    # Ten years at the middle exponent: 4.625 · (10/3)^0.6.
    assert calendar_losses(at(25, 0), at(25, 10), [0.5])[0, 0, 1] == pytest.approx(9.524, rel=1e-3)


@pytest.mark.parametrize(
    ("temperature_c", "charge", "measured"),
    [(25, 0.5, 4.7), (25, 1.0, 11.0), (40, 0.5, 9.2), (40, 1.0, 13.6)],
)
def test_measured_losses_lie_within_the_spread_of_types(temperature_c, charge, measured):
    """Losses of one study's cells after 885 days (check values C1): within 1.64 SD of 0.6."""
    middle = middle_loss(885 / 365.25, temperature_c, charge)
    assert abs(math.log(measured / middle)) < 1.64 * TYPE_SPREAD


def test_at_half_charge_and_25_degrees_the_middle_is_nearer_to_the_data_than_the_formula():
    """4.7 % measured after 885 days; the formula made from those cells gives 6.6 (C2)."""
    formula = calendar_loss_percent(at(25, 885 / 365.25), 0.5)
    assert formula == pytest.approx(6.6, abs=0.05)
    assert abs(middle_loss(885 / 365.25, 25, 0.5) - 4.7) < 0.8


def test_the_exponent_of_time_is_that_of_the_sources_with_its_doubt():
    assert np.mean(EXPONENTS) == pytest.approx(0.6)
    assert np.std(EXPONENTS) == pytest.approx(0.12)
    logs = [math.log(one.half) for one in CALENDAR_MODELS]
    assert np.std(logs, ddof=1) == pytest.approx(TYPE_SPREAD, abs=0.05)


def test_ten_kelvin_do_not_double_the_loss():
    # Check values 6.2c: 25 to 35 °C multiplies the loss by 1.2513 and speeds the time by 1.5658.
    assert calendar_loss_percent(at(35, 1), 0.5) / calendar_loss_percent(
        at(25, 1), 0.5
    ) == pytest.approx(1.2513, abs=1e-4)
    assert MIDDLE.per_10_k == pytest.approx(1.5658, abs=1e-4)
    # 6.5: 1.41 from a maker's sheet, up to 2.2 from calendar ageing.
    assert WEAK.per_10_k == pytest.approx(1.41, abs=0.005)
    assert STRONG.per_10_k == pytest.approx(2.2, abs=0.01)
    # The sheet itself: 3500 cycles at 25 °C, 1800 at 45 °C.
    assert arrhenius(np.array([45.0]), WEAK.joule_per_mol)[0] == pytest.approx(
        3500 / 1800, rel=2e-3
    )


@pytest.mark.parametrize(
    ("temperature_c", "percent", "throughput_ah"),
    [(25, 4.2524, 16_693), (45, 9.4564, 3_904), (60, 16.1697, 1_472)],
)
def test_the_published_cycling_loss(temperature_c, percent, throughput_ah):
    # Check values 6.3a, worked with R = 8.314.
    assert cycle_loss_percent(1000, 2, temperature_c) == pytest.approx(percent, rel=1e-3)
    assert cycle_loss_percent(throughput_ah, 2, temperature_c) == pytest.approx(20, rel=1e-3)
    # 8347, 1952 and 736 full discharges, whatever the size of the battery.
    assert cycle_loss_percent(throughput_ah * 115, 230, temperature_c) == pytest.approx(
        20, rel=1e-3
    )


@pytest.mark.parametrize(
    ("fahrenheit", "lost_percent"),
    # Check values 6.6: loss of life of lead-acid at mean temperatures, published to whole percents.
    [(77, 0), (86, 30), (95, 50), (104, 66), (113, 75), (122, 83)],
)
def test_the_lead_acid_rule_of_ten_degrees(fahrenheit, lost_percent):
    celsius = np.array([(fahrenheit - 32) / 1.8])
    lost = 100 * (1 - 1 / SLOW_LEAD.rate(celsius)[0])
    assert lost == pytest.approx(lost_percent, abs=1.5)


def test_the_lead_acid_rule_of_eight_degrees():
    # Check values 6.7: 10 years at 25 °C, 5 at 33 °C, 2.5 at 41 °C.
    years = 10 / FAST_LEAD.rate(np.array([25.0, 33.0, 41.0]))
    assert years == pytest.approx([10, 5, 2.5])


def test_each_chemistry_has_its_own_rules():
    assert ageing_rules(Chemistry.LFP) == (WEAK, MIDDLE, STRONG)
    assert ageing_rules(Chemistry.AGM) == (SLOW_LEAD, FAST_LEAD)
    assert ageing_rules(Chemistry.LITHIUM_ION) == ()
    lead = ageing_factor(at(35, 1), ageing_rules(Chemistry.GEL))
    assert (lead.low, lead.high) == pytest.approx((2.0, 2 ** (10 / 8)))
    assert lead.low < lead.middle < lead.high


def test_the_energy_of_the_time_is_not_that_of_the_loss():
    # Check values 6.4c: time to 90 % of the decade of calendar ageing, 24 to 60 °C, from the
    # medians of 6.4a: 6.12 y at 24 °C and 0.585 y at 60 °C half charged, 3.58 and 0.372 y full.
    for cool, hot, joule_per_mol in ((6.12, 0.585, 53_600), (3.58, 0.372, 51_700)):
        kelvin = 1 / (24 + 273.15) - 1 / (60 + 273.15)
        assert GAS_CONSTANT * math.log(cool / hot) / kelvin == pytest.approx(
            joule_per_mol, rel=0.02
        )
        assert 49_600 <= joule_per_mol <= STRONG.joule_per_mol


def test_25_degrees_age_as_25_degrees():
    factor = ageing_factor(at(25, 3))
    assert (factor.low, factor.middle, factor.high) == pytest.approx((1, 1, 1))
    assert factor.equivalent_years(3 * HOURS_PER_YEAR) == pytest.approx((3, 3, 3))


def test_no_time_has_no_factor():
    assert math.isnan(ageing_factor(Exposure.of([])).middle)


histories = st.lists(st.tuples(st.floats(-20, 60), st.floats(1, 10_000)), min_size=1, max_size=20)


@given(histories, st.randoms(use_true_random=False), st.floats(0, 1))
def test_the_order_of_a_history_does_not_matter(pairs, chance, charge):
    mixed = list(pairs)
    chance.shuffle(mixed)
    one, other = (
        calendar_losses(Exposure.of([]), Exposure.of(some), [charge]) for some in (pairs, mixed)
    )
    assert one == pytest.approx(other)
    assert ageing_factor(Exposure.of(pairs)).high == pytest.approx(
        ageing_factor(Exposure.of(mixed)).high
    )


@given(histories, st.integers(0, 19), st.floats(0.1, 40), st.floats(0, 1))
def test_a_hotter_hour_never_rejuvenates(pairs, which, hotter, charge):
    which %= len(pairs)
    warmer = [(t + hotter if i == which else t, h) for i, (t, h) in enumerate(pairs)]
    lost = calendar_losses(Exposure.of([]), Exposure.of(pairs), [charge])
    hotter_lost = calendar_losses(Exposure.of([]), Exposure.of(warmer), [charge])
    assert (hotter_lost >= lost * (1 - 1e-12)).all()
    longer = Exposure.of([*pairs, (25.0, 100.0)])
    assert (calendar_losses(Exposure.of([]), longer, [charge]) >= lost).all()
