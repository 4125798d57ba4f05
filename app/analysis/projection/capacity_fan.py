"""Capacity over time as a fan of quantiles, from the same weights as the end of life."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.analysis.projection.end_distribution import LifeSpread
from app.analysis.projection.life_posterior import LIVES, LifePosterior
from app.analysis.projection.trajectories import Library, grid_place
from app.analysis.statistics.arrays import Floats
from app.analysis.statistics.distributions import normal_probabilities

_PATHS = 800  # equally probable, spread evenly over the order of their ends
_OFFSETS = 9
_LOG_STEP = 0.002
_LOWEST_LOG, _HIGHEST_LOG = np.log(0.015), np.log(1.6)


@dataclass(frozen=True)
class CapacityFan:
    """days: (D,) from the first test. levels: (P,). capacities: (P, D) in Ah, rising with level."""

    days: Floats
    levels: tuple[float, ...]
    capacities: Floats


def capacity_fan(
    posterior: LifePosterior,
    library: Library,
    last_test: float,
    smear: LifeSpread,
    days: Floats,
    levels: Sequence[float],
) -> CapacityFan:
    """Quantiles of true capacity on each of `days` (from the first test).

    After the last test time runs faster or slower by the smear, so that the fan crosses the
    threshold when the distribution of the end of life says.
    """
    logs, centre = _paths(posterior, library, last_test, smear, days)
    bins = int((_HIGHEST_LOG - _LOWEST_LOG) / _LOG_STEP)
    np.clip(logs, _LOWEST_LOG, _HIGHEST_LOG, out=logs)
    logs -= _LOWEST_LOG
    logs /= _LOG_STEP
    cell = logs.astype(np.intp)
    np.minimum(cell, bins - 1, out=cell)
    cell += bins * np.repeat(np.arange(len(days)), _OFFSETS)
    counts = np.bincount(cell.ravel(), minlength=bins * len(days)).astype(np.float64)
    table = counts.reshape(len(days), bins)
    capacities = _quantiles(table, posterior.start_error, levels) * np.exp(centre)
    return CapacityFan(days, tuple(levels), capacities)


def predictive_chance(
    posterior: LifePosterior,
    library: Library,
    last_test: float,
    smear: LifeSpread,
    day: float,
    capacity_ah: float,
    relative: float,
) -> float:
    """The chance that a test on `day` (from the first test) shows no more than capacity_ah.

    relative: standard uncertainty of that test over its capacity.
    """
    logs, centre = _paths(posterior, library, last_test, smear, np.array([day]))
    spread = float(np.hypot(relative, posterior.start_error))
    return float(np.mean(normal_probabilities((np.log(capacity_ah) - centre - logs) / spread)))


def _paths(
    posterior: LifePosterior, library: Library, last_test: float, smear: LifeSpread, days: Floats
) -> tuple[Floats, float]:
    """Log capacities (paths, D * offsets) less their centre, and the centre."""
    row, column = _equal_paths(posterior)
    centre = float(np.sum(posterior.weight * posterior.log_start))
    lift = posterior.log_start[row, column] - centre
    pace = np.exp(-smear.offsets(_OFFSETS, posterior.headroom))
    ahead = np.maximum(days - last_test, 0.0)
    own_days = np.minimum(days, last_test)[:, None] + ahead[:, None] * pace  # (D, offsets)
    # Many paths have a life in common: where they stand in it is found once.
    lives, own = np.unique(column, return_inverse=True)
    place, fall = grid_place(own_days.ravel()[None, :] / LIVES[lives][:, None])
    spot = place[own]
    spot += (row * library.log_share.shape[1])[:, None]
    shares = np.take(library.log_share, spot)
    if fall.any():
        shares -= fall[own]
    logs: Floats = shares + lift[:, None]
    return logs, centre


def _equal_paths(posterior: LifePosterior) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Rows and columns (_PATHS,) of the posterior that stand for equal shares of its weight."""
    order = np.argsort(posterior.end, axis=None, kind="stable")
    total = np.cumsum(posterior.weight.ravel()[order])
    middles = (np.arange(_PATHS) + 0.5) / _PATHS * total[-1]
    chosen = order[np.minimum(np.searchsorted(total, middles), len(order) - 1)]
    row, column = np.unravel_index(chosen, posterior.weight.shape)
    return row, column


def _quantiles(table: Floats, start_error: float, levels: Sequence[float]) -> Floats:
    """Share of the start (P, D) at each level, from histograms (D, bins), start error included."""
    reach = max(1, int(np.ceil(4.0 * start_error / _LOG_STEP)))
    kernel = np.exp(-0.5 * (np.arange(-reach, reach + 1) * _LOG_STEP / max(start_error, 1e-6)) ** 2)
    size = table.shape[1]
    edges = _LOWEST_LOG + _LOG_STEP * np.arange(1, size + 1)
    found = []
    for histogram in table:
        # Beyond what the paths reach with their error nothing is added any more.
        filled = np.flatnonzero(histogram)
        begin, end = int(filled[0]) - reach, int(filled[-1]) + reach + 1
        smooth = np.convolve(histogram[filled[0] : filled[-1] + 1], kernel)
        smooth = smooth[max(-begin, 0) : size - begin]
        total = np.cumsum(smooth)
        if begin > 0:
            # One place before it, from where the first step rises.
            total = np.concatenate(([0.0], total))
        reached = edges[max(begin - 1, 0) : min(end, size)]
        found.append(np.exp(np.interp(levels, total / total[-1], reached)))
    return np.array(found).T
