"""Nights without charging, as the interface answers it."""

from datetime import date

from app.analysis.battery.capacity_forecast import Basis
from app.web.answers.answer import Answer


class IntervalAnswer(Answer):
    """A quantity with its 90 % interval, or what of it is known."""

    low: float | None
    middle: float | None
    high: float | None


class NightsAnswer(Answer):
    """So many nights, with the amp-hours behind them; endless where charging covers the use."""

    basis: Basis
    usable_ah: IntervalAnswer
    nights: IntervalAnswer
    endless: bool
    on_date: date | None


class SituationAnswer(Answer):
    """One line of the answer; nights is None where nothing can be said, and words say why."""

    label: str
    nights: NightsAnswer | None
    words: str


class NightsEndAnswer(Answer):
    """When so many nights no longer work: dates by 5, 50 and 95 % chance."""

    label: str
    nights: float
    needed_ah: float
    p05: date | None
    p50: date | None
    p95: date | None
    chance_today: float
    last_day: date


class RoadAnswer(Answer):
    """Everything the page “On the road” shows. Amp-hours a day as the owner gave them."""

    id: int
    name: str
    as_of: date
    rated_ah: float
    reserve_share: float
    typed_ah: float | None
    appliances_ah: float | None
    use_ah: float | None
    charge_ah: float
    wanted_nights: float | None
    basis: Basis
    basis_words: str
    cold_words: str
    situations: tuple[SituationAnswer, ...]
    ends: tuple[NightsEndAnswer, ...]
    course: tuple[NightsAnswer, ...]
    pair_name: str
    pair: tuple[SituationAnswer, ...]
    last_day: date | None
