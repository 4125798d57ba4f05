"""What the page of one test and the curves of several are drawn from."""

import numpy as np
import pytest

from app.analysis.comparison.discharge_curves import POINTS, curve_of
from app.analysis.evidence.result import analyse_test
from app.analysis.reports.discharge_report import discharge_report
from app.domain.entities.battery import Battery
from app.domain.entities.discharge import Discharge
from app.domain.entities.meter import MeterDetails, MeterKind
from app.domain.readings import Readings
from tests.builders import at_temperature, battery_details, discharge_details, steady


def made(count, amps=9.0, gauge=(), **about):
    """So many readings, a minute apart."""
    times = [60.0 * i for i in range(count)]
    volts = [13.2 - 0.6 * i / count for i in range(count - 1)]
    details = discharge_details(
        Readings.of(times, [amps] * count, [*volts, 10.0], gauge_percent=gauge or None)
    )
    return Discharge(1, 1, details, 1), analyse_test(details, battery_details(**about), None)


@pytest.mark.parametrize(("count", "points"), [(100, 100), (120, 120), (121, 120), (700, 120)])
def test_a_curve_has_at_most_so_many_points_from_the_first_reading_to_the_last(count, points):
    test, result = made(count)
    curve = curve_of(test, result)
    assert (POINTS, len(curve.charge_ah)) == (120, points)
    assert (curve.hours[0], curve.charge_ah[0]) == (0, 0)
    assert curve.hours[-1] == pytest.approx((count - 1) / 60)
    assert curve.charge_ah[-1] == pytest.approx(9.0 * (count - 1) / 60)


def test_a_gauge_is_set_against_what_the_label_lets_one_expect():
    """After 5 h 1 min at 9 A of 200 Ah rated 154.85 Ah are to be expected, 77.425 %: 80 % are 2.575
    more."""
    shown = [90 - 2 * (i // 60) for i in range(601)]
    test, result = made(601, gauge=shown, rated_ah=200.0)
    report = discharge_report(test, Battery(1, battery_details(rated_ah=200.0), 1), None, result)
    row = min(report.rows, key=lambda one: abs(one.elapsed_h - 5.0))
    assert row.gauge_percent == 80
    assert row.gauge_ah == pytest.approx(160.0)
    assert row.expected_ah == pytest.approx(154.85)
    assert row.gauge_difference_percent == pytest.approx(2.575)
    assert row.difference_ah == pytest.approx(0.0)


@pytest.mark.parametrize("temperature_c", [None, 10.0])
def test_charge_and_energy_of_a_curve_carry_the_doubt_of_what_was_counted(temperature_c):
    """90 Ah in 10 h with 1 % gain, 0.02 A zero, half of 0.01 A step and a clock good to 0.1 %.

    Held against a million draws within these limits: 0.9, 0.2, 0.05 and 0.09 Ah. Nothing of it is
    uncertain by empty, by full or by a correction. For the energy a voltmeter within 1 % adds as
    much as the gain does.
    """
    readings = steady(hours=10, step_h=0.1)
    if temperature_c is not None:
        readings = at_temperature(readings, temperature_c)
    of = battery_details()
    meter = MeterDetails("by hand", MeterKind.SHUNT, 1.0, 0.02, 0.01)
    details = discharge_details(readings)
    curve = curve_of(Discharge(1, 1, details, 1), analyse_test(details, of, meter))
    limits_ah = np.array([0.9, 0.2, 0.05, 0.09, 0.9])
    drawn = np.random.default_rng(5).uniform(-1, 1, (1_000_000, 5)) * limits_ah
    charge_ah, energy_ah = (
        float(np.quantile(np.abs(drawn[:, :lines].sum(axis=1)), 0.95)) for lines in (4, 5)
    )
    assert curve.delivered_expanded_ah == pytest.approx(charge_ah, rel=0.02)
    energy_share = curve.delivered_expanded_wh / curve.delivered_wh
    assert energy_share == pytest.approx(energy_ah / 90, rel=0.02)
