import math

import numpy as np
import pytest
from scipy.optimize import linprog

from app.analysis.counting.delivered import deliver
from app.analysis.evidence.gauge import _closest_line, compare_gauge
from app.domain.entities.meter import MeterKind, typical
from app.domain.readings import Readings
from tests.simulation import discharge


def compared(percent, amps=9.0, **more):
    n = len(percent)
    readings = Readings.of(
        [3600.0 * i for i in range(n)], [amps] * n, gauge_percent=percent, **more
    )
    return compare_gauge(readings, deliver(readings), typical(MeterKind.SHUNT))


def test_rounded_counts_are_the_same_arithmetic():
    gauge = compared([round(100 - 9 * i * 100 / 105) for i in range(10)])
    assert gauge.independent is False
    assert gauge.set_capacity_ah == pytest.approx(105, abs=1.5)
    assert gauge.largest_deviation_percent <= 0.5 + 1e-9
    assert gauge.rounding_percent == 1


def test_how_far_it_lies_apart_is_rounded_up():
    # 10 points a reading but for a quarter of one at every second: 0.125 on either side.
    gauge = compared([100 - 10 * i - 0.25 * (i % 2) for i in range(9)])
    assert gauge.largest_deviation_percent == pytest.approx(0.125)
    assert "by up to 0.2 points" in gauge.words


def test_a_gauge_that_corrects_itself_on_the_way_is_called_so_and_still_measures_nothing():
    gauge = compared([100, 91, 82, 73, 64, 40, 31, 22, 13])
    assert gauge.independent is True
    assert gauge.largest_deviation_percent > 5
    assert "do not measure the capacity" in gauge.words


@pytest.mark.parametrize("percent", [[100, 91, 82], [100] * 8, [None] * 8])
def test_too_few_or_still_percentages_tell_nothing(percent):
    gauge = compared(percent)
    assert gauge is None or gauge.independent is None


def test_a_gauge_stuck_at_its_ends_does_not_hide_that_it_counts():
    shown = [100, 100, *(round(110 - 9 * i) for i in range(2, 12)), 0, 0]
    assert compared(shown).independent is False


def test_a_rising_gauge_is_no_count():
    assert compared([20, 30, 40, 50, 60]).independent is True


@pytest.mark.parametrize("gain", [0.95, 1.0, 1.07])
def test_a_meter_that_is_off_only_moves_the_apparent_setting(gain):
    run = discharge(100.0, stop_at_percent=20, read_amps=lambda amps: gain * amps)
    gauge = compare_gauge(run.readings, deliver(run.readings), typical(MeterKind.CLAMP))
    assert gauge.independent is False
    assert gauge.set_capacity_ah == pytest.approx(100 * gain, rel=0.02)
    assert math.isfinite(gauge.largest_deviation_percent)


def test_a_few_round_percentages_are_too_coarse_to_tell():
    assert compared([100, 90, 60, 50, 40, 20]).independent is None


@pytest.mark.parametrize("seed", range(20))
def test_no_line_lies_closer_to_the_percentages_than_the_one_found(seed):
    """Held against a general solver of linear programs (scipy's HiGHS)."""
    draw = np.random.default_rng(seed)
    count = draw.uniform(0, 100, 40)
    shown = np.round(100 - 0.9 * count + draw.normal(0, (0, 0.5, 3)[seed % 3], 40))
    slope, level = _closest_line(count, shown)
    largest = np.max(np.abs(shown - level - slope * count))
    one = np.ones(40)
    above, below = np.column_stack([count, one, -one]), np.column_stack([-count, -one, -one])
    closest = linprog(
        [0, 0, 1],
        A_ub=np.vstack([above, below]),
        b_ub=np.concatenate([shown, -shown]),
        bounds=[(None, None), (None, None), (0, None)],
    )
    assert largest == pytest.approx(closest.fun, abs=1e-7)


@pytest.mark.parametrize(("step", "tolerance"), [(1, 0.75), (2, 1.5), (5, 3.75)])
def test_half_a_step_and_a_quarter_more_is_what_a_gauge_may_be_off(step, tolerance):
    """9 A for an hour are 9 of 100 Ah, shown to the nearest step; the load is steady."""
    gauge = compared([step * round((100 - 9 * i) / step) for i in range(11)])
    assert (gauge.rounding_percent, gauge.tolerance_percent) == (step, tolerance)
    assert gauge.independent is False


def test_a_rising_gauge_is_held_to_half_its_step():
    gauge = compared([20, 30, 40, 50, 60])
    assert (gauge.tolerance_percent, gauge.rounding_percent) == (5, 10)


def test_percentages_noted_only_while_nothing_was_drawn_tell_nothing():
    amps = [9.0, 9.0, 0.0, 0.0, 0.0, 0.0, 0.0, 9.0, 9.0]
    noted = [None, None, None, 80, 75, 70, 65, None, None]
    readings = Readings.of([3600.0 * i for i in range(9)], amps, gauge_percent=noted)
    gauge = compare_gauge(readings, deliver(readings), typical(MeterKind.SHUNT))
    assert gauge.independent is None
    assert gauge.words.startswith("Too few gauge percentages")


def test_99_percent_is_a_reading_like_any_other():
    """At an end a gauge stands still: at 100 and at 0, and at 99 no longer."""
    gauge = compared([99, 90, 81, 72])
    assert gauge.independent is False
    assert gauge.set_capacity_ah == pytest.approx(100)


def test_a_gauge_that_shows_every_digit_is_held_to_a_hundredth():
    """9 of 105 Ah an hour are 8.571428... %: no step divides that."""
    gauge = compared([100 - i * 900 / 105 for i in range(10)])
    assert gauge.rounding_percent == 0.01
    assert gauge.tolerance_percent == pytest.approx(0.0075)
