"""Generalised least squares where tests share errors in groups."""

import math
from dataclasses import dataclass

import numpy as np

from app.analysis.statistics.arrays import Floats

GRID_POINTS, GRIDS = 25, 5


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
    x, z, inner_log = (part[0] for part in _whitened(design / scale, y, variance[None], shared))
    q, r = np.linalg.qr(x)
    diagonal = np.abs(np.diag(r))
    if diagonal.min() <= 1e-12 * max(float(diagonal.max()), 1e-300):
        raise ValueError("the design has no unique answer")
    solved = np.linalg.solve(r, q.T @ z)
    inverse = np.linalg.inv(r)
    whitened = z - x @ solved
    chi = float(whitened @ whitened)
    log_det = float(np.sum(np.log(variance)) + inner_log)
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

    Restricted maximum likelihood (Patterson and Thompson 1971) over a grid in the logarithm, which
    is drawn ever finer around its best point. Raises ValueError as generalised_fit does.
    """
    if len(y) <= design.shape[1]:
        return 0.0
    none = generalised_fit(design, y, variance, shared).log_restricted
    scaled = design / _column_scale(design)
    base = float(np.median(variance))
    spread = float(np.var(y)) + base
    found = math.log(1e-4 * base)
    grid = np.linspace(found, math.log(4 * spread), GRID_POINTS)
    for _ in range(GRIDS):
        best = int(np.argmax(_log_restricted(scaled, y, variance + np.exp(grid)[:, None], shared)))
        low, high = grid[max(best - 1, 0)], grid[min(best + 1, GRID_POINTS - 1)]
        found, grid = float(grid[best]), np.linspace(low, high, GRID_POINTS)
    value = float(_log_restricted(scaled, y, variance[None] + math.exp(found), shared)[0])
    return math.exp(found) if value > none else 0.0


def _log_restricted(design: Floats, y: Floats, variance: Floats, shared: Floats) -> Floats:
    """The restricted log-likelihood (k,) under each of k variances (k, n), up to a constant."""
    x, z, inner_log = _whitened(design, y, variance, shared)
    q, r = np.linalg.qr(x)
    left = z - (q @ (q.swapaxes(1, 2) @ z[:, :, None]))[:, :, 0]
    diagonal = np.abs(np.diagonal(r, axis1=1, axis2=2))
    log_det = np.log(variance).sum(axis=1) + inner_log + 2 * np.log(diagonal).sum(axis=1)
    made: Floats = -0.5 * (log_det + (left**2).sum(axis=1))
    return made


def _column_scale(design: Floats) -> Floats:
    scale: Floats = np.sqrt(np.mean(design**2, axis=0))
    scale[scale == 0] = 1.0
    return scale


def _whitened(
    design: Floats, y: Floats, variance: Floats, shared: Floats
) -> tuple[Floats, Floats, Floats]:
    """Design (k, n, p) and y (k, n) with errors of unit variance, under k variances (k, n).

    The third is the logarithm of what the shared errors add to the determinant (k,).
    """
    weights = 1 / np.sqrt(variance)
    x, z, g = design * weights[:, :, None], y * weights, shared * weights[:, :, None]
    if not shared.shape[1]:
        return x, z, np.zeros(len(variance))
    # Woodbury in symmetric form: (1 + gg')^-1/2 = 1 - g k g'.
    turned = g.swapaxes(1, 2)
    values, vectors = np.linalg.eigh(turned @ g)
    values = np.maximum(values, 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        shrink = np.where(values > 0, (1 - 1 / np.sqrt(1 + values)) / values, 0.0)
    k = (vectors * shrink[:, None, :]) @ vectors.swapaxes(1, 2)
    x = x - g @ (k @ (turned @ x))
    z = z - (g @ (k @ (turned @ z[:, :, None])))[:, :, 0]
    return x, z, np.log1p(values).sum(axis=1)
