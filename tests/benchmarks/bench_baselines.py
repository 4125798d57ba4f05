"""The two usual projections, to be scored beside the real one: straight line and power law."""

import numpy as np

from app.analysis.projection.projection import HORIZON_DAYS
from app.domain.units.time_units import DAYS_PER_YEAR
from tests.benchmarks.bench_cases import Case, seeded

Triple = tuple[float, float, float]


def straight_line(case: Case) -> Triple:
    """5, 50 and 95 % by a weighted line and Fieller's interval for (1 - share) c0 / fade rate."""
    weight = 1.0 / case.errors**2
    design = np.stack([np.ones_like(case.days), -case.days / DAYS_PER_YEAR], axis=1)
    covariance = np.linalg.inv(design.T @ (weight[:, None] * design))
    start, rate = covariance @ (design.T @ (weight * case.capacities))
    top = (1.0 - case.cell.share) * start
    v11 = (1.0 - case.cell.share) ** 2 * covariance[0, 0]
    v12 = (1.0 - case.cell.share) * covariance[0, 1]
    z2 = 1.6449**2
    a, b, c = rate**2 - z2 * covariance[1, 1], rate * top - z2 * v12, top**2 - z2 * v11
    never = HORIZON_DAYS / DAYS_PER_YEAR
    root = float(np.sqrt(max(0.0, b * b - a * c)))
    middle = top / rate if rate > 0 else never
    if a > 0 and rate > 0:
        low, high = (b - root) / a, (b + root) / a
    else:  # slope not different from zero: no upper end
        low, high = (c / (b + root) if b + root > 0 else 0.0), never
    return _days(low), _days(middle), _days(high)


def power_law(case: Case) -> Triple:
    """5, 50 and 95 % by c0 - a t**b: weighted fits at many b, mixed by their likelihood."""
    rng = seeded("power", case.protocol, case.stage, case.cell.family, case.cell.name)
    years = case.days / DAYS_PER_YEAR
    ends, logs = [], []
    for exponent in np.linspace(0.3, 3.0, 28):
        design = np.stack([np.ones_like(years), -(years**exponent)], axis=1)
        scaled = design / case.errors[:, None]
        covariance = np.linalg.inv(scaled.T @ scaled)
        best = covariance @ (scaled.T @ (case.capacities / case.errors))
        logs.append(-0.5 * float(np.sum(((case.capacities - design @ best) / case.errors) ** 2)))
        start, rate = rng.multivariate_normal(best, covariance, 200).T
        ratio = (1.0 - case.cell.share) * np.maximum(start, 1.0) / np.maximum(rate, 1e-9)
        ends.append(np.minimum(ratio, 1e9) ** (1.0 / exponent))
    weight = np.repeat(np.exp(np.array(logs) - max(logs)), 200)
    flat = np.concatenate(ends)
    order = np.argsort(flat)
    total = np.cumsum(weight[order]) / weight.sum()
    low, middle, high = np.interp([0.05, 0.5, 0.95], total, flat[order])
    return _days(low), _days(middle), _days(high)


def _days(years: float) -> float:
    return float(np.clip(years * DAYS_PER_YEAR, 0.0, HORIZON_DAYS))
