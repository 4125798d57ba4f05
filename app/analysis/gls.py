"""Generalised least squares where tests share errors in groups."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Fit:
    """Coefficients (p,) with covariance (p, p) under the stated variances.

    chi_squared is the weighted sum of squared residuals; log_restricted the restricted
    log-likelihood up to a constant (REML).
    """

    coefficients: Floats
    covariance: Floats
    residuals: Floats
    chi_squared: float
    log_restricted: float


def generalised_fit(design: Floats, y: Floats, variance: Floats, shared: Floats) -> Fit:
    """Fit y (n,) = design (n, p) b + e with Var e = diag(variance) + shared shared'.

    shared (n, m) holds what each test takes of each of m common errors, one column a meter. The
    columns of the design are scaled before anything is inverted, so that a calendar year or a
    sixth power does no harm. Raises ValueError where the design has no unique answer.
    """
    scale = np.sqrt(np.mean(design**2, axis=0))
    scale[scale == 0] = 1.0
    weights = 1 / np.sqrt(variance)
    x, z, g = design / scale * weights[:, None], y * weights, shared * weights[:, None]
    inner_log = 0.0
    if g.shape[1]:
        # Woodbury in symmetric form: (1 + gg')^-1/2 = 1 - g k g'.
        values, vectors = np.linalg.eigh(g.T @ g)
        values = np.maximum(values, 0.0)
        inner_log = float(np.sum(np.log1p(values)))
        with np.errstate(divide="ignore", invalid="ignore"):
            shrink = np.where(values > 0, (1 - 1 / np.sqrt(1 + values)) / values, 0.0)
        k = (vectors * shrink) @ vectors.T
        x, z = x - g @ (k @ (g.T @ x)), z - g @ (k @ (g.T @ z))
    q, r = np.linalg.qr(x)
    diagonal = np.abs(np.diag(r))
    if diagonal.min() <= 1e-12 * max(float(diagonal.max()), 1e-300):
        raise ValueError("the design has no unique answer")
    solved = np.linalg.solve(r, q.T @ z)
    inverse = np.linalg.inv(r)
    whitened = z - x @ solved
    chi = float(whitened @ whitened)
    log_det = float(np.sum(np.log(variance))) + inner_log
    log_information = 2 * float(np.sum(np.log(diagonal)))
    coefficients = solved / scale
    return Fit(
        coefficients=coefficients,
        covariance=(inverse @ inverse.T) / np.outer(scale, scale),
        residuals=y - design @ coefficients,
        chi_squared=chi,
        log_restricted=-0.5 * (log_det + log_information + chi),
    )


def between_test_scatter(design: Floats, y: Floats, variance: Floats, shared: Floats) -> float:
    """Variance of the scatter between tests beyond the stated one, by REML; zero where none.

    Restricted maximum likelihood (Patterson and Thompson 1971) over a grid in the logarithm,
    refined by golden section.
    """
    if len(y) <= design.shape[1]:
        return 0.0

    def value(log_tau: float) -> float:
        return generalised_fit(design, y, variance + math.exp(log_tau), shared).log_restricted

    base = float(np.median(variance))
    spread = float(np.var(y)) + base
    grid = np.linspace(math.log(1e-4 * base), math.log(4 * spread), 25)
    values = [value(point) for point in grid]
    best = int(np.argmax(values))
    low, high = grid[max(best - 1, 0)], grid[min(best + 1, len(grid) - 1)]
    ratio = (math.sqrt(5) - 1) / 2
    left, right = high - ratio * (high - low), low + ratio * (high - low)
    at_left, at_right = value(left), value(right)
    for _ in range(30):
        # One of the two inner points serves again.
        if at_left < at_right:
            low, left, at_left = left, right, at_right
            right = low + ratio * (high - low)
            at_right = value(right)
        else:
            high, right, at_right = right, left, at_left
            left = high - ratio * (high - low)
            at_left = value(left)
    found = (low + high) / 2
    none = generalised_fit(design, y, variance, shared).log_restricted
    return math.exp(found) if value(found) > none else 0.0
