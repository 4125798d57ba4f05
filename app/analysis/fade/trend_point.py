"""One test on the trend."""

import math
from dataclasses import dataclass

from app.domain.finding import EvidenceKind


@dataclass(frozen=True)
class TrendPoint:
    """One test on the trend.

    day is a proleptic ordinal with its fraction; independent_ah is the standard uncertainty
    without what all tests with the same meter share. left_out says that the owner left it out.
    """

    day: float
    capacity_ah: float
    standard_ah: float
    independent_ah: float
    kind: EvidenceKind
    discharge_id: int | None = None
    meter_id: int | None = None
    left_out: bool = False

    @property
    def shared_ah(self) -> float:
        return math.sqrt(max(0.0, self.standard_ah**2 - self.independent_ah**2))
