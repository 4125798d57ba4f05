"""A running test, as the interface answers it."""

from datetime import datetime

from app.analysis.plausibility.questions import DoubtKind
from app.domain.entities.run import RunState
from app.web.answers.answer import Answer
from app.web.answers.common import Current, FindingAnswer


class AlternativeAnswer(Answer):
    """One way to read a doubted number; charge_ah is what it gives, where that is known."""

    words: str
    charge_ah: float | None
    value: float | None
    as_it_stands: bool


class DoubtAnswer(Answer):
    """Something that can hardly be. row counts readings from 1, None for the whole test."""

    kind: DoubtKind
    row: int | None
    value: float
    alternatives: tuple[AlternativeAnswer, ...]
    finding: str


class ReadingQuestionAnswer(Answer):
    """A doubt about one reading that nobody answered yet."""

    reading_id: int
    doubt: DoubtAnswer


class RunningAnswer(Answer):
    """The state of a run. Times are aware; *_end are where the end is expected, with 90 %."""

    run_id: int
    battery_id: int
    battery_name: str
    state: str
    started_at: datetime
    as_of: datetime
    elapsed_h: float
    counted_ah: float
    expanded_ah: float
    mean_current_a: Current | None
    next_due_at: datetime
    overdue: bool
    early_end: datetime | None
    middle_end: datetime | None
    late_end: datetime | None
    guess_words: str
    warnings: tuple[FindingAnswer, ...]
    questions: tuple[ReadingQuestionAnswer, ...]
    hours: tuple[float, ...]
    counted: tuple[float, ...]
    expected_low_ah: float
    expected_middle_ah: float
    expected_high_ah: float


class RunStandingAnswer(Answer):
    """What tells a page that it is out of date."""

    state: RunState
    readings: int
