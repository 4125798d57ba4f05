"""What a read-only link shows, as the interface answers it."""

from datetime import date, datetime

from app.domain.finding import EvidenceKind
from app.web.answers.answer import Answer
from app.web.answers.common import (
    ContributionAnswer,
    CorrectionAnswer,
    Current,
    EndOfLifeAnswer,
    FadeAnswer,
    FindingAnswer,
    RowAnswer,
    TestSummaryAnswer,
    TrendPointAnswer,
)


class SharedEventAnswer(Answer):
    """An event without its note."""

    on_date: date
    kind: str


class SharedBatteryAnswer(Answer):
    """A battery's report for strangers: no serial number, place, price or private note."""

    name: str
    chemistry: str
    nominal_v: float
    rated_ah: float
    reserve_share: float
    threshold_words: str
    as_of: date
    newest_words: str
    lists: bool
    tests: tuple[TestSummaryAnswer, ...]
    points: tuple[TrendPointAnswer, ...]
    fade: FadeAnswer | None
    end_of_life: EndOfLifeAnswer | None
    watch_words: str
    events: tuple[SharedEventAnswer, ...]


class SharedTestAnswer(Answer):
    """One test for strangers: no notes, no file name, no name of the meter."""

    started_at: datetime
    kind: EvidenceKind
    headline: str
    verdict_words: tuple[str, ...]
    reasons: tuple[FindingAnswer, ...]
    caveats: tuple[FindingAnswer, ...]
    charge_condition: str
    end_reason: str
    load: str
    capacity_ah: float
    lower_ah: float
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
    coverage_factor: float
    budget: tuple[ContributionAnswer, ...]
    rated_ah: float
    reserve_share: float
    expected_run_time_to_empty_h: float | None
    rows: tuple[RowAnswer, ...]
    rows_in_all: int
    only_result: bool
    """Whether it has no readings: what a counter showed at the end is all that was noted."""


class SharedDifferenceAnswer(Answer):
    """Two rates against each other: points of % of rated a year, with what holds together 95 %."""

    first: str
    second: str
    points_per_year: float | None
    low: float | None
    high: float | None
    probability_first_faster: float | None


class SharedComparisonAnswer(Answer):
    """Batteries side by side, in words and numbers, without the days and ages of the tests."""

    words: tuple[str, ...]
    differences: tuple[SharedDifferenceAnswer, ...]
    caveats: tuple[FindingAnswer, ...]


class SharedAnswer(Answer):
    """All that one link shows: a battery, several side by side, or one test of a battery."""

    as_of: date
    batteries: tuple[SharedBatteryAnswer, ...]
    test: SharedTestAnswer | None
    comparison: SharedComparisonAnswer | None
