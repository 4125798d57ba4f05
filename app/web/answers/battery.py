"""A battery, as the interface answers it."""

from datetime import date

from app.analysis.battery.newest_test_check import Alarm
from app.domain.entities.event import EventKind
from app.web.answers.answer import Answer
from app.web.answers.common import EndOfLifeAnswer, FadeAnswer, TestSummaryAnswer, TrendPointAnswer


class WatchAnswer(Answer):
    """The newest test against the earlier ones."""

    alarm: Alarm
    chance: float | None
    words: str
    explanations: tuple[str, ...]


class TestReasonAnswer(Answer):
    """One thing that asks for a test, and by which day."""

    code: str
    on_date: date
    words: str


class NextTestAnswer(Answer):
    """due is the earliest of the reasons, which stand by their days; None before any test."""

    due: date | None
    words: str
    latest: date | None
    reasons: tuple[TestReasonAnswer, ...]


class EventAnswer(Answer):
    """A stored event."""

    id: int
    battery_id: int
    on_date: date
    kind: EventKind
    note: str


class CircumstancesAnswer(Answer):
    """What the owner told of how a battery lives; None for what is not known."""

    full_cycles_a_year: float | None
    pace: float | None
    mean_charge: float | None


class BatteryAnswer(Answer):
    """One battery with its trend. Capacities in Ah, shares as fractions, as_of a local date."""

    id: int
    name: str
    chemistry: str
    nominal_v: float
    rated_ah: float
    rated_hours: float | None
    """The discharge time that the rated capacity is stated for, in hours."""
    rated_temperature_c: float
    in_service_since: date | None
    reserve_share: float
    """What the owner leaves in it, as a fraction of what it holds."""
    threshold_words: str
    """What it must still hold, in words."""
    as_of: date
    tests: tuple[TestSummaryAnswer, ...]
    """All tests."""
    points: tuple[TrendPointAnswer, ...]
    """The tests as the fade uses them."""
    fade: FadeAnswer
    """How fast it loses capacity."""
    end_of_life: EndOfLifeAnswer
    """When it will hold too little."""
    watch: WatchAnswer
    """Whether the newest test falls out of line."""
    next_test: NextTestAnswer
    """When to test again, and why."""
    events: tuple[EventAnswer, ...]
    """What happened in between."""
    lives: CircumstancesAnswer
