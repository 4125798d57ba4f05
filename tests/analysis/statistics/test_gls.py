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
