"""A warranty claim, as the interface answers it."""

from datetime import date

from app.analysis.warranty.warranty_claim import ClaimState
from app.web.answers.answer import Answer
from app.web.answers.common import Current, FindingAnswer


class BetterTestAnswer(Answer):
    """What a further test would have to show: at most most_ah, with such an uncertainty (95 %)."""

    meter: str
    current_a: Current
    most_ah: float
    expanded_ah: float


class ClaimAnswer(Answer):
    """The promise in Ah, and the newest test that speaks to it."""

    state: ClaimState
    words: str
    promised_ah: float | None
    tested_on: date | None
    capacity_ah: float | None
    expanded_ah: float | None
    probability_below: float | None
    line_below: float | None
    objections: tuple[FindingAnswer, ...]
    better: tuple[BetterTestAnswer, ...]
    needed_expanded_ah: float | None
    level: float


class CostAnswer(Answer):
    """Price per kWh; low or high is None where nothing bounds it on that side."""

    low: float | None
    middle: float | None
    high: float | None


class WorthAnswer(Answer):
    """drawn_kwh and cycles are the owner's estimate, None without one; tested_kwh was counted, less
    the uncertainty (95 %)."""

    price: float | None
    currency: str
    drawn_kwh: float | None
    tested_kwh: float
    mean_v: float
    cycles: float | None
    tested_cycles: float
    promised_cycles: float | None
    cycles_reached_on: date | None
    so_far: CostAnswer | None
    life_cost: CostAnswer | None
    words: str


class WarrantyAnswer(Answer):
    """ends_on is the last day of the years."""

    id: int
    name: str
    as_of: date
    rated_ah: float
    from_date: date | None
    years: float | None
    share: float | None
    cycles: float | None
    ends_on: date | None
    last_quarter_from: date | None
    term_words: str
    claim: ClaimAnswer
    worth: WorthAnswer
