"""The heat that a battery lived in, as the interface answers it."""

from datetime import date

from app.analysis.heat.heat_share import Attribution
from app.web.answers.answer import Answer
from app.web.answers.common import FindingAnswer


class AgeingFactorAnswer(Answer):
    """How much faster it aged than at 25 °C: low and high by the weakest and strongest figure."""

    low: float
    middle: float
    high: float


class RuleAnswer(Answer):
    """A published rule: how much faster ten degrees more make it age, and where it is from."""

    per_10_k: float
    source: str


class StretchOfHeatAnswer(Answer):
    """One stay: its mean in °C and how fast it aged against 25 °C; None where nothing is known."""

    place: str
    from_day: date
    to_day: date
    mean_c: float | None
    known_share: float
    factor: AgeingFactorAnswer | None


class MonthOfHeatAnswer(Answer):
    """One month at one place: coolest, mean and warmest hour in °C, None where nothing is known."""

    month: date
    place: str
    low_c: float | None
    mean_c: float | None
    high_c: float | None
    known_share: float
    logged_share: float


class PeriodAnswer(Answer):
    """From the first to the last measured test: what was lost, in % of rated, and how surely."""

    from_day: date
    to_day: date
    lost_percent: float
    standard_percent: float
    degrees_of_freedom: float


class ExpectedLossAnswer(Answer):
    """Loss between two moments in % of the new capacity: 5, 50 and 95 % of cells of this kind."""

    low: float
    middle: float
    high: float
    calendar: float
    cycling: float
    caveats: tuple[FindingAnswer, ...]


class HeatShareAnswer(Answer):
    """The observed loss against the expected one. probability_more: that it is larger."""

    expected: ExpectedLossAnswer
    observed_percent: float
    observed_standard: float
    probability_more: float
    blame: Attribution
    words: str


class HeatAnswer(Answer):
    """Time at temperature, what it would explain of the fade, and what was observed."""

    id: int
    name: str
    from_day: date
    to_day: date
    from_tests: bool
    known_share: float
    logged_share: float
    mean_c: float | None
    factor: AgeingFactorAnswer | None
    rules: tuple[RuleAnswer, ...]
    stretches: tuple[StretchOfHeatAnswer, ...]
    months: tuple[MonthOfHeatAnswer, ...]
    hours_by_degree: tuple[tuple[float, float], ...]
    period: PeriodAnswer | None
    judged: HeatShareAnswer | None
    at_25_c: ExpectedLossAnswer | None
    throughput_ah_a_year: float | None
    why_not: str
    caveats: tuple[FindingAnswer, ...]
