import numpy as np
import pytest

from app.analysis.counting.delivered import deliver
from app.analysis.counting.load_profile import load_shape
from app.domain.readings import Readings


def hourly(currents):
    return deliver(Readings.of([3600.0 * i for i in range(len(currents))], currents))


@pytest.mark.parametrize(
    ("peak_a", "after_a", "charge_ah"),
    [
        # 13.5 is one and a half times 9 and agrees with it; 113 is about ten times their mean,
        # 11.25, and counts as that: 9 + 10.125 + 12.375 + 13.5.
        (113.0, 13.5, 45.0),
        # Eight times 11.25 is 90, and 89.9 is a load: 9 + 49.45 + 51.7 + 13.5.
        (89.9, 13.5, 123.65),
        # 13.6 no longer agrees with 9: a load that grows may do so by a peak. 9 + 61 + 63.3 + 13.6.
        (113.0, 13.6, 146.9),
    ],
)
def test_a_peak_is_a_slip_only_at_about_ten_times_two_neighbours_that_agree(
    peak_a, after_a, charge_ah
):
    counted = hourly([9.0, 9.0, peak_a, after_a, after_a])
    assert counted.charge_ah == pytest.approx(charge_ah)
    assert ("spike" in [one.code for one in counted.caveats]) is (charge_ah == 45.0)


def test_a_peak_with_one_neighbour_at_rest_is_no_slip():
    # 5 % of 9 A are 0.45 A: 0.4 A is rest and 0.5 A is load. 9 + 9 + 4.7 + 1.0 + 1.05 counted.
    counted = hourly([9.0, 9.0, 9.0, 0.4, 1.6, 0.5])
    assert [one.code for one in counted.caveats if one.code == "spike"] == []
    assert counted.charge_ah == pytest.approx(24.75)


@pytest.mark.parametrize(
    ("heavy_a", "charge_ah"),
    [
        # One reading of 90 among 9 A is a slip, though 26 A are drawn elsewhere: five hours of 9 A,
        # one of 26 A, and the means of the two on either side of it.
        (26.0, 9 * 5 + 17.5 + 26 + 17.5),
        # Beside 28 A, more than three times the usual, it is a load itself: two more steps of
        # 49.5 in place of 9.
        (28.0, 9 * 3 + 49.5 * 2 + 18.5 + 28 + 18.5),
    ],
)
def test_a_reading_is_a_slip_where_nothing_else_draws_three_times_the_usual(heavy_a, charge_ah):
    found = hourly([9.0, 9.0, 90.0, 9.0, 9.0, heavy_a, heavy_a, 9.0, 9.0])
    assert found.charge_ah == pytest.approx(charge_ah)


def test_rest_before_and_after_does_not_lower_what_counts_as_a_load():
    """10 A for the two hours between the first and the last reading of it: 5 % are 0.5 A."""
    hours, amps = 3600.0 * np.arange(7), np.array([0, 0, 10.0, 10.0, 10.0, 0, 0])
    assert load_shape(hours, amps).threshold_a == pytest.approx(0.5)
