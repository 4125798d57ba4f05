"""Charges that can be computed exactly (mathematics), and how far the trapezoid may be off."""

import math

import pytest

from app.analysis.counting.delivered import deliver
from app.analysis.evidence.expectation import Expectation
from app.domain.readings import Readings


def charge(times_h, currents):
    return deliver(Readings.of([t * 3600 for t in times_h], currents)).charge_ah


def grid(hours, step):
    return [step * i for i in range(round(hours / step) + 1)]


def test_twenty_ampere_for_five_hours_is_a_hundred_ampere_hours():
    assert charge(grid(5, 1), [20.0] * 6) == pytest.approx(100)


def test_five_ampere_for_twenty_hours_is_the_published_hundred():
    # US Army Ordnance OS 010, section 14: 5 A x 20 h = 100 Ah.
    assert charge(grid(20, 1), [5.0] * 21) == pytest.approx(100)


@pytest.mark.parametrize("times", [grid(5, 1), [0, 0.1, 0.7, 2.2, 2.3, 4.9, 5]])
def test_a_rising_straight_line_is_exact_at_any_spacing(times):
    assert charge(times, [10 + 2 * t for t in times]) == pytest.approx(75)


@pytest.mark.parametrize(
    ("step", "trapezoid"), [(0.5, 69.26322314), (1, 69.53307958), (2, 70.60831611)]
)
def test_an_exponential_is_off_by_the_known_amount(step, trapezoid):
    # Exact 69.17317734 Ah; the trapezoid gives exact · x / tanh x with x = step / 8 h.
    times = grid(8, step)
    counted = charge(times, [20 * math.exp(-t / 4) for t in times])
    assert counted == pytest.approx(trapezoid, abs=1e-7)
    x = step / 8
    assert counted == pytest.approx(80 * (1 - math.exp(-2)) * x / math.tanh(x), rel=1e-12)


def test_constant_power_draws_more_current_as_the_voltage_falls():
    # 120 W, 13.4 to 12.0 V in a straight line over 8 h: P·T/(V0-V1)·ln(V0/V1).
    times = grid(8, 1 / 60)
    volts = [13.4 - 1.4 * t / 8 for t in times]
    counted = charge(times, [120 / v for v in volts])
    assert counted == pytest.approx(75.667239, abs=1e-5)
    result = deliver(Readings.of([t * 3600 for t in times], [120 / v for v in volts], volts))
    assert result.energy_wh == pytest.approx(960, rel=1e-9)


def test_a_resistor_is_exact():
    times = grid(8, 1)
    counted = charge(times, [(13.4 - 1.4 * t / 8) / 0.6 for t in times])
    assert counted == pytest.approx(169.333333, abs=1e-6)


def test_the_common_example_of_a_day():
    # Common practice, no source: 120 Ah with 20 % kept back at a mean 8.97 A.
    expected = Expectation(rated_ah=120, reserve_share=0.2, mean_current_a=8.97)
    assert round(expected.run_time_h, 1) == 10.7
    assert divmod(round(expected.run_time_h * 60), 60) == (10, 42)
    assert [round(expected.remaining_ah(hour)) for hour in range(3)] == [120, 111, 102]
