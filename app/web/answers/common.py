"""What several answers hold, as the interface answers it."""

from datetime import date, datetime
from typing import Annotated

from pydantic import Field

from app.analysis.projection.projection import ProjectionOutcome
from app.analysis.statistics.budget import Distribution
from app.domain.finding import EvidenceKind
from app.domain.threshold import ThresholdKind
from app.web.answers.answer import Answer

CURRENT_A = "In amps, positive while the battery is discharged, negative while it is charged."
Current = Annotated[float, Field(description=CURRENT_A)]


class TestSummaryAnswer(Answer):
    """One test in the battery's table."""

    id: int
    started_at: datetime
    kind: EvidenceKind
    """What the test proves."""
    capacity_ah: float
    """Of a lower bound it is no capacity: lower_ah is what that proves."""
    expanded_ah: float
    """Its uncertainty (95 %)."""
    lower_ah: float
    """What the battery had at least."""
    share_of_rated: float
    """Capacity divided by rated capacity, as a fraction."""
    mean_current_a: Current | None
    duration_h: float | None
    """Null where only the result was noted, without hours or load."""
    temperature_c: float | None
    """Of the battery during the test."""
    end_reason: str
    charge_condition: str
    load: str
    caveats: int
    """How many there are; the test itself says which."""
    left_out_reason: str
    """Why the fade leaves it out; empty where it does not."""
    odd: bool
    """It lies far from the others."""
    only_result: bool
    """Whether it has no readings: what a counter showed at the end is all that was noted."""


class TrendPointAnswer(Answer):
    """One test on the trend."""

    day: float
    capacity_ah: float
    standard_ah: float
    independent_ah: float
    kind: EvidenceKind
    discharge_id: int | None
    meter_id: int | None
    left_out: bool


class LineAnswer(Answer):
    """y = intercept + slope x with the covariance of the two."""

    intercept: float
    slope: float
    intercept_variance: float
    covariance: float
    slope_variance: float
    residual_sd: float
    degrees_of_freedom: int | None


class DetectableAnswer(Answer):
    """The smallest fade, in % a year, that is found with 80 % power at 95 % confidence."""

    further: int
    percent_per_year: float


class FindingAnswer(Answer):
    """A reason or caveat: a code that never changes and one plain sentence."""

    code: str
    text: str
    minor: bool
    discharge_ids: tuple[int, ...]


class FadeAnswer(Answer):
    """Rate of fade, positive where capacity is lost, in % of reference_ah per year."""

    line: LineAnswer | None
    first_day: float
    last_day: float
    measured: int
    """How many tests measured a capacity."""
    lower_bounds: int
    """How many tests prove a lower bound only."""
    left_out: int
    """How many tests are not used."""
    reference_ah: float | None
    """The capacity that the percentages are of."""
    reference_words: str
    rate_percent_per_year: float | None
    """Positive where capacity is lost; null where it cannot be told."""
    low: float | None
    """Low end of the interval of the rate, in % per year."""
    high: float | None
    """High end of the interval of the rate, in % per year."""
    significant: bool
    """Whether zero lies outside the interval."""
    scatter_ah: float | None
    detectable: tuple[DetectableAnswer, ...]
    odd_discharge_ids: tuple[int, ...]
    caveats: tuple[FindingAnswer, ...]
    level: float
    """How sure the interval is, as a fraction."""


class ThresholdAnswer(Answer):
    """Either an absolute capacity (ah) or a share of the fitted first capacity."""

    kind: ThresholdKind
    words: str
    ah: float | None
    share: float | None


class FanPointAnswer(Answer):
    """What the capacity may be on a day, in Ah: 5, 25, 50, 75 and 95 %."""

    on_date: date
    p05: float
    p25: float
    p50: float
    p75: float
    p95: float


class ChancePointAnswer(Answer):
    """The chance of still being above the threshold on a day."""

    on_date: date
    chance_above: float


class StraightLineAnswer(Answer):
    """Dates where the line reaches the threshold, with Fieller's 90 % interval."""

    p05: date | None
    p50: date | None
    p95: date | None
    significant: bool


class EndOfLifeAnswer(Answer):
    """When the true capacity falls below the threshold: dates by 5, 25, 50, 75 and 95 % chance."""

    outcome: ProjectionOutcome
    """What can be said."""
    threshold: ThresholdAnswer
    threshold_ah: float | None
    p05: date | None
    p25: date | None
    p50: date | None
    """As likely before as after this; null where it is beyond what is foreseen."""
    p75: date | None
    p95: date | None
    chance_above_today: float | None
    """The chance that it holds enough today, as a fraction."""
    mostly_prior: bool
    """It rests on published cells more than on the tests of this battery."""
    fan: tuple[FanPointAnswer, ...]
    chances: tuple[ChancePointAnswer, ...]
    straight: StraightLineAnswer | None
    """What a straight line would say, for comparison."""
    caveats: tuple[FindingAnswer, ...]
    level: float
    """How sure the interval is, as a fraction."""


class CorrectionAnswer(Answer):
    """One correction, applied or not."""

    code: str
    label: str
    applied: bool
    factor: float
    words: str
    source: str
    out_of_range: bool
    coefficient: float | None
    coefficient_limit: float
    coefficient_sensitivity: float
    standard_share: float | None
    condition_limit: float
    condition_sensitivity: float


class ContributionAnswer(Answer):
    """One line of the budget."""

    code: str
    label: str
    limit: float
    unit: str
    distribution: Distribution
    standard: float
    sensitivity_ah: float
    standard_ah: float
    degrees_of_freedom: float | None
    common: bool
    note: str


class RowAnswer(Answer):
    """One reading beside what the label lets one expect at that moment."""

    number: int
    elapsed_h: float
    at: datetime
    current_a: Current
    voltage_v: float | None
    temperature_c: float | None
    gauge_percent: float | None
    counted_ah: float
    remaining_ah: float
    expected_ah: float
    difference_ah: float
    difference_percent: float
    gauge_ah: float | None
    gauge_difference_percent: float | None
