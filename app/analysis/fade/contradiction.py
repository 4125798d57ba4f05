"""Whether few tests contradict each other: no battery gains capacity with the years."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from app.analysis.fade.fade_line import BOUND_CONTRADICTS, capacities
from app.analysis.fade.outliers import MIN_TESTS
from app.analysis.fade.trend_point import TrendPoint
from app.domain.finding import EvidenceKind

# What careful tests of one battery scatter by beyond their stated uncertainty (common practice).
SCATTER = 0.01


@dataclass(frozen=True)
class Contradiction:
    """odd are the fewest tests without which the others agree, undecided says that these are not
    the minority: then nobody can say which tests to believe."""

    odd: tuple[TrendPoint, ...]
    undecided: bool


def contradiction(points: Sequence[TrendPoint]) -> Contradiction | None:
    """Look for a later test far above an earlier one; None where there is none.

    From six tests on, what lies far from the others is found by `outliers`.
    """
    measured = sorted(
        (p for p in points if p.kind is EvidenceKind.MEASURED and not p.left_out),
        key=lambda p: p.day,
    )
    if not 2 <= len(measured) < MIN_TESTS:
        return None
    one_meter = len({p.meter_id for p in measured}) == 1
    own = np.array([p.independent_ah if one_meter else p.standard_ah for p in measured])
    y = capacities(measured)
    variance = own**2 + (SCATTER * y) ** 2
    gains = y[None, :] - y[:, None]
    limit = BOUND_CONTRADICTS * np.sqrt(variance[None, :] + variance[:, None])
    rises = np.triu(gains > limit, 1)
    odd = []
    while rises.any():
        worst = int(np.argmax(rises.sum(axis=0) + rises.sum(axis=1)))
        rises[worst, :] = rises[:, worst] = False
        odd.append(measured[worst])
    if not odd:
        return None
    return Contradiction(tuple(odd), 2 * len(odd) >= len(measured))
