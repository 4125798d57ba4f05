"""The owner's answer to a question about one reading of a running test."""

from collections.abc import Collection
from dataclasses import replace
from datetime import datetime

from app.analysis.plausibility.run_questions import (
    VOLTAGE,
    ReadingQuestion,
    asked_together,
    questions_about,
)
from app.domain.entities.run import ReadingGiven
from app.domain.errors import InvalidInput
from app.domain.i18n.message import say
from app.services.entities.runs import open_run
from app.services.noted_readings import all_columns
from app.services.store import Store
from app.storage.database.engine import write_transaction
from app.storage.repositories import batteries, runs

MEANT = "meant"


def answer_question(
    store: Store,
    run_id: int,
    reading_id: int,
    answer: str,
    now: datetime,
    together: Collection[int] = (),
) -> None:
    """Keep that a reading is meant, or correct it to one of the values that were offered.

    The same is done with the readings of together that raise the same question, all or none.
    answer is MEANT, or the field and the value as in “current_a 9”. Raises NotFound, and
    InvalidInput where that was not offered, or no longer is.
    """
    with write_transaction(store.engine) as session:
        run = open_run(session, run_id)
        battery = batteries.get(session, run.battery_id)
        noted = all_columns(session, run_id)
        for group in asked_together(questions_about(noted, battery.details)):
            numbers = {one.reading_id for one in group}
            if reading_id not in numbers:
                continue
            for number in numbers & {reading_id, *together}:
                asked = [one for one in group if one.reading_id == number]
                given = runs.reading(session, run_id, number).given
                changed = _answered(asked, answer, given)
                meant = changed is None
                runs.change_reading(session, run_id, number, now, given=changed, meant=meant)
            return
        raise _not_offered(answer)


def _answered(
    asked: list[ReadingQuestion], answer: str, given: ReadingGiven
) -> ReadingGiven | None:
    """A reading with the value that was chosen; None where it is meant as it stands."""
    if answer == MEANT:
        return None
    for one in asked:
        for way in one.doubt.alternatives:
            if way.value is None or way.as_it_stands or answer != f"{one.field} {way.value:.10g}":
                continue
            if one.field == VOLTAGE:
                return replace(given, voltage_v=way.value)
            return replace(given, current_a=way.value)
    raise _not_offered(answer)


def _not_offered(answer: str) -> InvalidInput:
    allowed = say("an answer to an open question; this reading has none")
    return InvalidInput.because(say("answer"), answer, allowed)
