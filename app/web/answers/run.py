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
    """The state of a run. Times carry their offset; *_end are where the end is expected (90 %)."""

    run_id: int
    battery_id: int
    battery_name: str
    state: str
    """running, finished or abandoned."""
    started_at: datetime
    as_of: datetime
    """The moment that this holds for."""
    elapsed_h: float
    """From the first reading to the last."""
    counted_ah: float
    """Charge counted so far, from the readings that are not struck out."""
    expanded_ah: float
    """What the meter may be wrong by in that (95 %)."""
    mean_current_a: Current | None
    next_due_at: datetime
    """When the next reading is due."""
    overdue: bool
    early_end: datetime | None
    """Begin of the 90 % interval of the expected end."""
    middle_end: datetime | None
    """The most likely end."""
    late_end: datetime | None
    """End of the 90 % interval of the expected end."""
    guess_words: str
    """What the expected end rests on."""
    warnings: tuple[FindingAnswer, ...]
    questions: tuple[ReadingQuestionAnswer, ...]
    """Readings that can hardly be, as long as nobody answered."""
    hours: tuple[float, ...]
    """Hours from the first reading to each."""
    counted: tuple[float, ...]
    """Amp-hours counted up to each of these."""
    expected_low_ah: float
    """What the battery probably holds: the low end of it."""
    expected_middle_ah: float
    """What the battery most likely holds."""
    expected_high_ah: float
    """What the battery probably holds: the high end of it."""


class RunStandingAnswer(Answer):
    """What tells a page that it is out of date."""

    state: RunState
    readings: int
    """How many it has; one more means that there is something new to read."""
    phones: int
    """How many phones have joined it and note readings, too."""
