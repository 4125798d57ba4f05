import numpy as np
import pytest

from app.analysis.projection.capacity_record import capacity_record


def of_ten(logs, count=10):
    """Monthly tests with next to no uncertainty stated, 100 Ah times the exponential of logs."""
    return capacity_record(30.0 * np.arange(count), 100 * np.exp(logs), np.zeros(count))


def test_fewer_than_four_tests_show_no_scatter_of_their_own():
    found = capacity_record(np.array([0.0, 90, 180]), np.array([100.0, 80, 99]), np.full(3, 0.8))
    assert found.relative == pytest.approx([0.008, 0.01, 0.8 / 99])


def test_tests_that_swing_about_their_line_are_as_uncertain_as_they_scatter():
    """Each lies 2 % from the middle of its neighbours, a difference of sqrt(1.5) single errors:
    by the median (times 1.4826 for a normal one) 2.421 % each. Eight such differences against a
    stated figure worth six tests: sqrt(8 / 14) of it, 1.830 %, beside the 0.01 % stated."""
    found = of_ten(0.01 * (-1.0) ** np.arange(10))
    assert found.relative == pytest.approx(np.full(10, 0.018301), rel=2e-4)


def test_a_long_record_is_grouped_and_a_group_is_surer_than_a_test():
    """64 tests of 1 % that agree: 32 pairs, each 1 % over the root of two."""
    found = capacity_record(30.0 * np.arange(64), np.full(64, 100.0), np.full(64, 1.0))
    assert found.measured == 64
    assert found.days == pytest.approx(15 + 60.0 * np.arange(32))
    assert np.exp(found.log_capacity) == pytest.approx(np.full(32, 100.0))
    assert found.relative == pytest.approx(np.full(32, 0.00707107))
