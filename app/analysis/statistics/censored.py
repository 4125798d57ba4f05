"""A straight line through measured values and lower bounds, by maximum likelihood."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.analysis.statistics.arrays import Floats
from app.analysis.statistics.distributions import log_normal_probabilities

Flags = NDArray[np.bool_]
ROUNDS = 200
SMALLEST_STEP = 1e-10


@dataclass(frozen=True)
class CensoredFit:
    """Intercept and slope with their covariance (2, 2), and the scatter sigma."""

    intercept: float
    slope: float
    covariance: Floats
    sigma: float


def censored_line(
    x: Floats,
    y: Floats,
    at_least: Flags,
    variance: Floats,
    sigma: float | None = None,
    shared: Floats | None = None,
) -> CensoredFit:
    """Maximise the likelihood of y = a + b x + shared g + e, e ~ N(0, variance + sigma²).

    Where at_least is true y is a lower bound and counts P(Y >= y): a bound is no value. shared
    (n, m) holds what each of m common errors g ~ N(0, 1) adds to each value, one column a meter:
    they are parameters with that prior. sigma is estimated where it is None. Newton's method with
    halved steps on (a, b, g, ln sigma); the covariance is the inverse of the observed information.
    """
    centre, scale = float(np.mean(x)), float(np.std(x)) or 1.0
    u = (x - centre) / scale
    start = np.polyfit(u, y, 1)
    spread = max(float(np.std(y - np.polyval(start, u))), 1e-9 * max(1.0, float(np.std(y))))
    free = sigma is None
    common = np.zeros((len(y), 0)) if shared is None else shared
    logs = math.log(spread if sigma is None else max(sigma, 1e-12))
    theta = np.array([start[1], start[0], *np.zeros(common.shape[1]), logs])
    model = _Model(np.column_stack([np.ones_like(u), u, common]), y, at_least, variance, free)
    value = model.value(theta)
    for _ in range(ROUNDS):
        gradient, information = model.derivatives(theta)
        step = _ascent(gradient, information)
        factor, moved = 1.0, False
        while factor > SMALLEST_STEP:
            trial = theta + factor * step
            better = model.value(trial)
            if better > value:
                theta, moved = trial, better - value > 1e-12 * (1 + abs(value))
                value = better
                break
            factor /= 2
        if not moved:
            break
    _, information = model.derivatives(theta)
    covariance = np.linalg.pinv(information)[:2, :2]
    # Back from the centred and scaled x.
    back = np.array([[1.0, -centre / scale], [0.0, 1 / scale]])
    a, b = back @ theta[:2]
    return CensoredFit(float(a), float(b), back @ covariance @ back.T, math.exp(theta[-1]))


def _ascent(gradient: Floats, information: Floats) -> Floats:
    """Newton's step, made an ascent where the likelihood is not concave."""
    values, vectors = np.linalg.eigh(information)
    floor = 1e-6 * max(float(np.max(np.abs(values))), 1e-300)
    step: Floats = vectors @ ((vectors.T @ gradient) / np.maximum(np.abs(values), floor))
    return step


class _Model:
    """The likelihood and its derivatives at theta = (level, slope, gains, ln sigma)."""

    def __init__(
        self, design: Floats, y: Floats, at_least: Flags, variance: Floats, free_sigma: bool
    ) -> None:
        self._design, self._y, self._bound, self._variance = design, y, at_least, variance
        self._free = free_sigma
        # Level and slope have no prior, gains a normal one of unit variance.
        self._precision = np.array([0.0, 0.0, *np.ones(design.shape[1] - 2)])

    def _parts(self, theta: Floats) -> tuple[Floats, Floats, Floats]:
        """Standard deviations, their shares of sigma², and standardised distances above y."""
        own = math.exp(2 * theta[-1])
        total = self._variance + own
        s = np.sqrt(total)
        z = (self._design @ theta[:-1] - self._y) / s
        return s, own / total, z

    def value(self, theta: Floats) -> float:
        s, _, z = self._parts(theta)
        measured = ~self._bound
        normal = -0.5 * z[measured] ** 2 - np.log(s[measured])
        before = -0.5 * np.sum(self._precision * theta[:-1] ** 2)
        return float(np.sum(normal) + np.sum(log_normal_probabilities(z[self._bound])) + before)

    def derivatives(self, theta: Floats) -> tuple[Floats, Floats]:
        """Gradient (p + 1,) and observed information (p + 1, p + 1), ln sigma last."""
        s, share, z = self._parts(theta)
        # First and second derivative of each term by z, and of z and ln s by theta.
        hazard = np.exp(-0.5 * z**2 - 0.5 * math.log(2 * math.pi) - log_normal_probabilities(z))
        first = np.where(self._bound, hazard, -z)
        second = np.where(self._bound, -hazard * (z + hazard), -1.0)
        by_line = self._design.T / s
        dz = np.vstack([by_line, -z * share])
        gradient = dz @ first
        information = -(dz * second) @ dz.T
        mixed = -by_line * share
        information[:-1, -1] -= mixed @ first
        information[-1, :-1] = information[:-1, -1]
        twist = z * share * share - 2 * z * share * (1 - share)
        information[-1, -1] -= float(np.sum(first * twist))
        logs = np.where(self._bound, 0.0, share)
        gradient[-1] -= float(np.sum(logs))
        information[-1, -1] += float(np.sum(np.where(self._bound, 0.0, 2 * share * (1 - share))))
        gradient[:-1] -= self._precision * theta[:-1]
        information[:-1, :-1] += np.diag(self._precision)
        if not self._free:
            gradient[-1] = 0.0
            information[-1, :-1] = information[:-1, -1] = 0.0
            information[-1, -1] = 1.0
        return gradient, information
