"""A capacity test, as the interface answers it."""

from datetime import datetime

from app.domain.finding import EvidenceKind
from app.web.answers.answer import Answer
from app.web.answers.common import (
    ContributionAnswer,
    CorrectionAnswer,
    Current,
    FindingAnswer,
    RowAnswer,
)


class GaugeAnswer(Answer):
    """The gauge's percentages against the count."""

    readings: int
    independent: bool | None
    largest_deviation_percent: float | None
    tolerance_percent: float | None
    rounding_percent: float | None
    set_capacity_ah: float | None
    words: str


class VerdictAnswer(Answer):
    """A comparison with a reference, in words."""

    against: str
    against_ah: float
    share: float
    probability_below: float | None
    words: str


class DischargeAnswer(Answer):
    """One test with its result. Capacities in Ah; expanded_ah at 95 %."""

    id: int
    battery_id: int
    battery_name: str
    started_at: datetime
    charge_condition: str
    end_reason: str
    load: str
    meter: str
    ambient_c: float | None
    source: str
    assumptions: tuple[str, ...]
    kind: EvidenceKind
    reasons: tuple[FindingAnswer, ...]
    caveats: tuple[FindingAnswer, ...]
    next_time: tuple[FindingAnswer, ...]
    gauge: GaugeAnswer | None
    capacity_ah: float
    end_shift_ah: float
    end_note: str
    corrections: tuple[CorrectionAnswer, ...]
    delivered_ah: float
    delivered_wh: float | None
    duration_h: float | None
    """Null where only the result was noted, without hours or load."""
    mean_current_a: Current | None
    temperature_c: float | None
    temperature_source: str
    standard_ah: float
    expanded_ah: float
    lower_ah: float
    coverage_factor: float
    degrees_of_freedom: int | None
    independent_ah: float
    budget: tuple[ContributionAnswer, ...]
    advice: str
    rated_ah: float
    reserve_share: float
    expected_run_time_h: float | None
    expected_run_time_to_empty_h: float | None
    verdicts: tuple[VerdictAnswer, ...]
    rows: tuple[RowAnswer, ...]
    rows_in_all: int
    only_result: bool
    """Whether it has no readings: what a counter showed at the end is all that was noted."""
