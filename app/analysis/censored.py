"""A straight line through measured values and lower bounds, by maximum likelihood."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import log_ndtr

from app.analysis.arrays import Floats

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
    x: Floats, y: Floats, at_least: Flags, variance: Floats, sigma: float | None = None
) -> CensoredFit:
    """Maximise the likelihood of y = a + b x + e, e ~ N(0, variance + sigma²).

    Where at_least is true y is a lower bound and counts P(Y >= y): a bound is no value. sigma is
    estimated where it is None. Newton's method with halved steps on (a, b, ln sigma); the
    covariance is the inverse of the observed information.
    """
    centre, scale = float(np.mean(x)), float(np.std(x)) or 1.0
    u = (x - centre) / scale
    start = np.polyfit(u, y, 1)
    spread = max(float(np.std(y - np.polyval(start, u))), 1e-9 * max(1.0, float(np.std(y))))
    free = sigma is None
    theta = np.array([start[1], start[0], math.log(spread if sigma is None else max(sigma, 1e-12))])
    model = _Model(u, y, at_least, variance, free)
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
    return CensoredFit(float(a), float(b), back @ covariance @ back.T, math.exp(theta[2]))


def _ascent(gradient: Floats, information: Floats) -> Floats:
    """Newton's step, made an ascent where the likelihood is not concave."""
    values, vectors = np.linalg.eigh(information)
    floor = 1e-6 * max(float(np.max(np.abs(values))), 1e-300)
    step: Floats = vectors @ ((vectors.T @ gradient) / np.maximum(np.abs(values), floor))
    return step


class _Model:
    """The likelihood and its derivatives at theta = (level, slope, ln sigma)."""

    def __init__(
        self, u: Floats, y: Floats, at_least: Flags, variance: Floats, free_sigma: bool
    ) -> None:
        self._u, self._y, self._bound, self._variance = u, y, at_least, variance
        self._free = free_sigma

    def _parts(self, theta: Floats) -> tuple[Floats, Floats, Floats]:
        """Standard deviations, their shares of sigma², and standardised distances above y."""
        own = math.exp(2 * theta[2])
        total = self._variance + own
        s = np.sqrt(total)
        z = (theta[0] + theta[1] * self._u - self._y) / s
        return s, own / total, z

    def value(self, theta: Floats) -> float:
        s, _, z = self._parts(theta)
        measured = ~self._bound
        normal = -0.5 * z[measured] ** 2 - np.log(s[measured])
        return float(np.sum(normal) + np.sum(log_ndtr(z[self._bound])))

    def derivatives(self, theta: Floats) -> tuple[Floats, Floats]:
        """Gradient (3,) and observed information (3, 3)."""
        s, share, z = self._parts(theta)
        # First and second derivative of each term by z, and of z and ln s by theta.
        hazard = np.exp(-0.5 * z**2 - 0.5 * math.log(2 * math.pi) - log_ndtr(z))
        first = np.where(self._bound, hazard, -z)
        second = np.where(self._bound, -hazard * (z + hazard), -1.0)
        dz = np.stack([1 / s, self._u / s, -z * share])
        gradient = dz @ first
        information = -(dz * second) @ dz.T
        mixed = np.stack([-share / s, -self._u * share / s])
        information[:2, 2] -= mixed @ first
        information[2, :2] = information[:2, 2]
        twist = z * share * share - 2 * z * share * (1 - share)
        information[2, 2] -= float(np.sum(first * twist))
        logs = np.where(self._bound, 0.0, share)
        gradient[2] -= float(np.sum(logs))
        information[2, 2] += float(np.sum(np.where(self._bound, 0.0, 2 * share * (1 - share))))
        if not self._free:
            gradient[2] = 0.0
            information[2, :2] = information[:2, 2] = 0.0
            information[2, 2] = 1.0
        return gradient, information
