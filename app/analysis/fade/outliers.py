"""Tests that lie far from all the others."""

import numpy as np

from app.analysis.fade.fade_line import PRIOR_TESTS
from app.analysis.statistics.arrays import Floats
from app.analysis.statistics.distributions import student_quantile
from app.analysis.statistics.gls import between_test_scatter, generalised_fit

MIN_TESTS = 6
LEVEL = 0.05
COLUMNS = 3
# So many at most are looked at closely: among thousands of tests that would take its time.
MAX_SUSPECTS = 12


def odd_tests(days: Floats, y: Floats, variance: Floats) -> tuple[int, ...]:
    """Rows that lie far from the curve through all the others, which is drawn without them.

    A straight line would blame the first test of a healthy battery whose fade slows down, and the
    last one of a battery whose fade quickens: the line may curve with the root of time or with its
    square, and a test has to lie far from both. The others' scatter beyond what was stated (REML)
    counts for the test, too. The limit is Student's for 5 % over all tests (Bonferroni; externally
    studentised residuals, Cook and Weisberg, Residuals and Influence in Regression, 1982, section
    2.2). Fewer than six tests are not judged.
    """
    count = len(days)
    if count < MIN_TESTS or np.ptp(days) == 0:
        return ()
    limit = student_quantile(count - 1 - COLUMNS + PRIOR_TESTS, 1 - LEVEL / (2 * count))
    time = (days - days.min()) / np.ptp(days)
    suspects = list(range(count))
    for bend in (np.sqrt(time), time**2):
        design = np.column_stack([np.ones(count), time, bend])
        far = _suspects(design, y, variance, limit)
        suspects = [i for i in far if i in suspects and distance(design, y, variance, i) > limit]
    return tuple(sorted(suspects))


def distance(design: Floats, y: Floats, variance: Floats, row: int) -> float:
    """How far a test lies from the curve through the others, in standard errors of the two."""
    rest = np.arange(len(y)) != row
    alone = np.zeros((len(y) - 1, 0))
    try:
        tau2 = between_test_scatter(design[rest], y[rest], variance[rest], alone)
        fit = generalised_fit(design[rest], y[rest], variance[rest] + tau2, alone)
    except ValueError:
        # The others lie on too few days to draw a curve.
        return 0.0
    freedom = len(y) - 1 - COLUMNS + PRIOR_TESTS
    # Others that agree better than they were stated to are not held to their luck.
    widen = max(1.0, (PRIOR_TESTS + fit.chi_squared) / freedom)
    x = design[row]
    error2 = widen * (variance[row] + tau2 + float(x @ fit.covariance @ x))
    return abs(float(y[row] - x @ fit.coefficients)) / float(np.sqrt(error2))


def _suspects(design: Floats, y: Floats, variance: Floats, limit: float) -> list[int]:
    """The farthest rows beyond the limit without the scatter, by one fit for all of them."""
    w = 1 / np.sqrt(variance)
    q, _ = np.linalg.qr(design * w[:, None])
    z = y * w
    residual = z - q @ (q.T @ z)
    left = np.maximum(1 - np.sum(q * q, axis=1), 1e-9)
    chi = float(residual @ residual)
    others = np.maximum(chi - residual**2 / left, 0.0) + PRIOR_TESTS
    widen = np.maximum(others / (len(y) - 1 - COLUMNS + PRIOR_TESTS), 1.0)
    studentised = np.abs(residual) / np.sqrt(widen * left)
    farthest = np.argsort(-studentised)[:MAX_SUSPECTS]
    return [int(row) for row in farthest if studentised[row] > limit]
