import numpy as np
import pytest

from app.analysis.fade.change_point import rate_change

DAYS = np.arange(7.0)
BEND = np.maximum(0.0, DAYS - 3)
# Orthogonal to a level, to a slope and to the bend: a fit leaves them as they are. Their squares
# sum to 10, over 7 - 3 = 4 degrees of freedom 2.5.
SCATTER = np.array([1.0, -1.0, -1.0, 1.0, 1.0, -2.0, 1.0])


@pytest.mark.parametrize(
    ("scatter", "p_value"),
    [
        # The bend's own squares are 62/7 - 14²/28 = 13/7, its variance 7/13 of one test's.
        # Tests that scatter by 2.5 where 1 was stated: t = -3 / sqrt(2.5 × 7/13) = -2.5857.
        (1.0, 0.0305),
        # Tests that agree better than stated are no surer for it: t = -3 / sqrt(7/13) = -4.0883.
        (0.1, 0.0075),
    ],
)
def test_a_bend_is_doubted_by_what_was_stated_or_by_the_scatter_if_that_is_more(scatter, p_value):
    # Student's with 4 degrees of freedom, w = 1 + t²/4: 1/2 + 3/8 · t/√w · (1 - t²/(12 w)).
    found = rate_change(DAYS, 100 - 3 * BEND + scatter * SCATTER, np.ones(7))
    assert found.slope_before == pytest.approx(0.0, abs=1e-9)
    assert found.slope_after == pytest.approx(-3.0)
    assert found.p_value == pytest.approx(p_value, abs=5e-5)


def test_each_of_the_two_rates_has_its_interval():
    """By legs, whose coefficients are the two slopes, and NumPy's least squares.

    Student's factor for 95 % and 4 degrees of freedom is 2.776 (NIST/SEMATECH e-Handbook,
    1.3.6.7.2).
    """
    y = 100 - 3 * BEND + SCATTER
    legs = np.column_stack([np.ones(7), np.minimum(DAYS, 3), BEND])
    _, squares, _, _ = np.linalg.lstsq(legs, y, rcond=None)
    errors = np.sqrt(np.diag(np.linalg.inv(legs.T @ legs)) * squares[0] / 4)
    found = rate_change(DAYS, y, np.ones(7))
    assert found.half_before == pytest.approx(2.776 * errors[1], rel=1e-3)
    assert found.half_after == pytest.approx(2.776 * errors[2], rel=1e-3)
