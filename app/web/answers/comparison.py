"""Batteries beside one another, as the interface answers it."""

from datetime import date

from app.domain.finding import EvidenceKind
from app.web.answers.answer import Answer
from app.web.answers.common import FindingAnswer


class ComparedPointAnswer(Answer):
    """One test in % of rated with its 95 % uncertainty; day is a proleptic ordinal."""

    on_date: date
    day: float
    kind: EvidenceKind
    percent: float
    expanded_percent: float
    fitted_percent: float | None


class ComparedSideAnswer(Answer):
    """One side with its rate in % of rated a year and its 95 % interval, or why there is none."""

    battery_id: int
    name: str
    chemistry: str
    rated_ah: float
    measured: int
    lower_bounds: int
    first_on: date | None
    last_on: date | None
    rate_percent_per_year: float | None
    low: float | None
    high: float | None
    no_rate_because: str
    mean_temperature_c: float | None
    mean_c_rate: float | None
    points: tuple[ComparedPointAnswer, ...]


class RateAnswer(Answer):
    """A rate of fade in % of rated per year with the 95 % interval of this rate alone."""

    name: str
    percent_per_year: float
    low: float
    high: float
    standard: float
    chi_squared: float
    residual_freedom: int
    pivot_day: float
    pivot_percent: float


class DifferenceAnswer(Answer):
    """One rate less another, in points of % of rated per year, with its interval."""

    first: RateAnswer
    second: RateAnswer
    points_per_year: float
    low: float
    high: float
    standard: float
    degrees_of_freedom: int
    probability_faster: float
    pairs: int


class PairAnswer(Answer):
    """Two sides against each other; difference is None where one of them has no rate."""

    first: str
    second: str
    difference: DifferenceAnswer | None
    words: str
    further: int | None
    further_words: str


class LaidAxisAnswer(Answer):
    """An axis with the places of all points: x by side, in the order of its points."""

    label: str
    unit: str
    words: str
    x: tuple[tuple[float | None, ...], ...]
    move_x: float | None


class LaidCurveAnswer(Answer):
    """Volts a cell against the charge counted in % of rated, as it was, without corrections."""

    name: str
    on_date: date
    charge_percent: tuple[float, ...]
    cell_v: tuple[float, ...]
    c_rate: float
    temperature_c: float | None
    alike: bool


class ComparisonAnswer(Answer):
    """Two batteries or more beside one another, or one before and after a move."""

    as_of: date
    title: str
    moved_on: date | None
    shown_points: float
    sides: tuple[ComparedSideAnswer, ...]
    pairs: tuple[PairAnswer, ...]
    words: tuple[str, ...]
    caveats: tuple[FindingAnswer, ...]
    axes: tuple[LaidAxisAnswer, ...]
    curves: tuple[LaidCurveAnswer, ...]
