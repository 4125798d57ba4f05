"""How probable each trajectory and each life is, given a record of capacity tests."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.analysis.projection.capacity_record import CapacityRecord
from app.analysis.projection.life_belief import LifePrior
from app.analysis.projection.trajectories import Library, grid_place
from app.analysis.statistics.arrays import Floats
from app.analysis.statistics.distributions import normal_probabilities
from app.analysis.statistics.middle_values import middle_values
from app.domain.units.time_units import DAYS_PER_YEAR

Singles = NDArray[np.float32]

_LOG_LIVES: Floats = np.linspace(np.log(0.15), np.log(150.0), 100)
LIVES: Floats = np.exp(_LOG_LIVES) * DAYS_PER_YEAR  # lives to 80 %, in days
# Trajectories weighed at once: what they need together stays in a processor's cache, which halves
# the time (tests/benchmarks/speed_table.py).
_BLOCK = 64


@dataclass(frozen=True)
class NoiseModel:
    """How far the tests may be from every trajectory without being wrong.

    relative: shape error of a trajectory, added to each test's uncertainty.
    bad, bad_scale: chance of a bad test, and how many times wider its error is.
    worth: number of tests that the shape error lets count fully; n tests count as
        n worth / (n + worth).
    start: how far the start may lie from the first tests (the median of three), relative: a
        battery that lost a fifth at once did not begin a fifth lower.
    """

    relative: float = 0.004
    bad: float = 0.05
    bad_scale: float = 4.0
    worth: float = 200.0
    start: float = 0.03


@dataclass(frozen=True)
class LifePosterior:
    """Joint distribution over J trajectories and A lives.

    weight: (J, A), sum 1. end: (J, A) days from the first test to the threshold.
    log_start: (J, A) fitted natural log of the capacity in Ah at the first test.
    start_error: standard error of log_start.
    prior_weight: (J, A) the same without the tests.
    headroom: part of the allowed loss that is still left at the last test, 0 to 1, on average.
    """

    weight: Floats
    end: Floats
    log_start: Floats
    start_error: float
    prior_weight: Floats
    headroom: float


def life_posterior(
    record: CapacityRecord,
    library: Library,
    *,
    share: float | None,
    amp_hours: float | None,
    prior: LifePrior,
    misfit: NoiseModel,
    fitted: tuple[Floats, Floats] | None = None,
) -> LifePosterior:
    """Weigh every trajectory at every life by the tests and the prior.

    Give either `share` of the start capacity or an absolute threshold in `amp_hours`; `fitted` is
    the result of log_likelihood where it is known already.
    Raises ValueError where both or neither are given, or the record has no measured test.
    """
    if (share is None) == (amp_hours is None):
        raise ValueError("give either share or amp_hours")
    if record.measured == 0:
        raise ValueError("a record without a measured capacity has no posterior")
    likelihood, log_start = fitted or log_likelihood(record, library, misfit)
    shares = amp_hours / np.exp(log_start) if amp_hours is not None else np.full((1, 1), share)
    end = np.where(shares >= 1.0, 0.0, LIVES[None, :] * library.crossing_at(shares))
    before = np.log(library.prior)[:, None] + prior.log_density(LIVES, library.slows)
    clear = ~record.lower_bound
    sigma = np.hypot(record.relative[clear], misfit.relative)
    weight = _normalised(before + likelihood)
    return LifePosterior(
        weight=weight,
        end=end,
        log_start=log_start,
        start_error=float(1.0 / np.sqrt(np.sum(sigma**-2.0))),
        prior_weight=_normalised(before),
        headroom=_headroom(record.span, library, weight, shares),
    )


def log_likelihood(
    record: CapacityRecord, library: Library, misfit: NoiseModel
) -> tuple[Floats, Floats]:
    """Tempered log-likelihood (J, A) and fitted log start capacity in Ah (J, A)."""
    blocks = [
        _block_likelihood(record, library.log_share[first : first + _BLOCK], misfit)
        for first in range(0, len(library.log_share), _BLOCK)
    ]
    fit, start = (np.concatenate(parts, axis=1).T.copy() for parts in zip(*blocks, strict=True))
    return fit, start


def _block_likelihood(
    record: CapacityRecord, log_share: Singles, misfit: NoiseModel
) -> tuple[Floats, Floats]:
    """The likelihood (A, B) and start (A, B) for B of the trajectories."""
    bound = record.lower_bound
    # Centred, so that single precision is enough and the unit of capacity cannot matter.
    centre = float(np.median(record.log_capacity[~bound]))
    sigma = np.hypot(record.relative, misfit.relative).astype(np.float32)[:, None, None]
    logs = (record.log_capacity - centre).astype(np.float32)[:, None, None]
    place, fall = grid_place(record.days[:, None] / LIVES)
    # The trajectories side by side: what is taken at one time is one piece of memory.
    residual = np.take(log_share.T, place, axis=0)
    residual -= fall[:, :, None]
    np.subtract(logs, residual, out=residual)
    start, fit = _robust_fit(residual[~bound], sigma[~bound], misfit)
    total = fit.astype(np.float64)
    if bound.any():
        # A bound may be a slip too: it can cost a trajectory no more than a bad test can.
        slack = (start - residual[bound]) / sigma[bound]
        holds = normal_probabilities(slack.astype(np.float64))
        total += np.sum(np.log((1.0 - misfit.bad) * holds + misfit.bad), axis=0)
    # The record's own rows count, not the tests that were grouped into them.
    count = float(np.sum(~bound))
    total *= misfit.worth / (count + misfit.worth)
    first = (record.log_capacity - centre)[~bound][:3]
    away = (start.astype(np.float64) - float(np.median(first))) / misfit.start
    return total - 0.5 * away**2, start.astype(np.float64) + centre


def _headroom(last_test: float, library: Library, weight: Floats, shares: Floats) -> float:
    place, fall = grid_place(last_test / LIVES)
    left = np.exp((library.log_share[:, place] - fall).astype(np.float64)) - shares
    part = left / np.maximum(1.0 - shares, 0.005)
    return float(np.clip(np.sum(weight * part), 0.0, 1.0))


def _robust_fit(residual: Singles, sigma: Singles, misfit: NoiseModel) -> tuple[Singles, Singles]:
    """Start (A, B) and log-likelihood (A, B) of residuals (n, A, B), a few of them bad.

    Each error is normal, or with chance `bad` from a curve of Cauchy's shape, `bad_scale` times as
    wide: one bad test has little say, and what it can cost a trajectory is bounded in practice.
    """
    precision = sigma**-2
    start: Singles = middle_values(residual)
    odds = np.float32(misfit.bad / (1.0 - misfit.bad))
    wide = np.float32(misfit.bad_scale**2)
    # Three tables, used again and again: new ones would cost more than what is done with them.
    squared, normal, both = np.empty((3, *residual.shape), np.float32)
    for last in (False, False, True):
        np.subtract(residual, start, out=squared)
        squared /= sigma
        np.square(squared, out=squared)
        np.exp(np.multiply(squared, np.float32(-0.5), out=normal), out=normal)
        np.divide(squared, wide, out=both)
        both += np.float32(1.0)
        np.divide(odds, both, out=both)
        both += normal
        if not last:
            normal *= precision
            weight = np.divide(normal, both, out=normal)
            total = np.sum(weight, axis=0)
            start = np.sum(np.multiply(weight, residual, out=squared), axis=0) / (total + 1e-30)
    fit: Singles = np.sum(np.log(both, out=both), axis=0)
    return start, fit


def _normalised(log_weight: Floats) -> Floats:
    weight = np.exp(log_weight - log_weight.max())
    normalised: Floats = weight / weight.sum()
    return normalised
