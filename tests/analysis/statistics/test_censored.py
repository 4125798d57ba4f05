"""Gains of several meters as parameters, against the closed form and a general optimiser."""

import numpy as np
import pytest
from scipy.optimize import minimize
from scipy.stats import norm

from app.analysis.statistics.censored import censored_line
from app.analysis.statistics.gls import generalised_fit

X = np.arange(8.0) / 4
Y = np.array([100.2, 99.1, 99.4, 98.3, 95.9, 95.8, 94.7, 94.9])
SHARED = np.array([[1.7, 0]] * 4 + [[0, 1.6]] * 4)
VARIANCE = np.full(8, 0.36)


def test_without_bounds_it_is_generalised_least_squares():
    """Normal parameters with a normal prior integrate out (mathematics)."""
    fit = censored_line(X, Y, np.zeros(8, bool), VARIANCE, 0.2, SHARED)
    design = np.column_stack([np.ones(8), X])
    other = generalised_fit(design, Y, VARIANCE + 0.04, SHARED)
    assert [fit.intercept, fit.slope] == pytest.approx(other.coefficients, rel=1e-6)
    assert fit.covariance == pytest.approx(other.covariance, rel=1e-6)


def test_with_bounds_it_is_the_maximum_that_a_general_optimiser_finds():
    bound = np.array([False, True, False, False, True, False, False, True])

    def loss(theta):
        spread = np.sqrt(VARIANCE + 0.04)
        fitted = theta[0] + theta[1] * X + SHARED @ theta[2:]
        measured = norm.logpdf(Y[~bound], fitted[~bound], spread[~bound])
        at_least = norm.logsf(Y[bound], fitted[bound], spread[bound])
        return -measured.sum() - at_least.sum() - norm.logpdf(theta[2:]).sum()

    best = minimize(loss, [100, -3, 0, 0], method="BFGS", options={"gtol": 1e-7})
    fit = censored_line(X, Y, bound, VARIANCE, 0.2, SHARED)
    assert [fit.intercept, fit.slope] == pytest.approx(best.x[:2], abs=1e-4)
    assert np.sqrt(np.diag(fit.covariance)) == pytest.approx(
        np.sqrt(np.diag(best.hess_inv)[:2]), rel=0.05
    )
