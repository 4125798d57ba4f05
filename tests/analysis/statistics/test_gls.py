import math

import numpy as np
import pytest
from scipy import optimize

from app.analysis.statistics.gls import between_test_scatter, generalised_fit


@pytest.fixture(params=[3, 11, 27])
def record(request):
    rng = np.random.default_rng(request.param)
    x = np.sort(rng.uniform(0, 5, 12))
    shared = np.zeros((12, 2))
    shared[:5, 0], shared[5:, 1] = 0.6, 0.9
    variance = rng.uniform(0.2, 0.6, 12) ** 2
    return np.column_stack([np.ones(12), x]), 100 - 2 * x + rng.normal(0, 1.2, 12), variance, shared


def test_the_scatter_is_where_a_general_optimiser_finds_the_likelihood_highest(record):
    # scipy.optimize.minimize_scalar (bounded Brent) on the same likelihood, one fit at a time.
    design, y, variance, shared = record

    def loss(log_tau):
        return -generalised_fit(design, y, variance + math.exp(log_tau), shared).log_restricted

    best = optimize.minimize_scalar(loss, bounds=(-6, 4), options={"xatol": 1e-9})
    assert between_test_scatter(*record) == pytest.approx(math.exp(best.x), rel=1e-3)


def test_no_scatter_is_found_where_the_tests_agree_better_than_stated(record):
    design, _, variance, shared = record
    assert between_test_scatter(design, design @ [100.0, -2.0], variance, shared) == 0


def test_a_design_without_a_unique_answer_is_refused(record):
    _, y, variance, shared = record
    with pytest.raises(ValueError, match="no unique answer"):
        between_test_scatter(np.ones((12, 2)), y, variance, shared)


def test_two_tests_on_their_line_show_no_scatter():
    """A line goes through any two: nothing is left to judge a scatter by."""
    design = np.array([[1.0, 0.0], [1.0, 1.0]])
    assert between_test_scatter(design, np.array([100.0, 90.0]), np.ones(2), np.zeros((2, 0))) == 0


def test_a_meter_without_an_error_of_its_own_changes_nothing():
    """The mean of 99, 100 and 104 is 101; one of three errors of 1 each is 1/3 of its square."""
    y, design = np.array([99.0, 100.0, 104.0]), np.ones((3, 1))
    fit = generalised_fit(design, y, np.ones(3), np.zeros((3, 1)))
    assert fit.coefficients == pytest.approx([101.0])
    assert fit.covariance[0, 0] == pytest.approx(1 / 3)
    assert fit.chi_squared == pytest.approx(4 + 1 + 9)
