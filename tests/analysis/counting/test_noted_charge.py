"""The charge of a test of which only the result was noted."""

import pytest

from app.analysis.counting.noted_charge import last_digit, noted_charge
from app.domain.errors import InvalidInput
from app.domain.readings import Readings
from tests.builders import discharge_details

NONE = Readings.of([], [])


def noted(**changes):
    return noted_charge(discharge_details(NONE, **changes))


@pytest.mark.parametrize(
    ("value", "step"), [(96.4, 0.1), (96.0, 1.0), (96.25, 0.01), (7.0, 1.0), (0.125, 0.001)]
)
def test_the_last_digit_of_a_figure_is_its_step(value, step):
    assert last_digit(value) == pytest.approx(step)


def test_hours_and_mean_current_give_each_other():
    assert noted(counted_ah=96.0, duration_h=12.0).mean_current_a == pytest.approx(8.0)
    assert noted(counted_ah=96.0, mean_current_a=8.0).duration_h == pytest.approx(12.0)
    neither = noted(counted_ah=96.0)
    assert (neither.mean_current_a, neither.duration_h, neither.has_looks) == (None, None, False)
    assert noted(counted_ah=96.0, duration_h=12.0, mean_current_a=8.0).has_looks


def test_the_counted_charge_over_the_hours_goes_before_a_figure_of_the_load():
    assert noted(counted_ah=96.0, duration_h=12.0, mean_current_a=9.0).mean_current_a == 8.0


def test_watt_hours_become_amp_hours_by_the_mean_voltage():
    # 1230 Wh / 12.5 V = 98.4 Ah; its last digit, 1 Wh, is 0.08 Ah.
    found = noted(counted_wh=1230.0, mean_voltage_v=12.5)
    assert found.charge_ah == pytest.approx(98.4)
    assert found.step_ah == pytest.approx(0.08)
    assert found.volts_by_hand


def test_amp_hours_go_before_watt_hours():
    found = noted(counted_ah=96.4, counted_wh=1230.0)
    assert (found.charge_ah, found.energy_wh, found.volts_by_hand) == (96.4, 1230.0, False)
    assert noted(counted_ah=100.0, mean_voltage_v=12.9).energy_wh == pytest.approx(1290.0)


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({}, "counted_ah", "Enter readings, or the amp-hours"),
        ({"duration_h": 10.0}, "counted_ah", "Enter readings, or the amp-hours"),
        ({"counted_wh": 1230.0}, "mean_voltage_v", "Enter the mean voltage as well"),
        ({"counted_ah": 0.0}, "counted_ah", "above 0 and up to 100000 Ah"),
        ({"counted_ah": -96.0}, "counted_ah", "above 0 and up to 100000 Ah"),
        ({"counted_ah": 96.0, "duration_h": 0.0}, "duration_h", "above 0 and up to 2400 h"),
        ({"counted_ah": 96.0, "last_voltage_v": 0.0}, "last_voltage_v", "from 0.1 to 1000 V"),
    ],
)
def test_what_is_no_result_is_refused_by_name(changes, field, words):
    with pytest.raises(InvalidInput) as refused:
        noted(**changes)
    (problem,) = refused.value.problems
    assert problem.field == field
    assert words in problem.sentence
