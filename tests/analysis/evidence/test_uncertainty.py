import math

import pytest

from app.analysis.counting.delivered import deliver
from app.analysis.evidence import uncertainty
from app.analysis.evidence.uncertainty import end_of_test, sampling_line
from app.domain.entities.discharge import ChargeCondition
from app.domain.entities.meter import MeterKind, typical
from app.domain.readings import Readings
from tests.builders import steady


def hourly(currents, **more):
    return deliver(Readings.of([3600.0 * i for i in range(len(currents))], currents), **more)


def ended(readings, *, claimed, empty_v=12.0, **more):
    return end_of_test(deliver(readings, **more), claimed=claimed, cut_off_v=None, empty_v=empty_v)


@pytest.mark.parametrize(
    ("claimed", "step_h", "limit_ah"),
    [
        # 90 Ah down to an empty voltage: 1 % where it was seen to cut off, 3 % where nobody did.
        (True, 1.0, 0.9),
        (False, 1.0, 2.7),
        # Never more than flows between two readings: 9 A × 0.1 h.
        (False, 0.1, 0.9),
        (True, 0.05, 0.45),
    ],
)
def test_what_an_empty_battery_may_still_have_given_is_a_limit(claimed, step_h, limit_ah):
    end = ended(steady(last_v=11.0, step_h=step_h), claimed=claimed)
    assert end.limit_ah == pytest.approx(limit_ah)
    assert end.shift_ah == 0.0


@pytest.mark.parametrize(("last_v", "shift_ah"), [(12.0, 0.0), (12.01, 4.5)])
def test_at_exactly_the_empty_voltage_it_was_empty_at_the_last_reading(last_v, shift_ah):
    # Above it half of what flows in an hour at 9 A is added, and doubted.
    assert ended(steady(last_v=last_v), claimed=True).shift_ah == pytest.approx(shift_ah)


@pytest.mark.parametrize(
    ("ended_h", "limit_ah"),
    [
        # A minute at 9 A is 0.15 Ah.
        (9.0, 0.15),
        # Two hours behind the last reading 4 % of 18 Ah come to it: 0.15 + 0.72.
        (12.0, 0.87),
    ],
)
def test_a_noted_end_is_doubted_by_a_minute_and_by_what_nobody_saw(ended_h, limit_ah):
    end = ended(steady(), claimed=True, ended_after_s=ended_h * 3600)
    assert end.limit_ah == pytest.approx(limit_ah)


def test_between_two_readings_the_step_may_have_come_at_any_moment():
    # Steps of 2 A over an hour each: (4 + 4) / 12 = 2/3 (GUM 4.3.7: a half-width of 1 has 1/3).
    line = sampling_line(hourly([9.0, 11.0, 9.0]), 1.0)
    assert line.standard_ah == pytest.approx(math.sqrt(2 / 3))
    assert line.degrees_of_freedom is None
    assert sampling_line(hourly([9.0, 11.0, 9.0]), 0.9).standard_ah == pytest.approx(
        0.7348, abs=5e-5
    )


def test_readings_of_a_load_that_cycles_are_random_looks_at_it():
    # 9, 0, 9, 0, 9, 9 A: mean 6, squares 4 × 9 + 2 × 36 = 108, variance 108 / 5 = 21.6. Four looks
    # stand for an hour, the first and the last for half of one: 21.6 × (4 + 2 / 4) = 97.2 Ah². The
    # steps alone would say 4 × 81 / 12 = 27.
    line = sampling_line(hourly([9.0, 0.0, 9.0, 0.0, 9.0, 9.0]), 1.0)
    assert line.standard_ah == pytest.approx(math.sqrt(97.2))
    assert line.degrees_of_freedom == 5


def test_the_clock_is_doubted_by_a_thousandth():
    # 0.1 % of 90 Ah within a rectangle: 0.09 / sqrt(3).
    clock = uncertainty.meter_lines(typical(MeterKind.SHUNT), 90.0, 10.0)[-1]
    assert clock.standard_ah == pytest.approx(0.05196, abs=5e-6)


@pytest.mark.parametrize(
    ("condition", "limit_ah"), [(ChargeCondition.FULL_RESTED, 0.45), (ChargeCondition.FULL, 0.9)]
)
def test_a_full_charge_is_doubted_by_half_a_percent_and_unrested_by_one(condition, limit_ah):
    line = uncertainty.charge_line(condition, 90.0)
    assert line.standard_ah == pytest.approx(limit_ah / math.sqrt(3))
