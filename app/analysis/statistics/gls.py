"""Generalised least squares where tests share errors in groups."""

import math
from dataclasses import dataclass

import numpy as np

from app.analysis.statistics.arrays import Floats

GRID_POINTS, GRIDS = 25, 5
_STEPS: Floats = np.linspace(0.0, 1.0, GRID_POINTS)


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
    scale = _column_scale(design)
    weight = 1 / np.sqrt(variance)
    # A common error is a coefficient of which one more row says that it is 0 with variance 1.
    m, p = shared.shape[1], design.shape[1]
    joined = np.zeros((len(y) + m, m + p + 1))
    joined[: len(y), :m] = shared
    joined[: len(y), m:-1] = design / scale
    joined[: len(y), -1] = y
    joined[: len(y)] *= weight[:, None]
    joined[len(y) + np.arange(m), np.arange(m)] = 1.0
    r: Floats = np.asarray(np.linalg.qr(joined, mode="r"))
    diagonal = np.abs(np.diagonal(r)[: m + p])
    own = diagonal[m:]
    if len(own) < p or own.min() <= 1e-12 * max(float(own.max()), 1e-300):
        raise ValueError("the design has no unique answer")
    inverse = np.linalg.inv(r[m : m + p, m : m + p])
    chi = float(r[m + p, -1]) ** 2 if len(r) > m + p else 0.0
    log_det = float(np.log(variance).sum() + 2 * np.log(diagonal).sum())
    coefficients = (inverse @ r[m : m + p, -1]) / scale
    return Fit(
        coefficients=coefficients,
        covariance=(inverse @ inverse.T) / (scale[:, None] * scale),
        residuals=y - design @ coefficients,
        chi_squared=chi,
        log_restricted=-0.5 * (log_det + chi),
    )


def between_test_scatter(design: Floats, y: Floats, variance: Floats, shared: Floats) -> float:
    """Variance of the scatter between tests beyond the stated one, by REML; zero where none.

    Restricted maximum likelihood (Patterson and Thompson 1971) over a grid in the logarithm, which
    is drawn ever finer around its best point. Raises ValueError as generalised_fit does.
    """
    if len(y) <= design.shape[1]:
        return 0.0
    plain = generalised_fit(design, y, variance, shared)
    # What a line takes from y changes nothing, and small numbers lose less to rounding.
    products = _products(design / _column_scale(design), plain.residuals, shared)
    base = median(variance)
    low, high = math.log(1e-4 * base), math.log(4 * (float(np.var(y)) + base))
    found, value = 0.0, -math.inf
    for _ in range(GRIDS):
        grid = low + (high - low) * _STEPS
        likelihoods = _log_restricted(products, variance, np.exp(grid), shared.shape[1])
        best = int(likelihoods.argmax())
        found, value = float(grid[best]), float(likelihoods[best])
        low, high = float(grid[max(best - 1, 0)]), float(grid[min(best + 1, GRID_POINTS - 1)])
    return math.exp(found) if value > plain.log_restricted else 0.0


def median(values: Floats) -> float:
    """The middle one; numpy's own takes ten times as long for a few tests."""
    ordered, half = np.sort(values), len(values) // 2
    middle = ordered[half] if len(values) % 2 else (ordered[half - 1] + ordered[half]) / 2
    return float(middle)


def _products(design: Floats, y: Floats, shared: Floats) -> Floats:
    """Of each test, every product of two of its columns (n, q * q): shared, design, y."""
    joined = np.column_stack([shared, design, y])
    made: Floats = (joined[:, :, None] * joined[:, None, :]).reshape(len(y), -1)
    return made


def _log_restricted(products: Floats, variance: Floats, scatter: Floats, m: int) -> Floats:
    """The restricted log-likelihood (k,) under each of k scatters, up to a constant.

    All of it stands in one triangular root of the products' sums over the variances: the
    determinants of the m common errors and of the design, and last the squared residuals.
    """
    total = variance + scatter[:, None]
    q = math.isqrt(products.shape[1])
    sums = ((1 / total) @ products).reshape(-1, q, q)
    # The common errors have variance 1; what is added to the last one keeps it above zero.
    own = np.array([*range(m), q - 1])
    sums[:, own, own] += 1.0
    diagonal = np.diagonal(np.linalg.cholesky(sums), axis1=1, axis2=2)
    log_det = np.log(total).sum(axis=1) + 2 * np.log(diagonal[:, :-1]).sum(axis=1)
    made: Floats = -0.5 * (log_det + diagonal[:, -1] ** 2 - 1.0)
    return made


def _column_scale(design: Floats) -> Floats:
    scale: Floats = np.sqrt((design * design).sum(axis=0) / len(design))
    scale[scale == 0] = 1.0
    return scale
