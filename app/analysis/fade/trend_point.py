"""One test on the trend."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from app.analysis.statistics.budget import gain_ah
from app.domain.finding import EvidenceKind


@dataclass(frozen=True)
class TrendPoint:
    """One test on the trend.

    day is a proleptic ordinal with its fraction; independent_ah is the standard uncertainty
    without what tests share, rate_ah what the correction of the rate may be wrong by (see
    `budget.Doubted`). left_out says that the owner left it out.
    """

    day: float
    capacity_ah: float
    standard_ah: float
    independent_ah: float
    kind: EvidenceKind
    discharge_id: int | None = None
    meter_id: int | None = None
    left_out: bool = False
    rate_ah: float = 0.0

    @property
    def gain_ah(self) -> float:
        """What the gain of its meter may be wrong by."""
        return gain_ah(self)


def mean_rate_share(points: Sequence[TrendPoint]) -> float:
    """What the correction of the rate may be wrong by in all of them alike, as a share."""
    shares = [p.rate_ah / p.capacity_ah for p in points if p.capacity_ah > 0]
    return math.fsum(shares) / len(shares) if shares else 0.0


def own_doubt_ah(point: TrendPoint, rate_share: float) -> float:
    """What sets a test apart from others with its meter whose rate may be wrong by rate_share."""
    return math.hypot(point.independent_ah, point.rate_ah - rate_share * point.capacity_ah)
