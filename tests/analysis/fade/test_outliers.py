"""A test far from all the others, as far as both were known."""

import numpy as np
import pytest

from app.analysis.fade.outliers import odd_tests

DAYS = np.arange(6) * 100.0
LINE = 100 - 0.01 * DAYS


@pytest.mark.parametrize(("own_standard", "odd"), [(0.1, (3,)), (3.0, ())])
def test_two_ampere_hours_off_is_odd_for_a_test_that_is_sure_and_not_for_one_that_is_not(
    own_standard, odd
):
    """Five tests lie on a line, ± 0.1 Ah each; the fourth of the six is 2 Ah off.

    With 0.1 Ah of its own it is about 20 standard uncertainties off, with 3 Ah less than one; the
    limit for one of six is 5.8 (Student, 3 degrees of freedom, 5 % over six tests on both sides).
    """
    off = LINE + np.array([0, 0, 0, 2.0, 0, 0])
    variance = np.array([0.01, 0.01, 0.01, own_standard**2, 0.01, 0.01])
    assert odd_tests(DAYS, off, variance) == odd


def test_fewer_than_five_tests_are_not_judged():
    off = (LINE + np.array([0, 0, 0, 2.0, 0, 0]))[:4]
    assert odd_tests(DAYS[:4], off, np.full(4, 0.01)) == ()
