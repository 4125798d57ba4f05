"""Tests that lie far from all the others."""

import numpy as np
from numpy.typing import NDArray
from scipy.special import stdtrit

FEWEST = 5
LEVEL = 0.05


def odd_tests(
    days: NDArray[np.float64], y: NDArray[np.float64], variance: NDArray[np.float64]
) -> tuple[int, ...]:
    """Rows whose externally studentised residual is beyond its limit.

    Each test is held against the line through all the others, which it did not help to draw. The
    limit is Student's for 5 % over all tests (Bonferroni; Cook and Weisberg, Residuals and
    Influence in Regression, 1982, section 2.2). Fewer than five tests are not judged.
    """
    count = len(days)
    if count < FEWEST or np.ptp(days) == 0:
        return ()
    w = 1 / np.sqrt(variance)
    centred = (days - days.mean()) / np.ptp(days)
    design = np.column_stack([np.ones(count), centred]) * w[:, None]
    q, _ = np.linalg.qr(design)
    z = y * w
    residual = z - q @ (q.T @ z)
    leverage = np.minimum(np.sum(q * q, axis=1), 1 - 1e-9)
    chi = float(residual @ residual)
    others = np.maximum(chi - residual**2 / (1 - leverage), 0.0) / (count - 3)
    # Others that agree better than they were stated to are not held to their luck.
    others = np.maximum(others, 1.0)
    studentised = np.abs(residual) / np.sqrt(others * (1 - leverage))
    limit = float(stdtrit(count - 3, 1 - LEVEL / (2 * count)))
    return tuple(int(row) for row in np.flatnonzero(studentised > limit))
