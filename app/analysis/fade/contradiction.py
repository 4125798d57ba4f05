"""Whether tests contradict each other: no battery gains capacity with the years."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.analysis.fade.fade_line import capacities
from app.analysis.fade.outliers import MIN_TESTS
from app.analysis.fade.trend_point import TrendPoint
from app.domain.finding import EvidenceKind

# What careful tests of one battery scatter by beyond their stated uncertainty (common practice).
SCATTER = 0.01
# A later test so many standard deviations of the difference above an earlier one contradicts it:
# about one pair in a thousand of a healthy battery does. Single tests that contradict most others
# are named only beyond the second limit, for many test less carefully.
RISES, FAR_RISES = 3.0, 5.0
# Among more than so many tests the fade tells enough, and looking at all pairs would take its time.
MAX_TESTS = 200


@dataclass(frozen=True)
class Contradiction:
    """odd are the fewest tests without which the others agree, undecided says that these are not
    the minority: then nobody can say which tests to believe."""

    odd: tuple[TrendPoint, ...]
    undecided: bool


def contradiction(points: Sequence[TrendPoint]) -> Contradiction | None:
    """Look for later tests far above earlier ones; None where there are none.

    From six tests on, single ones that lie far from the others are left to `outliers`.
    """
    measured = sorted(
        (p for p in points if p.kind is EvidenceKind.MEASURED and not p.left_out),
        key=lambda p: p.day,
    )
    if not 2 <= len(measured) <= MAX_TESTS:
        return None
    one_meter = len({p.meter_id for p in measured}) == 1
    own = np.array([p.independent_ah if one_meter else p.standard_ah for p in measured])
    y = capacities(measured)
    variance = own**2 + (SCATTER * y) ** 2
    error = np.sqrt(variance[None, :] + variance[:, None])
    gains = np.triu(y[None, :] - y[:, None], 1) / error
    odd = _fewest(gains > RISES)
    if odd and 2 * len(odd) >= len(measured):
        return Contradiction(tuple(measured[i] for i in odd), undecided=True)
    odd = _fewest(gains > FAR_RISES) if len(measured) < MIN_TESTS else []
    return Contradiction(tuple(measured[i] for i in odd), undecided=False) if odd else None


def _fewest(rises: NDArray[np.bool_]) -> list[int]:
    """Rows without which no pair is left, the one with most pairs first."""
    odd = []
    while rises.any():
        worst = int(np.argmax(rises.sum(axis=0) + rises.sum(axis=1)))
        rises[worst, :] = rises[:, worst] = False
        odd.append(worst)
    return odd
